package web

import (
	"context"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/web/webtest"
	"sagitta/testdata/usb"
)

// testLines stands for ports that send what a test says.
type testLines struct {
	mu    sync.Mutex
	found devices.Found
	sends string        // the port that answers
	hold  chan struct{} // Identify waits for it
}

func (l *testLines) Identify(_ context.Context, port string, _ bool, trying func(devices.Trial)) (devices.Found, error) {
	trying(devices.Trial{Line: decode.Line{Baud: 4800, DataBits: 7, Parity: "even", StopBits: 1}, Number: 3, Of: 34, Heard: 17, Fitting: 1})
	<-l.hold
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.found, nil
}

func (l *testLines) WhichSends(_ context.Context, ports []string, _ decode.Line, _ time.Duration) (string, error) {
	return l.sends, nil
}

// The page listens in the background, shows how far it is, ranks what fits with its evidence and fills the form in.
func TestIdentifyFillsTheForm(t *testing.T) {
	s := openShop(t).fill()
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
	for range 200 {
		if page = s.Get("/gauges/identify", 200); strings.Contains(page, "Setting 3") {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	webtest.Wants(t, page, "Setting 3: 4800 baud, 7 data bits, even parity", "17 bytes so far", "Press the gauge&#39;s data key")
	s.Post("/gauges/identify", url.Values{"port": {"/dev/ttyUSB4"}}, 409)
	close(s.lines.hold)
	for range 200 {
		if page = s.Get("/gauges/identify", 200); !strings.Contains(page, "Setting 3") {
			break
		}
		time.Sleep(5 * time.Millisecond)
	}
	webtest.Wants(t, page, "1 decoder reads what came", "5 readings", "Use this", "/gauges/new?fit=1")
	form := s.Get("/gauges/new?fit=1", 200)
	webtest.Wants(t, form, `value="`+usb.Vendor+`"`, `value="`+usb.Serial+`"`, "baud = 4800", `parity = &#34;even&#34;`, `value="0.001"`)
}

// Two adapters without serial numbers: the page says which they are, and the one whose key is pressed is bound by its
// socket.
func TestAlikeAdaptersAreAskedAbout(t *testing.T) {
	s := openShop(t).fill()
	id := devices.Identity{Vendor: usb.Vendor, Product: usb.Product}
	s.ports = []devices.PortInfo{{Name: "/dev/ttyUSB0", Identity: id, Socket: "usb-1"}, {Name: "/dev/ttyUSB1", Identity: id, Socket: "usb-2"}}
	g := webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(context.Background(), "", batch.Gauge{Name: "height gauge", Sense: 1, USBVendor: usb.Vendor, USBProduct: usb.Product, Decoder: "signed decimal with unit"}))
	path := "/gauges/" + g.ID
	webtest.Wants(t, s.Get("/gauges", 200), "another adapter is alike", "height gauge (?)")
	webtest.Wants(t, s.Get(path, 200), "Which adapter is its own?", "2 adapters with this identity are plugged in", "usb-1", "usb-2", "press its data key now")
	s.lines.sends = ""
	webtest.Wants(t, s.Post(path+"/which", nil, 409), "None of /dev/ttyUSB0, /dev/ttyUSB1 sent anything")
	s.lines.sends = "/dev/ttyUSB1"
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
