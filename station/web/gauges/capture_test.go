package gauges

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
	s := openShop(t)
	webtest.Wants(t, s.Get("/gauges/new", 200), "when its data key is pressed", "the first rest of every placement is kept", "when it is asked", "typed, as from a keyboard",
		"line CTS of this port", "line DSR of this port")
	form := func(change url.Values) url.Values {
		v := url.Values{"name": {"pen"}, "measures": {"nut height"}, "resolution": {"0.01"}, "sense": {"1"}, "zero_limit": {"0.02"}, "only_digits": {"yes"},
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
		{url.Values{"capture": {"lamp"}, "path": {"/dev/ttyS0"}, "measures": nil, "foot_switch": {"CTS"}}, "A lamp has its port for itself"},
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
	webtest.Wants(t, s.Post("/gauges", form(url.Values{"path": {"/dev/ttyS0"}, "loses_zero": {"at night"}}), 422), "at night")
	lost := saved(url.Values{"path": {"/dev/ttyS0"}, "loses_zero": {batch.LosesWithLine}})
	if lost.LosesZero != batch.LosesWithLine {
		t.Errorf("saved %+v", lost)
	}
	webtest.Wants(t, s.Get("/gauges/"+lost.ID, 200), "lost; its power comes over the cable of its line</dd>", "It was without power")
	if g := saved(url.Values{"name": {"dial"}, "capture": {"settled"}, "path": {"/dev/ttyS0"}, "foot_switch": {"DSR"}}); g.Capture != "settled" || g.FootSwitch != "DSR" {
		t.Errorf("saved %+v", g)
	}
	alone := saved(url.Values{"name": {"foot switch"}, "capture": {"foot"}, "path": {"/dev/ttyS1"}, "foot_switch": {"CTS"}, "measures": nil, "resolution": nil, "zero_limit": nil, "decoder": nil})
	if alone.Capture != "foot" || alone.FootSwitch != "CTS" || len(alone.Measures) != 0 || !alone.NoCheck() {
		t.Errorf("saved %+v", alone)
	}
	webtest.Wants(t, s.Get("/gauges/"+alone.ID, 200), "nothing: it is a foot switch on CTS")
	lamp := saved(url.Values{"name": {"lamp"}, "capture": {"lamp"}, "path": {"/dev/ttyS2"}, "measures": nil, "resolution": nil, "zero_limit": nil, "decoder": nil})
	if lamp.Capture != "lamp" || len(lamp.Measures) != 0 || !lamp.NoCheck() {
		t.Errorf("saved %+v", lamp)
	}
	webtest.Wants(t, s.Get("/gauges/"+lamp.ID, 200), "nothing: it is a lamp: RTS green, DTR red, both amber")
}

// TestEmptyUncertaintyIsAsked: a gauge of which nothing but its resolution is entered would claim U = 2 0.001 mm/sqrt(12), 0.0006
// mm, so its form asks; said so, the entry is taken and its page goes on saying it. A foot switch and leaves are not asked.
func TestEmptyUncertaintyIsAsked(t *testing.T) {
	s := openShop(t)
	form := url.Values{"name": {"height gauge"}, "measures": {"action"}, "resolution": {"0.001"}, "sense": {"1"}, "zero_limit": {"0.02"},
		"decoder": {"signed decimal with unit"}, "capture": {"key"}, "path": {"/dev/ttyS0"}, "by": {"Mara Quill"}}
	webtest.Wants(t, s.Post("/gauges", form, 422), "U of 0.0006 mm, its last digit&#39;s alone", `value="height gauge"`)
	form.Set("only_digits", "yes")
	to := s.Post("/gauges", form, 303)
	webtest.Wants(t, s.Get(to, 200), "Its U of 0.0006 mm is its last digit&#39;s alone: enter its certificate", `value="yes" checked`)
	s.Post(to, form, 303)
	form.Set("measures", "leaf passes")
	form.Set("path", "/dev/ttyS1")
	form.Del("only_digits")
	s.Post("/gauges", form, 303)
}
