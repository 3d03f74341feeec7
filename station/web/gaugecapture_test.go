package web

import (
	"context"
	"maps"
	"net/url"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// TestGaugeFormOffersTheWaysOfCapture saves each way with what belongs to it, and marks what does not go together.
func TestGaugeFormOffersTheWaysOfCapture(t *testing.T) {
	s := openShop(t).fill()
	webtest.Wants(t, s.Get("/gauges/new", 200), "when its data key is pressed", "the first rest of every placement is kept", "when it is asked", "typed, as from a keyboard",
		"line CTS of this port", "line DSR of this port")
	form := func(change url.Values) url.Values {
		v := url.Values{"name": {"pen"}, "measures": {"nut height"}, "resolution": {"0.01"}, "sense": {"1"}, "zero_limit": {"0.02"},
			"decoder": {"signed decimal with unit"}, "capture": {"key"}, "by": {"Mara Quill"}}
		maps.Copy(v, change)
		return v
	}
	for _, c := range []struct {
		change url.Values
		want   string
	}{
		{url.Values{"capture": {"typed"}, "path": {"/dev/ttyS0"}}, "has no port"},
		{url.Values{"capture": {"typed"}, "foot_switch": {"CTS"}}, "no port to wire a foot switch to"},
		{url.Values{"capture": {"typed"}, "prefix": {"a b"}}, "without blanks"},
		{url.Values{"capture": {"key"}, "path": {"/dev/ttyS0"}, "prefix": {"%p"}}, "Only a gauge whose readings are typed"},
		{url.Values{"capture": {"foot"}, "path": {"/dev/ttyS0"}, "foot_switch": {"CTS"}}, "A foot switch measures nothing"},
		{url.Values{"capture": {"foot"}, "path": {"/dev/ttyS0"}, "measures": nil}, "No line is chosen"},
		{url.Values{"capture": {"settled"}}, "Neither a USB identity nor a port"},
	} {
		webtest.Wants(t, s.Post("/gauges", form(c.change), 422), c.want)
	}
	saved := func(change url.Values) batch.Gauge {
		t.Helper()
		to := s.Post("/gauges", form(change), 303)
		all, err := s.Rec.Gauges(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		g := all[len(all)-1]
		if "/gauges/"+g.ID != to {
			t.Fatalf("went to %s, saved %s", to, g.ID)
		}
		return g
	}
	if g := saved(url.Values{"capture": {"typed"}, "prefix": {"%p"}}); g.Capture != "typed" || g.Prefix != "%p" || g.Path != "" {
		t.Errorf("saved %+v", g)
	}
	if g := saved(url.Values{"name": {"dial"}, "capture": {"settled"}, "path": {"/dev/ttyS0"}, "foot_switch": {"DSR"}}); g.Capture != "settled" || g.FootSwitch != "DSR" {
		t.Errorf("saved %+v", g)
	}
	alone := saved(url.Values{"name": {"foot switch"}, "capture": {"foot"}, "path": {"/dev/ttyS1"}, "foot_switch": {"CTS"}, "measures": nil, "resolution": nil, "zero_limit": nil, "decoder": nil})
	if alone.Capture != "foot" || alone.FootSwitch != "CTS" || len(alone.Measures) != 0 || !alone.NoCheck() {
		t.Errorf("saved %+v", alone)
	}
	webtest.Wants(t, s.Get("/gauges/"+alone.ID, 200), "nothing: it is a foot switch on CTS")
}
