package instruments

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// opened serves the pages over a builder's empty record, with a bench of its own.
func opened(t *testing.T) (*webtest.Shop, *bench.Bench) {
	t.Helper()
	s := webtest.Open(t)
	recordtest.Must(s.Rec.AddPerson(t.Context(), "Mara Quill", "Mara Quill", batch.QualityManager))(t)
	b := recordtest.Must(bench.New(t.Context(), bench.Options{Record: s.Rec}))(t)
	k := recordtest.Must(site.New(site.Options{Snapshot: b.Snapshot, People: s.Rec.People, House: s.Rec.House, Now: time.Now}))(t)
	if err := Mount(k, Options{Record: s.Rec, Bench: b, GaugesChanged: b.ReloadGauges, Now: time.Now}); err != nil {
		t.Fatal(err)
	}
	s.Handler = k.Handler()
	return s, b
}

// TestNewInstrument: the serial number is enough. What is chosen and typed is in the visit's specification, the owner and the player's words are
// kept, and the neck is on the bench.
func TestNewInstrument(t *testing.T) {
	s, b := opened(t)
	webtest.Wants(t, s.Get(Path, http.StatusOK), "None is entered yet.", `href="/instruments/new"`)
	webtest.Wants(t, s.Get(Path+"/new", http.StatusOK), `name="serial"`, "What you measure with", "yours; 25.5 in", "common practice, no source", "action of strings 2 to 5")
	first := url.Values{"serial": {"A-7"}, "owner": {"Ida Marsh"}, "contact": {"by post"}, "words": {"low action, hard pick"}, "with": {"leaves-ruler"}, "by": {"Mara Quill"},
		"kind": {"electric-bolt-on"}, "set": {"electric, .009 to .042"}, "action": {"low"}, "hand": {"hard"},
		"was.kind": {"electric-bolt-on"}, "was.set": {"electric, .009 to .042"}, "was.action": {"low"}, "was.hand": {"hard"}, "e.neck.scale_mm": {"635"}, "humidity": {"47"}}
	webtest.Wants(t, s.Post(Path+"/new", with(first, "serial", ""), http.StatusUnprocessableEntity), `id="serial-error"`, `value="Ida Marsh"`, `value="635"`)
	webtest.Wants(t, s.Post(Path+"/new", with(first, "e.neck.frets", "many"), http.StatusUnprocessableEntity), `is not a whole number`)
	if to := s.Post(Path+"/new", first, http.StatusSeeOther); to != "/" {
		t.Errorf("leads to %s", to)
	}
	snap := b.Snapshot()
	if snap.Stage != bench.Measuring || snap.Serial != "A-7" || snap.Inspector != "Mara Quill" || snap.Climate.HumidityPercent == nil || *snap.Climate.HumidityPercent != 47 {
		t.Fatalf("on the bench %+v", snap)
	}
	v := recordtest.Must(s.Rec.Visits(t.Context(), "A-7"))(t)[0]
	spec := v.Batch.Spec.Spec
	if v.Number != 1 || v.Wishes != "low action, hard pick" || spec.Neck.ScaleMM != 635 || spec.Strings[0].DiameterMM != 0.229 || spec.Routine.Profile != "leaves" {
		t.Errorf("visit %+v\n%+v", v, spec)
	}
	for _, l := range spec.Limits {
		if l.Characteristic == inspect.Action && l.String.Number == 6 && *l.UpperMM != 1.6 || l.Characteristic == inspect.Relief && *l.LowerMM != 0.15 {
			t.Errorf("%+v", l)
		}
	}
	in := recordtest.Must(s.Rec.Instrument(t.Context(), "A-7"))(t)
	if in.Owner.Name != "Ida Marsh" || in.Kind != "electric-bolt-on" {
		t.Errorf("%+v", in)
	}
	webtest.Wants(t, s.Post(Path+"/new", first, http.StatusConflict), "has not ended")
	for _, q := range []string{"ida", "a-7", ""} {
		webtest.Wants(t, s.Get(Path+"?q="+q, http.StatusOK), `<a href="/instruments/A-7">A-7</a>`, "is here", "Electric, bolt-on")
	}
	webtest.Wants(t, s.Get(Path+"?q=nobody", http.StatusOK), "has &#34;nobody&#34; in it")
	webtest.Wants(t, s.Get(Path+"/A-7", http.StatusOK), "Ida Marsh", "low action, hard pick", "On the bench", "electric, .009 to .042")
	// Another instrument while the bench is busy begins its visit and waits.
	if to := s.Post(Path+"/new", with(first, "serial", "B 1/2"), http.StatusSeeOther); to != site.InstrumentPath("B 1/2") {
		t.Errorf("leads to %s", to)
	}
	webtest.Wants(t, s.Get(site.InstrumentPath("B 1/2"), http.StatusOK), "On the bench lies A-7. Finish it or park it there; then take this one to the bench here.")
	webtest.Wants(t, s.Post(site.InstrumentPath("B 1/2")+"/bench", nil, http.StatusConflict), "The bench is not free")
	// What was here before is no new instrument.
	if err := b.Abandon(t.Context(), "the player came for it"); err != nil {
		t.Fatal(err)
	}
	if page := s.Get(site.InstrumentPath("B 1/2"), http.StatusOK); strings.Contains(page, "On the bench lies") {
		t.Error("the bench is free, and is said to be taken")
	}
	webtest.Wants(t, s.Post(Path+"/A-7/end", url.Values{"result": {"as it was"}}, http.StatusUnprocessableEntity), `id="end-by-error"`, "as it was</textarea>")
	s.Post(Path+"/A-7/end", url.Values{"result": {"as it was"}, "by": {mara}}, http.StatusSeeOther)
	webtest.Wants(t, s.Post(Path+"/new", first, http.StatusConflict), "A-7 is on file: it was here last in visit 1", `href="/instruments/A-7/visit"`, "New visit of A-7", `value="Ida Marsh"`)
	if all := recordtest.Must(s.Rec.Visits(t.Context(), "A-7"))(t); len(all) != 1 {
		t.Errorf("%d visits", len(all))
	}
}

// TestNextVisit: its wishes begin as the last ones were, the strings may be others, what was not asked for before is there to be filled in, and
// the record says which visit is which.
func TestNextVisit(t *testing.T) {
	s, b := opened(t)
	s.Post(Path+"/new", url.Values{"serial": {"A-7"}, "owner": {"Ida Marsh"}, "maker": {"1042"}, "words": {"low, please"}, "with": {"leaves"}, "by": {"Mara Quill"}, "kind": {"steel-acoustic"}, "hand": {"light"}}, http.StatusSeeOther)
	if err := b.Abandon(t.Context(), "the player came for it"); err != nil {
		t.Fatal(err)
	}
	webtest.Wants(t, s.Post(Path+"/A-7/visit", url.Values{"by": {"Mara Quill"}}, http.StatusConflict), "has not ended")
	webtest.Wants(t, s.Post(Path+"/A-7/end", url.Values{"result": {strings.Repeat("x", longestWords+1)}}, http.StatusUnprocessableEntity), "at most 2000 are allowed")
	webtest.Wants(t, s.Post(Path+"/A-7/end", url.Values{"result": {"as it was"}}, http.StatusUnprocessableEntity), `id="end-by-error"`, "as it was</textarea>")
	s.Post(Path+"/A-7/end", url.Values{"result": {"as it was"}, "by": {mara}}, http.StatusSeeOther)
	page := s.Get(Path+"/A-7/visit", http.StatusOK)
	webtest.Wants(t, page, "low, please", "as last time", `name="e.limit.relief.each.upper" type="text" value="0.1"`, `name="e.limit.action.6.12.upper" type="text" value=""`, `name="temperature"`)
	if strings.Contains(page, `name="kind"`) || strings.Contains(page, `name="serial"`) {
		t.Error("a visit asks what the instrument is")
	}
	s.Post(Path+"/A-7/visit", url.Values{"words": {"for slide"}, "by": {"Mara Quill"}, "set": {"acoustic, .013 to .056"}, "action": {"high"}, "e.limit.relief.each.upper": {"0.3"}, "was.set": {"acoustic, .012 to .053"}}, http.StatusSeeOther)
	visits := recordtest.Must(s.Rec.Visits(t.Context(), "A-7"))(t)
	if len(visits) != 2 || visits[1].Number != 2 || visits[1].Wishes != "for slide" || visits[0].Result != "as it was" {
		t.Fatalf("%+v", visits)
	}
	first, second := visits[0].Batch.Spec.Spec, visits[1].Batch.Spec.Spec
	if second.Strings[0].DiameterMM != 0.33 || second.Neck != first.Neck {
		t.Errorf("%+v\n%+v", first, second)
	}
	for _, l := range second.Limits {
		if l.Characteristic == inspect.Relief && (*l.LowerMM != 0.05 || *l.UpperMM != 0.3) {
			t.Errorf("relief %v to %v", *l.LowerMM, *l.UpperMM)
		}
	}
	sets := recordtest.Must(s.Rec.StringSets(t.Context(), "A-7"))(t)
	in := recordtest.Must(s.Rec.Instrument(t.Context(), "A-7"))(t)
	if len(sets) != 2 || in.MakerNumber != "1042" || in.Owner.Name != "Ida Marsh" {
		t.Errorf("strings %+v, instrument %+v", sets, in)
	}
	s.Post(Path+"/A-7/owner", url.Values{"owner": {"Tam Reed"}, "by": {mara}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(Path+"/A-7", http.StatusOK), "Tam Reed", "Before: Ida Marsh", "Visit 2", "Visit 1", "as it was")
	// Who moved is not who had it before, and nobody is nobody.
	s.Post(Path+"/A-7/owner", url.Values{"owner": {""}, "is": {nobodys}, "by": {mara}}, http.StatusSeeOther)
	for range 2 {
		s.Post(Path+"/A-7/owner", url.Values{"owner": {"Tam Reed"}, "contact": {"at Tam Reed"}, "by": {mara}}, http.StatusSeeOther)
	}
	_, before, _ := strings.Cut(s.Get(Path+"/A-7", http.StatusOK), "Before: ")
	if before, _, _ = strings.Cut(before, "</p>"); !strings.HasPrefix(before, "Ida Marsh (") || strings.Contains(before, ",") {
		t.Errorf("before it was owned by %s", before)
	}
	s.Get(Path+"/nobody", http.StatusNotFound)
}

// TestNobodysIsSaid: an owner is not lost by a field that is empty, nor by nobody: who says it gives their name, and that nobody knows whose it is
// now is said in words.
func TestNobodysIsSaid(t *testing.T) {
	s := kept(t, "OAK-31")
	const at = Path + "/OAK-31/owner"
	owner := func() batch.Owner { return recordtest.Must(s.Rec.Instrument(t.Context(), "OAK-31"))(t).Owner }
	if page := s.Get(Path+"/OAK-31", http.StatusOK); strings.Contains(page, "whose it is nobody knows") {
		t.Error("what nobody owns is offered to be nobody's")
	}
	webtest.Wants(t, s.Post(at, url.Values{"owner": {""}, "contact": {"by post"}, "by": {mara}}, http.StatusUnprocessableEntity), `id="owner-owner-error"`, `value="by post"`)
	webtest.Wants(t, s.Post(at, url.Values{"owner": {"Ida Marsh"}, "contact": {"by post"}}, http.StatusUnprocessableEntity), `id="owner-by-error"`, `value="Ida Marsh"`)
	s.Post(at, url.Values{"owner": {"Ida Marsh"}, "contact": {"by post"}, "by": {mara}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(Path+"/OAK-31", http.StatusOK), "It is not Ida Marsh&#39;s any more, and whose it is nobody knows")
	for _, form := range []url.Values{{"owner": {""}}, {"owner": {""}, "by": {mara}}, {"owner": {" "}, "is": {""}, "by": {mara}}, {"is": {nobodys}}, {"owner": {"Tam Reed"}, "is": {nobodys}, "by": {mara}}} {
		s.Post(at, form, http.StatusUnprocessableEntity)
		if o := owner(); o.Name != "Ida Marsh" || o.Contact != "by post" || o.By != mara {
			t.Fatalf("%v makes the owner %+v", form, o)
		}
	}
	s.Post(at, url.Values{"owner": {"Ida Marsh"}, "contact": {"by post"}, "is": {nobodys}, "by": {mara}}, http.StatusSeeOther)
	if o := owner(); o.Name != "" || o.Contact != "" || o.By != mara {
		t.Errorf("the owner is %+v", o)
	}
	webtest.Wants(t, s.Get(Path+"/OAK-31", http.StatusOK), "Nobody is entered.", "Before: Ida Marsh")
}

// TestLastNumbers: beside the wishes of a visit stands what the last one measured, of what has one value or two.
func TestLastNumbers(t *testing.T) {
	e := begun(t, choices{Kind: "electric-bolt-on"}, 0)
	value := func(v float64) *float64 { return &v }
	r := &inspect.Result{Characteristics: []inspect.Characteristic{
		{Name: inspect.Relief, Track: "bass", Fret: 7, Value: value(0.21), Unit: "mm"}, {Name: inspect.Relief, Track: "treble", Fret: 7, Value: value(0.18), Unit: "mm"},
		{Name: inspect.Action, String: 6, Fret: 12, Value: value(1.75), Unit: "mm"}, {Name: inspect.Action, String: 6, Fret: 15, Value: value(1.9), Unit: "mm"},
		{Name: inspect.Rocker, Track: "bass", Fret: 3, Value: value(0.01), Unit: "mm"}, {Name: inspect.Rocker, Track: "bass", Fret: 4, Value: value(0.01), Unit: "mm"}, {Name: inspect.Rocker, Track: "bass", Fret: 5, Value: value(0.01), Unit: "mm"},
	}}
	got := valuesOf(e.base, r, e.lengths)
	if got["limit.relief.each"] != "bass +0.21 mm, treble +0.18 mm" || got["limit.action.6.12"] != "1.75 mm" || got["limit.rocker.each.each"] != "" || len(got) != 2 {
		t.Errorf("%q", got)
	}
}

// with are the values with one of them changed.
func with(values url.Values, name, value string) url.Values {
	changed := url.Values{}
	for k, v := range values {
		changed[k] = slices.Clone(v)
	}
	changed.Set(name, value)
	return changed
}
