package instruments

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestOtherStrings: a set of the list, or another with its name and diameters, is kept from the day on which it was put on; the next visit begins with it,
// and keeps no set twice.
func TestOtherStrings(t *testing.T) {
	s, b := opened(t)
	const at = Path + "/A-7"
	s.Post(Path+"/new", url.Values{"serial": {"A-7"}, "with": {"leaves"}, "by": {mara}, "kind": {"steel-acoustic"}}, http.StatusSeeOther)
	if err := b.Abandon(t.Context(), "the player came for it"); err != nil {
		t.Fatal(err)
	}
	s.Post(at+"/end", url.Values{"by": {mara}}, http.StatusSeeOther)
	today := batch.DayOf(time.Now())
	form := func(set, name, diameters string, fitted batch.Day) url.Values {
		return url.Values{"set": {set}, "name": {name}, "diameters": {diameters}, "fitted": {string(fitted)}, "by": {mara}}
	}
	const six = "0.33 0.43 0.66w 0.81w 1.07w 1.42w"
	for field, sent := range map[string]url.Values{
		"strings-name-error":      form("", "", six, today),
		"strings-diameters-error": form("", "our own", "0.33 0.43", today),
		"strings-fitted-error":    form("", "our own", six, today.After(1)),
		"strings-by-error":        with(form("", "our own", six, today), "by", ""),
		"strings-set-error":       form("none of the list", "", "", today),
	} {
		webtest.Wants(t, s.Post(at+"/strings", sent, http.StatusUnprocessableEntity), `id="`+field+`"`, sent.Get("diameters")+"</textarea>", `value="`+sent.Get("fitted")+`"`)
	}
	webtest.Wants(t, s.Post(at+"/strings", form("", "our own", "0.33 0.43 thick 0.81w 1.07w 1.42w", today), http.StatusUnprocessableEntity), "&#34;thick&#34; is not a diameter")
	webtest.Wants(t, s.Post(at+"/strings", form("", "our own", "0.33 0.43 66w 0.81w 1.07w 1.42w", today), http.StatusUnprocessableEntity), `id="strings-diameters-error"`)
	webtest.Wants(t, s.Post(at+"/strings", form("acoustic, .013 to .056", "our own", six, today), http.StatusUnprocessableEntity), `id="strings-name-error"`, `id="strings-diameters-error"`)
	if sets := recordtest.Must(s.Rec.StringSets(t.Context(), "A-7"))(t); len(sets) != 1 {
		t.Fatalf("kept %+v", sets)
	}
	s.Post(at+"/strings", form("acoustic, .013 to .056", "", "", today), http.StatusSeeOther)
	sets := recordtest.Must(s.Rec.StringSets(t.Context(), "A-7"))(t)
	if on := sets[len(sets)-1]; len(sets) != 2 || on.Name != "acoustic, .013 to .056" || on.Fitted != today || on.By != mara || on.Strings[0].DiameterMM != 0.33 || on.Strings[0].PitchHz == 0 {
		t.Errorf("%+v", sets)
	}
	s.Post(at+"/strings", form("", "our own", "0.30 0.43 0.66w 0.81w 1.07w .056w in", today), http.StatusUnprocessableEntity) // a unit is no string
	s.Post(at+"/strings", form("", "our own", "0.30 0.43 0.66w 0.81w 1.07w 1.35w", today), http.StatusSeeOther)
	webtest.Wants(t, s.Get(at, http.StatusOK), string(today)+": our own", "Mara Quill</span>")
	webtest.Wants(t, s.Get(at+"/visit", http.StatusOK), `name="e.string.1.diameter_mm" type="text" value="0.3"`, `name="e.string.6.diameter_mm" type="text" value="1.35"`)
	s.Post(at+"/visit", url.Values{"by": {mara}}, http.StatusSeeOther)
	visits := recordtest.Must(s.Rec.Visits(t.Context(), "A-7"))(t)
	if st := visits[1].Batch.Spec.Spec.Strings[5]; st.DiameterMM != 1.35 || st.PlainString || visits[1].Batch.Spec.Spec.Strings[0].PlainString == false {
		t.Errorf("the visit begins with %+v", visits[1].Batch.Spec.Spec.Strings)
	}
	if sets := recordtest.Must(s.Rec.StringSets(t.Context(), "A-7"))(t); len(sets) != 3 || sets[2].Name != "our own" {
		t.Errorf("the visit changed the sets to %+v", sets)
	}
}

// TestOtherNylonStrings: a mass that a diameter does not tell is asked for with it.
func TestOtherNylonStrings(t *testing.T) {
	s, _ := opened(t)
	s.Post(Path+"/new", url.Values{"serial": {"C-1"}, "with": {"leaves"}, "by": {mara}, "kind": {"classical"}}, http.StatusSeeOther)
	sent := url.Values{"set": {""}, "name": {"gut"}, "diameters": {"0.71 0.81 1.02 0.75w 0.91w 1.12w"}, "fitted": {string(batch.DayOf(time.Now()))}, "by": {mara}}
	webtest.Wants(t, s.Get(Path+"/C-1", http.StatusOK), "each with its mass in g/m")
	webtest.Wants(t, s.Post(Path+"/C-1/strings", sent, http.StatusUnprocessableEntity), "String 1: ", "mass per length")
	webtest.Wants(t, s.Post(Path+"/C-1/strings", with(sent, "diameters", "0.71:much 0.81 1.02 0.75w 0.91w 1.12w"), http.StatusUnprocessableEntity), "does not end in a mass")
	s.Post(Path+"/C-1/strings", with(sent, "diameters", "0.71:0.42 0.81:0.55 1.02:0.9 0.75w:1.9 0.91w:3.1 1.12w:5"), http.StatusSeeOther)
	sets := recordtest.Must(s.Rec.StringSets(t.Context(), "C-1"))(t)
	if on := sets[len(sets)-1].Strings; *on[5].MassGPerM != 5 || on[5].PlainString || !on[0].PlainString || on[0].DiameterMM != 0.71 {
		t.Errorf("%+v", on)
	}
}

// TestKeepAsInstrument: a neck of a batch becomes an instrument, whose life begins with what was measured of it.
func TestKeepAsInstrument(t *testing.T) {
	s := webtest.Open(t).Fill()
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Now: time.Now}) })
	const serial, at = "QM-2611-0001", "/necks/QM-2611-0001/instrument"
	s.Get("/necks/nobody/instrument", http.StatusNotFound)
	webtest.Wants(t, s.Get(at, http.StatusOK), "Keep QM-2611-0001 as an instrument", `value="electric-bolt-on" selected`)
	webtest.Wants(t, s.Post(at, url.Values{"kind": {"electric-bolt-on"}, "maker": {"17"}}, http.StatusUnprocessableEntity), `id="by-error"`, `value="17"`)
	webtest.Wants(t, s.Post(at, url.Values{"kind": {"harp"}, "by": {"Tove Aske"}}, http.StatusUnprocessableEntity), `id="kind-error"`)
	if to := s.Post(at, url.Values{"kind": {"electric-bolt-on"}, "maker": {"17"}, "by": {"Tove Aske"}}, http.StatusSeeOther); to != site.InstrumentPath(serial) {
		t.Errorf("leads to %s", to)
	}
	in := recordtest.Must(s.Rec.Instrument(t.Context(), serial))(t)
	if in.Kind != "electric-bolt-on" || in.MakerNumber != "17" || in.By != "Tove Aske" {
		t.Errorf("%+v", in)
	}
	webtest.Wants(t, s.Get(site.InstrumentPath(serial), http.StatusOK), "When it was built", "It has not been here yet.", `href="/instruments/QM-2611-0001/visit"`)
	s.Post(at, url.Values{"kind": {"classical"}, "by": {"Tove Aske"}}, http.StatusSeeOther) // sent once more, it stays what it is
	if again := recordtest.Must(s.Rec.Instrument(t.Context(), serial))(t); again != in {
		t.Errorf("%+v", again)
	}
	s.Post(site.InstrumentPath(serial)+"/visit", url.Values{"by": {"Tove Aske"}, "words": {"lower, please"}, "e.neck.joint": {inspect.BoltOn}, "e.neck.bridge": {inspect.SaddlePerString}}, http.StatusSeeOther)
	visits := recordtest.Must(s.Rec.Visits(t.Context(), serial))(t)
	if len(visits) != 2 || visits[0].Number != 0 || visits[0].Batch.Number != "QM-2611" || visits[1].Number != 1 {
		t.Errorf("%+v", visits)
	}
	webtest.Wants(t, s.Get(site.InstrumentPath(serial)+"/life", http.StatusOK), "Batch QM-2611", "Visit 1")
}
