package start

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/record/recordtest"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// opened serves the page over an empty record with a bench of its own.
func opened(t *testing.T) (*webtest.Shop, *bench.Bench) {
	t.Helper()
	s := webtest.Open(t)
	b := recordtest.Must(bench.New(t.Context(), bench.Options{Record: s.Rec}))(t)
	k := recordtest.Must(site.New(site.Options{Snapshot: b.Snapshot, People: s.Rec.People, House: s.Rec.House, Now: time.Now}))(t)
	ports := func() ([]devices.PortInfo, error) { return []devices.PortInfo{{Name: "/dev/ttyUSB7"}}, nil }
	if err := Mount(k, Options{Record: s.Rec, Bench: b, Ports: ports, GaugesChanged: b.ReloadGauges, Now: time.Now}); err != nil {
		t.Fatal(err)
	}
	s.Handler = k.Handler()
	return s, b
}

// TestStepsInOrder does each step where it stands, and reads which is next.
func TestStepsInOrder(t *testing.T) {
	s, b := opened(t)
	next := func(key string, says ...string) {
		t.Helper()
		page := s.Get(Path, http.StatusOK)
		if key != "" {
			webtest.Wants(t, page, `<li id="`+key+`" class="next" aria-current="step">`)
		} else if strings.Contains(page, `class="next"`) {
			t.Error("a step is said to be next")
		}
		webtest.Wants(t, page, says...)
	}
	leads := func() bool { return recordtest.Must(Leads(t.Context(), s.Rec, b.Snapshot()))(t) }
	next("name", "Five steps to the first verdict.", "may do all that a quality manager may")
	webtest.Wants(t, s.Post(Path+"/neck", url.Values{"serial": {"N-1"}}, http.StatusConflict), "There is no specification yet")
	webtest.Wants(t, s.Post(Path+"/name", url.Values{"name": {" "}}, http.StatusUnprocessableEntity), `id="name-error"`)
	s.Post(Path+"/name", url.Values{"name": {"Mara Quill"}}, http.StatusSeeOther)
	if p := recordtest.Must(s.Rec.People(t.Context()))(t); len(p) != 1 || p[0].Role != batch.QualityManager {
		t.Errorf("people %+v", p)
	}
	next("gauges", "Mara Quill works at the bench.", "/dev/ttyUSB7", "I have leaves and a ruler")
	s.Post(Path+"/gauges", url.Values{"with": {"lever"}}, http.StatusUnprocessableEntity)
	for range 2 { // pressed twice it enters them once
		s.Post(Path+"/gauges", url.Values{"with": {"leaves-ruler"}}, http.StatusSeeOther)
	}
	if g := recordtest.Must(s.Rec.Gauges(t.Context()))(t); len(g) != 2 || g[0].Kind != batch.LeavesGauge || g[1].Kind != batch.RulerGauge || len(g[0].LeavesMM) < 10 {
		t.Errorf("gauges %+v", g)
	}
	next("spec", "Feeler leaves and ruler.", "All gauges well.", "Electric, bolt-on: six strings")
	s.Post(Path+"/spec", url.Values{"template": {"electric-bolt-on"}}, http.StatusSeeOther)
	next("neck", "Electric, bolt-on, revision A.")
	if !leads() {
		t.Error("the bench does not lead here while no batch is open")
	}
	if to := s.Post(Path+"/neck", url.Values{"serial": {"2026/14"}}, http.StatusSeeOther); to != "/" {
		t.Errorf("leads to %s", to)
	}
	if snap := b.Snapshot(); snap.Stage != bench.Measuring || snap.Serial != "2026/14" || snap.Batch.Number != "single-2026-14" || snap.Inspector != "Mara Quill" {
		t.Errorf("on the bench %+v", snap)
	}
	next("", "All is there", "2026/14 is on the bench.")
	if err := b.Park(context.Background(), "settling"); err != nil {
		t.Fatal(err)
	}
	s.Post(Path+"/neck", url.Values{"serial": {"2026-14"}}, http.StatusSeeOther) // another neck, which would give its batch the same number
	if snap := b.Snapshot(); snap.Serial != "2026-14" || snap.Batch.Number != "single-2026-14-2" {
		t.Errorf("on the bench %q in batch %q", snap.Serial, snap.Batch.Number)
	}
	if leads() {
		t.Error("the bench leads here with a neck on it")
	}
	webtest.Wants(t, s.Post(Path+"/neck", url.Values{"serial": {"N-2"}}, http.StatusConflict), "finish what is on it, or park it (F4)")
	if err := b.Park(context.Background(), "settling"); err != nil {
		t.Fatal(err)
	}
	s.Post(Path+"/neck", url.Values{"serial": {"2026/14"}}, http.StatusSeeOther) // on file: it goes on, in its own batch
	if all := recordtest.Must(s.Rec.Batches(t.Context()))(t); len(all) != 2 {
		t.Errorf("%d batches, want the two necks' own alone", len(all))
	}
	// The specification is in use, so that another one from the same template is another revision.
	s.Post(Path+"/gauges", url.Values{"with": {"beam"}}, http.StatusSeeOther)
	s.Post(Path+"/spec", url.Values{"template": {"electric-bolt-on"}}, http.StatusSeeOther)
	next("check", "needs a check: zero on something flat", "Electric, bolt-on, revision B.")
	webtest.Wants(t, s.Post(Path+"/neck", url.Values{"serial": {"N-3"}, "spec": {"gone"}}, http.StatusUnprocessableEntity), "is not offered")
	// What somebody changed of it since is not replaced by pressing again.
	specs := recordtest.Must(s.Rec.Specs(t.Context()))(t)
	changed := specs[len(specs)-1]
	recordtest.Must(s.Rec.AddSpec(t.Context(), "Mara Quill", "our own relief", "own.toml", []byte(changed.Text+"\n# ours\n")))(t)
	s.Post(Path+"/spec", url.Values{"template": {"electric-bolt-on"}}, http.StatusSeeOther)
	specs = recordtest.Must(s.Rec.Specs(t.Context()))(t)
	if len(specs) != 3 || specs[1].Reason != "our own relief" || specs[2].Revision != "C" {
		t.Errorf("%d revisions, the second because of %q", len(specs), specs[1].Reason)
	}
	s.Post(Path+"/name", url.Values{"name": {"Wren Halloway"}}, http.StatusSeeOther)
	if p := recordtest.Must(s.Rec.People(t.Context()))(t); len(p) != 2 || p[1].Role != batch.Inspector || b.Snapshot().Inspector != "Wren Halloway" {
		t.Errorf("people %+v, at the bench %q", p, b.Snapshot().Inspector)
	}
	s.Post(Path+"/name", url.Values{"name": {"Mara Quill"}}, http.StatusSeeOther) // back, whatever the role
	if got := b.Snapshot().Inspector; got != "Mara Quill" {
		t.Errorf("at the bench %q", got)
	}
}

// TestFitted fits every template to every set of gauges: it is a whole specification, all of whose limits its routine measures, and no point is
// asked for that nobody has a gauge for.
func TestFitted(t *testing.T) {
	line := func(name string, kinds ...batch.Kind) batch.Gauge {
		return batch.Gauge{ID: name, Name: name, Measures: kinds, Sense: 1, ResolutionMM: 0.001, RepeatabilityU: 0.002, Decoder: "channel and value"}
	}
	eye := func(k batch.GaugeKind) batch.Gauge {
		g := batch.Ordinary(k, unit.Millimetre)
		g.ID = string(k)
		return g
	}
	for name, c := range map[string]struct {
		gauges  []batch.Gauge
		profile string
	}{
		"leaves":           {[]batch.Gauge{eye(batch.LeavesGauge)}, "leaves"},
		"leaves and ruler": {[]batch.Gauge{eye(batch.LeavesGauge), eye(batch.RulerGauge)}, "leaves"},
		"beam by eye":      {[]batch.Gauge{eye(batch.BeamByEyeGauge), eye(batch.LeavesGauge)}, "beam"},
		"carriage":         {[]batch.Gauge{eye(batch.LeavesGauge), line("carriage", batch.Crown), line("height", batch.ActionHeight, batch.NutHeight)}, "each fret"},
		"ruler alone":      {[]batch.Gauge{eye(batch.RulerGauge)}, "leaves"},
	} {
		for _, tmpl := range instrument.Templates() {
			text, left, err := fitted(tmpl, c.gauges, func(string, string) bool { return false })
			if err != nil {
				t.Fatalf("%s, %s: %v", name, tmpl.Name, err)
			}
			spec, err := files.ReadSpec("fitted.toml", text)
			if err != nil {
				t.Errorf("%s, %s: %v", name, tmpl.Name, err)
				continue
			}
			if spec.Routine.Profile != c.profile || len(spec.Unmeasurable()) > 0 || len(spec.Limits) == 0 {
				t.Errorf("%s, %s: profile %q, never measured %v, %d limits", name, tmpl.Name, spec.Routine.Profile, spec.Unmeasurable(), len(spec.Limits))
			}
			for _, p := range routine.Points(spec, c.gauges) {
				if p.GaugeID == "" && p.Point.Kind != batch.PitchDeclared && !(name == "ruler alone" && p.Point.Kind.IsLeaf()) {
					t.Errorf("%s, %s: no gauge for %s", name, tmpl.Name, p.Words)
				}
			}
			nuts := slices.ContainsFunc(routine.Points(spec, c.gauges), func(p routine.Point) bool { return p.Point.Kind == batch.NutHeight })
			needed := slices.ContainsFunc(spec.Limits, func(l inspect.Limit) bool {
				return slices.Contains(inspect.KindOf(l.Characteristic).Points, inspect.PointNutHeight)
			})
			if name == "leaves and ruler" && nuts != needed {
				t.Errorf("%s: nut heights asked for %v, needed by a limit %v", tmpl.Name, nuts, needed)
			}
			whole := spec.Limits
			if name == "carriage" && (len(left) > 0 || len(whole) != len(recordtest.Must(files.ReadSpec("t.toml", []byte(tmpl.Text)))(t).Limits)) {
				t.Errorf("%s: with gauges for all of it %v is left out", tmpl.Name, left)
			}
			if name == "leaves and ruler" && !slices.ContainsFunc(left, func(l string) bool { return strings.HasPrefix(l, inspect.Name(inspect.NutHeight)) }) {
				t.Errorf("%s: a ruler is too coarse for nut heights, left out are %v", tmpl.Name, left)
			}
		}
	}
}

// TestPromisedStandsHere: in a builder's house what was promised and is due within a week stands at the head, the one due first before; what is due
// later, or has ended, does not.
func TestPromisedStandsHere(t *testing.T) {
	s, _ := opened(t)
	s.Post(Path+"/name", url.Values{"name": {"Mara Quill"}, "house": {string(batch.Builder)}}, http.StatusSeeOther)
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	ok(s.Rec.EnterInstrument(t.Context(), "Mara Quill", batch.Instrument{Serial: "OAK-31"}))
	today := batch.DayOf(time.Now())
	for what, days := range map[string]int{"check relief after winter": 1, "glue the seam": 0, "order a nut": -1, "send the sheet": 7, "look at the bridge": 8, "dress fret 7": -2} {
		ok(s.Rec.Promise(t.Context(), "Mara Quill", batch.Promise{Serial: "OAK-31", Due: today.After(days), What: what}))
	}
	for _, p := range recordtest.Must(s.Rec.PromisesDue(t.Context(), today.After(-2)))(t) {
		ok(s.Rec.EndPromise(t.Context(), "Mara Quill", p.ID, batch.PromiseKept))
	}
	page := s.Get(Path, http.StatusOK)
	webtest.Wants(t, page, `<a href="/instruments/OAK-31#promises">Promised for OAK-31: check relief after winter, due tomorrow.</a>`)
	at := -1
	for _, words := range []string{": order a nut, was due ", ": glue the seam, due today.", ": check relief after winter, due tomorrow.", ": send the sheet, due "} {
		if next := strings.Index(page, words); next <= at {
			t.Errorf("%q stands at %d, after %d", words, next, at)
		} else {
			at = next
		}
	}
	for _, gone := range []string{"look at the bridge", "dress fret 7"} {
		if strings.Contains(page, gone) {
			t.Errorf("%q stands there", gone)
		}
	}
	s.Post(housePath, url.Values{"house": {string(batch.Factory)}}, http.StatusSeeOther)
	if strings.Contains(s.Get(Path, http.StatusOK), "order a nut") {
		t.Error("it stands on a factory's first steps")
	}
}
