package gauges

import (
	"context"
	"maps"
	"math"
	"net/url"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// TestGaugeFormOffersTheWaysOfCapture saves each way with what belongs to it, and marks what does not go together.
func TestGaugeFormOffersTheWaysOfCapture(t *testing.T) {
	s := openShop(t)
	webtest.Wants(t, s.Get("/gauges/new?kind=height+gauge", 200), "when its data key is pressed", "the first rest of every placement is kept", "when it is asked", "typed, as from a keyboard",
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

// TestEmptyUncertaintyIsProposed: a gauge of which nothing but its resolution is entered would claim U = 2 0.001 mm/sqrt(12), 0.0006
// mm. Its kind and resolution propose more: 0.006/sqrt(3) and 0.005 mm by hand, U = 0.0123 mm; its page says that it is a proposal, and anybody may
// save it, for nobody typed it. Figures that are typed need a quality manager's name still. A set of leaves has none.
func TestEmptyUncertaintyIsProposed(t *testing.T) {
	s := openShop(t)
	form := url.Values{"name": {"height gauge"}, "measures": {"action"}, "resolution": {"0.001"}, "sense": {"1"}, "zero_limit": {"0.02"},
		"decoder": {"signed decimal with unit"}, "capture": {"key"}, "path": {"/dev/ttyS0"}, "by": {"Mara Quill"}}
	webtest.Wants(t, s.Get("/gauges/new?kind=height+gauge", 200), "Left empty, they are proposed: calibration 0.0115 mm, repeatability 0.0058 mm", "JCGM 100")
	to := s.Post("/gauges", form, 303)
	if g := s.saved(to); g.CalibrationU != 0.0035 || g.RepeatabilityU != 0.005 || !g.Proposed() {
		t.Errorf("saved %+v", g)
	}
	webtest.Wants(t, s.Get(to, 200), "Its U of 0.012 mm is proposed from its kind and resolution", `value="0.0035"`, "error up to 0.006 mm either way (common practice)")
	form.Set("u_calibration", "0.001")
	webtest.Wants(t, s.Post(to, form, 422), "Mara Quill is entered as inspector", "Say where they come from")
}

// TestKindDecidesTheFields: each kind's form has what it needs and nothing that is another's; what is saved is of that kind.
func TestKindDecidesTheFields(t *testing.T) {
	s := openShop(t)
	for kind, c := range map[batch.GaugeKind]struct{ has, hasNot []string }{
		batch.IndicatorGauge:  {[]string{"resolution", "port", "decoder", "u_calibration", "reference", "masters"}, []string{"feet_first", "leaves"}},
		batch.HeightGauge:     {[]string{"resolution", "masters"}, []string{"feet_first", "leaves", "reference"}},
		batch.BeamGauge:       {[]string{"feet_by", "feet_first", "plunger", "decoder"}, []string{"measures", "masters", "leaves"}},
		batch.CaliperGauge:    {[]string{"resolution", "decoder"}, []string{"feet_first", "reference"}},
		batch.FootSwitchGauge: {[]string{"path", "foot_switch"}, []string{"resolution", "decoder", "zero_limit", "u_calibration", "measures"}},
		batch.LeavesGauge:     {[]string{"leaves"}, []string{"path", "decoder", "resolution", "zero_limit", "u_calibration"}},
		batch.RulerGauge:      {[]string{"u_calibration", "measures"}, []string{"path", "decoder", "zero_limit", "leaves"}},
		batch.BeamByEyeGauge:  {[]string{"feet_by", "zero_limit", "resolution"}, []string{"path", "decoder", "measures"}},
	} {
		page := s.Get("/gauges/new?kind="+url.QueryEscape(string(kind)), 200)
		for _, name := range c.has {
			webtest.Wants(t, page, `name="`+name+`"`)
		}
		for _, name := range c.hasNot {
			if strings.Contains(page, `name="`+name+`"`) {
				t.Errorf("%s: the form has %s", kind, name)
			}
		}
		shown := regexp.MustCompile(`(?s)<details class="group">.*?</details>`).ReplaceAllString(page, "")
		if n := strings.Count(shown, `class="field`); n > 21 || kind != batch.BeamGauge && n > 18 {
			t.Errorf("%s: %d fields before anything is opened", kind, n)
		}
		if slices.Contains(kindsByEye, kind) {
			entry := entryOf(page)
			entry.Set("by", "Mara Quill")
			if g := s.saved(s.Post("/gauges", entry, 303)); g.Kind != kind || g.Decoder != "" || g.Path != "" {
				t.Errorf("%s: saved %+v", kind, g)
			}
		}
	}
}

// TestSavingLosesNothing: an entry may hold what its kind's form does not ask for; saving it under another name keeps all of it.
func TestSavingLosesNothing(t *testing.T) {
	s := openShop(t)
	full := batch.Gauge{Name: "height gauge", Kind: batch.HeightGauge, Measures: []batch.Kind{batch.ActionHeight, batch.Pitch}, Path: "/dev/ttyS0", Decoder: "decimal comma", Capture: "key", Sense: -1, ResolutionMM: 0.01,
		ReferenceU: 0.002, RepeatabilityU: 0.003, CalibrationU: 0.004, UReason: "20 readings", Reference: []batch.ReferencePoint{{XMM: 0, ReadingMM: 0.001}, {XMM: 400, ReadingMM: 0.002}},
		Masters: []batch.Master{{NominalMM: 2, LimitMM: 0.01}}, TravelMM: 12.7, ZeroLimitMM: 0.01, CheckHours: 8, EachShift: true, Channel: "A", LosesZero: batch.LosesWithPower}
	beam := full
	beam.Name, beam.Kind, beam.Path, beam.Measures, beam.FeetMM, beam.PlungerMM = "beam", batch.BeamGauge, "/dev/ttyS1", []batch.Kind{batch.BeamReading, batch.ActionHeight}, [2]float64{36.2, 403}, 214
	for _, g := range []batch.Gauge{full, beam} {
		saved := webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(context.Background(), "Tove Aske", g))
		path := "/gauges/" + saved.ID
		entry := entryOf(s.Get(path, 200))
		entry.Set("by", "Mara Quill")
		entry.Set("name", g.Name+" two")
		s.Post(path, entry, 303)
		now := s.saved(path)
		saved.Name, saved.AddedAt, now.AddedAt = g.Name+" two", time.Time{}, time.Time{}
		if !reflect.DeepEqual(now, saved) {
			t.Errorf("saved  %+v\nbefore %+v", now, saved)
		}
	}
}

// TestFeetByFrets: a beam's feet on frets 1 and 15 with its plunger at 7 stand where those frets are: 648 mm (1 - 2^(-n/12)).
func TestFeetByFrets(t *testing.T) {
	s := openShop(t)
	entry := entryOf(s.Get("/gauges/new?kind=beam", 200))
	for name, value := range map[string]string{"by": "Mara Quill", "path": "/dev/ttyS0", "decoder": "decimal comma", "feet_by": "frets", "feet_scale": "648", "feet_first": "1", "plunger": "7", "feet_second": "15"} {
		entry.Set(name, value)
	}
	g := s.saved(s.Post("/gauges", entry, 303))
	for i, want := range []float64{36.3694, 215.5119, 375.5496} {
		if got := []float64{g.FeetMM[0], g.PlungerMM, g.FeetMM[1]}[i]; math.Abs(got-want) > 0.001 {
			t.Errorf("place %d is %g mm, want %g", i, got, want)
		}
	}
	entry.Set("feet_by", "tape")
	entry.Set("feet_first", "1.5 in")
	entry.Set("plunger", "8.5in")
	entry.Set("feet_second", "14.75in")
	if g := s.saved(s.Post("/gauges", entry, 303)); g.FeetMM != [2]float64{38.1, 374.65} || math.Abs(g.PlungerMM-215.9) > 1e-9 {
		t.Errorf("by a tape in inches: %v, %g", g.FeetMM, g.PlungerMM)
	}
	entry.Set("plunger", "15 in")
	webtest.Wants(t, s.Post("/gauges", entry, 422), "first foot &lt; plunger &lt; second foot")
	entry.Set("feet_by", "frets")
	entry.Set("feet_scale", "")
	webtest.Wants(t, s.Post("/gauges", entry, 422), `id="feet_scale-error"`)
}
