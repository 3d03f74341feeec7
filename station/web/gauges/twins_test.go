package gauges

import (
	"context"
	"net/url"
	"testing"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/web/webtest"
	"sagitta/testdata/usb"
)

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
