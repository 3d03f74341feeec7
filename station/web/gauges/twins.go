package gauges

import (
	"net/url"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/binding"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// twins are the ports that a gauge cannot be told apart on, with those that another gauge has left out.
func (s *server) twins(g batch.Gauge, all []batch.Gauge) []portLine {
	if g.USBVendor == "" {
		return nil
	}
	var lines []portLine
	for _, l := range s.portLines(slices.DeleteFunc(slices.Clone(all), func(o batch.Gauge) bool { return o.ID == g.ID })) {
		if len(devices.Alikes([]devices.PortInfo{l.PortInfo}, binding.Identity(g))) == 1 {
			lines = append(lines, l)
		}
	}
	if len(lines) < 2 {
		return nil
	}
	return lines
}

// listenTwins is how long a person has to press the key of the gauge that is looked for.
const listenTwins = 15 * time.Second

// whichTwin listens to the alike adapters until one sends, and binds the gauge to that one's socket.
func (s *server) whichTwin(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	chosen := c.PostForm("port")
	var names []string
	for _, l := range s.twins(g, all) {
		if len(l.Gauges) == 0 || strings.HasSuffix(l.Gauges[0], "(?)") {
			names = append(names, l.Name)
		}
	}
	if chosen == "" {
		line, err := lineOfDecoder(g.Decoder)
		if err != nil || s.opt.Lines == nil || len(names) == 0 {
			return s.refuseAtGauge(c, g, batch.Conflict.Errorf("None of the alike adapters can be listened to. Choose the gauge's own by its socket."))
		}
		if chosen, err = s.opt.Lines.WhichSends(c.Request.Context(), names, line, listenTwins); err != nil {
			return s.refuseAtGauge(c, g, err)
		}
		if chosen == "" {
			return s.refuseAtGauge(c, g, batch.Conflict.Errorf("None of %s sent anything within %d seconds. Press the data key of the %s while they are listened to.", strings.Join(names, ", "), int(listenTwins.Seconds()), g.Name))
		}
	}
	for _, p := range s.seen() {
		if p.Name != chosen || !slices.Contains(names, chosen) {
			continue
		}
		if p.Socket == "" {
			return s.refuseAtGauge(c, g, batch.Conflict.Errorf("This system does not say which socket %s is plugged into, so the two cannot be told apart for good. Leave one of them plugged in, or use adapters with serial numbers.", chosen))
		}
		g.USBSocket = p.Socket
		if _, err := s.opt.Record.SaveGauge(c.Request.Context(), c.By(), g); err != nil {
			return err
		}
		return s.gaugesChanged(c, "/gauges/"+url.PathEscape(g.ID))
	}
	return s.refuseAtGauge(c, g, batch.Conflict.Errorf("%s is not one of the adapters that could be this gauge's.", chosen))
}

// lineOfDecoder is the line of a decoder, built in or a gauge's own.
func lineOfDecoder(nameOrText string) (decode.Line, error) {
	d, err := decode.Find(nameOrText)
	if err != nil {
		d, err = decode.Load("own decoder", []byte(nameOrText))
	}
	if err != nil {
		return decode.Line{}, err
	}
	return d.Line, nil
}
