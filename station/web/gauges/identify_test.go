package gauges

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/web/webtest"
	"sagitta/testdata/usb"
)

// The page listens in the background, shows how far it is, ranks what fits with its evidence and fills the form in.
func TestIdentifyFillsTheForm(t *testing.T) {
	s := openShop(t)
	d, err := decode.Find("signed decimal with unit")
	if err != nil {
		t.Fatal(err)
	}
	line := decode.Line{Baud: 4800, DataBits: 7, Parity: "even", StopBits: 1}
	s.lines.found = devices.Found{Heard: 51, Fits: []devices.Fit{{Decoder: d, Line: line, Readings: 5, ResolutionMM: 0.001, Why: "5 readings, the last \"+0.123mm\\r\\n\""}}}
	webtest.Wants(t, s.Get("/gauges", 200), "/dev/ttyUSB3", "serial number "+usb.Serial, ">Identify<", "none")
	if to := s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB3"}}, 303); to != "/gauges/identify" {
		t.Errorf("goes to %s", to)
	}
	var page string
	for end := time.Now().Add(time.Minute); !strings.Contains(page, "Setting 3") && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		page = s.Get("/gauges/identify", 200)
	}
	webtest.Wants(t, page, "Setting 3: 4800 baud, 7 data bits, even parity", "17 bytes so far", "Press the gauge&#39;s data key")
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB4"}}, 409)
	close(s.lines.hold)
	for end := time.Now().Add(time.Minute); strings.Contains(page, "Setting 3") && time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		page = s.Get("/gauges/identify", 200)
	}
	webtest.Wants(t, page, "1 decoder reads what came", "5 readings", "Use this", "/gauges/new?fit=1")
	form := s.Get("/gauges/new?fit=1", 200)
	webtest.Wants(t, form, `value="`+usb.Vendor+`"`, `value="`+usb.Serial+`"`, "baud = 4800", `parity = &#34;even&#34;`, `value="0.001"`)
}

// Two adapters without serial numbers: the page says which they are, and the one whose key is pressed is bound by its
// socket.
func TestAlikeAdaptersAreAskedAbout(t *testing.T) {
	s := openShop(t)
	id := devices.Identity{Vendor: usb.Vendor, Product: usb.Product}
	s.ports = []devices.PortInfo{{Name: "/dev/ttyUSB0", Identity: id, Socket: "usb-1"}, {Name: "/dev/ttyUSB1", Identity: id, Socket: "usb-2"}}
	g := webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(context.Background(), "", batch.Gauge{Name: "height gauge", Sense: 1, USBVendor: usb.Vendor, USBProduct: usb.Product, Decoder: "signed decimal with unit"}))
	path := "/gauges/" + g.ID
	webtest.Wants(t, s.Get("/gauges", 200), "another adapter is alike", "height gauge (?)")
	webtest.Wants(t, s.Get(path, 200), "Which adapter is its own?", "2 adapters with this identity are plugged in", "usb-1", "usb-2", "press its data key now")
	s.lines.sends = ""
	webtest.Wants(t, s.Post(path+"/which", nil, 409), "None of /dev/ttyUSB0, /dev/ttyUSB1 sent anything")
	s.lines.sends = "/dev/ttyUSB1"
	s.full = true
	webtest.Wants(t, s.Post(path+"/which", nil, 507), "The disk is full: this was not recorded")
	s.full = false
	s.Post(path+"/which", nil, 303)
	page := s.Get(path, 200)
	webtest.Wants(t, page, "in socket usb-2", "this one")
	webtest.Wants(t, s.Get("/gauges", 200), "height gauge<")
	// The other adapter's gauge may not take the socket that is taken.
	other := webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(context.Background(), "", batch.Gauge{Name: "beam", Sense: 1, USBVendor: usb.Vendor, USBProduct: usb.Product, Decoder: "signed decimal with unit"}))
	webtest.Wants(t, s.Post("/gauges/"+other.ID+"/which", url.Values{"port": {"/dev/ttyUSB1"}}, 409), "not one of the adapters that could be")
	s.Post("/gauges/"+other.ID+"/which", url.Values{"port": {"/dev/ttyUSB0"}}, 303)
	if s.changed != 2 {
		t.Errorf("the lines were opened anew %d times, want 2", s.changed)
	}
}

// A second search for a gauge is refused beside the port that was typed.
func TestIdentifyKeepsThePort(t *testing.T) {
	s := openShop(t)
	defer close(s.lines.hold)
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyS0"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyS1"}}, http.StatusConflict), `value="/dev/ttyS1"`, "The gauge on /dev/ttyS0 is being identified", `id="port-error"`)
}
