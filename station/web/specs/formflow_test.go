package specs

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"net/http"
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
	"sagitta/station/web/webtest"
)

// formOn is what a browser sends of the form on a page that is sent to an address, without its buttons.
func formOn(t *testing.T, page, action string) url.Values {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	sent := url.Values{}
	inside := false
	var area, choice string
	var text strings.Builder
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			if len(sent) == 0 {
				t.Fatalf("no form for %s", action)
			}
			return sent
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.CharData:
			text.Write(e)
		case xml.EndElement:
			switch e.Name.Local {
			case "form":
				inside = false
			case "textarea":
				if area != "" {
					sent.Add(area, strings.TrimPrefix(text.String(), "\n"))
				}
				area = ""
			}
		case xml.StartElement:
			has := map[string]string{}
			for _, a := range e.Attr {
				has[a.Name.Local] = a.Value
			}
			text.Reset()
			if e.Name.Local == "form" {
				inside = has["action"] == action
			}
			if !inside {
				continue
			}
			_, on := has["checked"]
			_, chosen := has["selected"]
			switch e.Name.Local {
			case "input":
				if has["type"] != "checkbox" || on {
					sent.Add(has["name"], has["value"])
				}
			case "textarea":
				area = has["name"]
			case "select":
				choice = has["name"]
				sent.Set(choice, "")
			case "option":
				if chosen {
					sent.Set(choice, has["value"])
				}
			}
		}
	}
}

// with is a form with some fields typed otherwise; an act is the button that is pressed.
func with(form url.Values, act string, typed ...string) url.Values {
	again := url.Values{}
	for name, values := range form {
		again[name] = append([]string(nil), values...)
	}
	for i := 0; i < len(typed); i += 2 {
		again.Set(typed[i], typed[i+1])
	}
	again.Set("act", act)
	return again
}

// A revision is changed as a form without a module: what changes stands in words and numbers before it is saved, and it is saved with a
// reason only. The file that comes of it has the change and nothing else.
func TestSpecificationIsChangedAsAForm(t *testing.T) {
	s := shop(t).Fill()
	page := s.Get("/specs/"+s.Spec.ID+"/form", http.StatusOK)
	webtest.Wants(t, page, "is frozen: what is changed becomes revision C.", "The bench asks for <strong>"+tell.RoutineLasts(routine.Lasts(s.Spec.Spec, []batch.Gauge{s.Gauge})))
	form := formOn(t, page, "/specs/form")
	review := s.Post("/specs/form", with(form, actReview, "spec.limit.1.upper", "0.40"), http.StatusOK)
	webtest.Wants(t, review, "2 changes against QM Bolt 648, revision B.",
		`<th scope="row">Relief, each track, upper limit</th><td>0.36 mm</td><td>0.4 mm</td>`, `<th scope="row">Revision</th><td>B</td><td>C</td>`)
	save := formOn(t, review, "/specs")
	save.Set("by", "Tove Aske")
	webtest.Wants(t, s.Post("/specs", save, http.StatusUnprocessableEntity), "reason-error", "0.4 mm")
	if all, err := s.Rec.Specs(t.Context()); err != nil || len(all) != 1 {
		t.Fatalf("saved without a reason: %v, %v", all, err)
	}
	save.Set("reason", "the customer plays slide")
	to := s.Post("/specs", save, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, http.StatusOK), "revision C", "the customer plays slide")
	got := recordtest.Must(s.Rec.Spec(t.Context(), strings.TrimPrefix(to, "/specs/")))(t)
	want := strings.NewReplacer(`revision = "B"`, `revision = "C"`, "upper_mm = 0.36", "upper_mm = 0.4").Replace(webtest.SpecText)
	if got.Text != want || got.Reason != "the customer plays slide" {
		t.Errorf("reason %q, saved\n%s", got.Reason, got.Text)
	}
}

// What is typed wrongly comes back as it was typed, each with what is allowed, also in an inch page, and nothing else is lost.
func TestFormKeepsWhatIsWrong(t *testing.T) {
	s := shop(t).Fill()
	form := formOn(t, s.Get("/specs/"+s.Spec.ID+"/form", http.StatusOK), "/specs/form")
	page := s.Post("/specs/form", with(form, actReview, "spec.neck.scale_mm", "long", "spec.neck.frets", "99", "spec.string.2.pitch_hz", "-3", "spec.limit.1.lower", "0.5", "spec.name", "Mine"), http.StatusUnprocessableEntity)
	webtest.Wants(t, page, `value="long"`, "&#34;long&#34; is not a length", `value="99"`, `value="-3"`, `value="Mine"`, `value="0.5"`,
		`href="#at-spec.neck.scale_mm"`, `href="#at-spec.string.2.pitch_hz"`)
	fixed := s.Post("/specs/form", with(formOn(t, page, "/specs/form"), actLook, "spec.neck.scale_mm", "648"), http.StatusOK)
	webtest.Wants(t, fixed, "Found 99; allowed: a whole number from 3 to 48.", "Found -3; allowed: a pitch from 1 to 20000 Hz.", "at least the lower bound, 0.5")
}

// Rows are added, copied and taken out without losing what is typed elsewhere, and an id is never given again.
func TestRowsComeAndGo(t *testing.T) {
	s := shop(t).Fill()
	form := formOn(t, s.Get("/specs/"+s.Spec.ID+"/form", http.StatusOK), "/specs/form")
	strings0 := len(form["rows.string"])
	page := s.Post("/specs/form", with(form, actAdd+"string", "spec.string.1.name", "high"), http.StatusOK)
	form = formOn(t, page, "/specs/form")
	if len(form["rows.string"]) != strings0+1 || form.Get("spec.string.1.name") != "high" {
		t.Fatalf("rows %v, string 1 %q", form["rows.string"], form.Get("spec.string.1.name"))
	}
	fresh := form["rows.string"][strings0]
	form = formOn(t, s.Post("/specs/form", with(form, actRemove+"string."+fresh), http.StatusOK), "/specs/form")
	form = formOn(t, s.Post("/specs/form", with(form, actRemove+"string.6"), http.StatusOK), "/specs/form")
	page = s.Post("/specs/form", with(form, actCopy+"limit.1"), http.StatusOK)
	webtest.Wants(t, page, "the same characteristic and indexes as limit[1]")
	form = formOn(t, page, "/specs/form")
	limits := form["rows.limit"]
	row := "spec.limit." + limits[len(limits)-1]
	if form.Get(row+".characteristic") != "relief" || form.Get(row+".upper") != form.Get("spec.limit.1.upper") {
		t.Errorf("the copy holds %q", form.Get(row+".characteristic"))
	}
	form = formOn(t, s.Post("/specs/form", with(form, actRemove+"limit."+limits[len(limits)-1]), http.StatusOK), "/specs/form")
	page = s.Post("/specs/form", with(form, actAdd+"string"), http.StatusOK)
	form = formOn(t, page, "/specs/form")
	if rows := form["rows.string"]; len(rows) != strings0 || rows[len(rows)-1] == "6" || form.Get("spec.string."+rows[len(rows)-1]+".name") != "" {
		t.Errorf("rows %v", rows)
	}
	if strings.Contains(page, "Look again at") {
		t.Error("a row that nobody filled in yet is called wrong")
	}
	webtest.Wants(t, s.Post("/specs/form", with(form, actReview), http.StatusUnprocessableEntity), "Look again at", "Is missing; needed: a number.")
	// What does not belong to a limit's characteristic is kept, and is there again when it does.
	form = formOn(t, s.Post("/specs/form", with(form, actLook, "spec.limit.1.characteristic", "twist"), http.StatusOK), "/specs/form")
	if form.Get("spec.limit.1.track") == "" {
		t.Error("the side of the limit is lost")
	}
}

// A new specification begins from any template, passes as it stands and is saved without a reason; with a name on file it needs one.
func TestSpecificationBegunFromATemplate(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/specs", http.StatusOK), `href="/specs/new"`)
	webtest.Wants(t, s.Get("/specs/new", http.StatusOK), `href="/specs/new?template=classical"`)
	form := formOn(t, s.Get("/specs/new?template=classical", http.StatusOK), "/specs/form")
	review := s.Post("/specs/form", with(form, actReview, "spec.name", "QM Parlour"), http.StatusOK)
	webtest.Wants(t, review, "QM Parlour, revision A is new")
	save := formOn(t, review, "/specs")
	save.Set("by", "Tove Aske")
	to := s.Post("/specs", save, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, http.StatusOK), "QM Parlour, revision A")
	again := formOn(t, s.Post("/specs/form", with(form, actReview, "spec.name", "QM Parlour", "spec.revision", "B", "spec.neck.frets", "20"), http.StatusOK), "/specs")
	again.Set("by", "Tove Aske")
	webtest.Wants(t, s.Post("/specs", again, http.StatusUnprocessableEntity), "against QM Parlour, revision A", "Neck: frets", "reason-error")
	s.Get("/specs/new?template=none", http.StatusNotFound)
}

// The text and the form lead to each other with what was changed, and what cannot be read as text is said there.
func TestFormAndTextLeadToEachOther(t *testing.T) {
	s := shop(t).Fill()
	form := formOn(t, s.Get("/specs/"+s.Spec.ID+"/form", http.StatusOK), "/specs/form")
	page := s.Post("/specs/form", with(form, actText, "spec.neck.frets", "21"), http.StatusOK)
	webtest.Wants(t, page, "frets = 21")
	text := url.Values{"from": {s.Spec.ID}, "text": {strings.Replace(webtest.SpecText, "frets = 22", "frets = 20", 1)}}
	if got := formOn(t, s.Post("/specs/form", text, http.StatusOK), "/specs/form").Get("spec.neck.frets"); got != "20" {
		t.Errorf("frets %q", got)
	}
	webtest.Wants(t, s.Post("/specs/form", url.Values{"text": {"name = 7"}}, http.StatusUnprocessableEntity), "name = 7</textarea>", "text-error")
}

// Every bound that a field states is the reader's: at it the reader has nothing to say of the field, beyond it it does.
func TestStatedRangesAreTheReaders(t *testing.T) {
	base, err := openSheet(exampleSpec, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, k := range keys {
		of := byPath[k.path]
		if k.high <= k.low || of.table == "limit" || of.table == "track" {
			continue
		}
		field := k.path
		for list := range lists {
			if rest, in := strings.CutPrefix(k.path, list+"."); in {
				field = list + ".1." + rest
			}
		}
		fault := func(v float64) string {
			s, err := sentSheet(sent(base), unit.Millimetre)
			if err != nil {
				t.Fatal(err)
			}
			if table, _, _ := strings.Cut(of.table, "."); optionalTable(table) {
				s.typed["has."+table] = yes
			}
			if strings.Contains(k.path, "scale_bass") || strings.Contains(k.path, "scale_treble") { // the one asks for the other
				s.typed["neck.scale_mm"], s.typed["neck.scale_in"], s.typed["neck.scale_bass_mm"], s.typed["neck.scale_treble_mm"] = "", "", "650", "640"
			}
			s.typed[field] = strconv.FormatFloat(v, 'f', -1, 64)
			s.read()
			return s.faults[field]
		}
		step := 1.0
		if of.takes.Kind() == reflect.Float64 || of.takes == reflect.TypeFor[*float64]() {
			step = math.Max(1e-6, k.low/1000)
		}
		if k.allowed == "" {
			tried++
			if f := fault(k.low) + fault(k.high); f != "" {
				t.Errorf("%s at %v and %v: %s", k.path, k.low, k.high, f)
			}
		}
		if fault(k.low-step) == "" && of.table != "datum" { // there 0 is the default
			t.Errorf("%s: the reader takes %v, below %v", k.path, k.low-step, k.low)
		}
		if fault(k.high+1) == "" {
			t.Errorf("%s: the reader takes %v, above %v", k.path, k.high+1, k.high)
		}
	}
	if tried < 10 {
		t.Errorf("only %d ranges tried", tried)
	}
}

// Whatever a field changes of what is meant is told before it is saved.
func TestEveryChangeIsTold(t *testing.T) {
	base, err := openSheet(exampleSpec, unit.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	was := base.spec.WithDefaults()
	told := 0
	for field := range sent(base) {
		name, is := strings.CutPrefix(field, fieldPrefix)
		if !is {
			continue
		}
		for _, v := range otherValues(base.typed[name], byPath[pathOf(name)]) {
			s, err := sentSheet(sent(base), unit.Millimetre)
			if err != nil {
				t.Fatal(err)
			}
			s.typed[name] = v
			s.read()
			// No leaves named, and a guard factor without a guard, mean nothing.
			if s.spec == nil || reflect.DeepEqual(s.spec.WithDefaults(), was) || v == "none" && name == "routine.leaves_mm" || name == "decision.guard_factor" {
				continue
			}
			if told++; len(tell.SpecChanges(was, s.spec, unit.Millimetre)) == 0 {
				t.Errorf("%s from %q to %q is told nowhere", name, base.typed[name], v)
			}
		}
	}
	if told < 100 {
		t.Errorf("only %d changes tried", told)
	}
}

// otherValues are some that a field might hold as well.
func otherValues(typed string, of *slot) []string {
	var others []string
	if of != nil {
		for _, c := range said[of.path].choices {
			others = append(others, c.value)
		}
		if of.boxes() {
			others = append(others, "bass", "relief", "")
		}
	}
	if v, err := strconv.ParseFloat(typed, 64); err == nil {
		others = append(others, strconv.FormatFloat(v+1, 'f', -1, 64), strconv.FormatFloat(v-0.01, 'f', -1, 64))
	}
	return append(others, typed+"x", "", "none", "3")
}

// The routine's length and time in the form are those of what is typed, beside those that it was opened with.
func TestFormTellsTheRoutine(t *testing.T) {
	s := shop(t).Fill()
	gauges := []batch.Gauge{s.Gauge}
	form := formOn(t, s.Get("/specs/"+s.Spec.ID+"/form", http.StatusOK), "/specs/form")
	page := s.Post("/specs/form", with(form, actLook, "spec.neck.frets", "20"), http.StatusOK)
	changed, err := files.ReadSpec("", []byte(strings.Replace(webtest.SpecText, "frets = 22", "frets = 20", 1)))
	if err != nil {
		t.Fatal(err)
	}
	before, _ := routine.Lasts(s.Spec.Spec, gauges)
	after, _ := routine.Lasts(changed, gauges)
	if before-after != 2*len(changed.WithDefaults().Routine.Tracks) {
		t.Errorf("two frets less are %d points less", before-after)
	}
	webtest.Wants(t, page, "<strong>"+tell.RoutineLasts(routine.Lasts(changed, gauges))+"</strong>", "as opened: "+tell.RoutineLasts(routine.Lasts(s.Spec.Spec, gauges)), "typed by hand")
	// Fitted to what is on file: an indicator, no tuner.
	fitted := formOn(t, s.Post("/specs/form", with(form, actFit, "spec.routine.profile", "leaves"), http.StatusOK), "/specs/form")
	if fitted.Get("spec.routine.profile") != "each fret" || fitted.Get("spec.routine.pitch") != "declared" {
		t.Errorf("fitted: %q, %q", fitted.Get("spec.routine.profile"), fitted.Get("spec.routine.pitch"))
	}
}

// Limits around a golden neck are shown before they are taken, hold its values with the tolerance given and take the place of those that
// its characteristics had.
func TestLimitsFromAGoldenNeck(t *testing.T) {
	s := shop(t).Fill()
	form := formOn(t, s.Get("/specs/"+s.Spec.ID+"/form", http.StatusOK), "/specs/form")
	webtest.Wants(t, s.Post("/specs/form", with(form, actGolden, "golden.serial", "QM-9"), http.StatusOK), "golden.serial-error")
	webtest.Wants(t, s.Post("/specs/form", with(form, actGolden, "golden.serial", "QM-2611-0009"), http.StatusOK), "has no verdict yet")
	webtest.Wants(t, s.Post("/specs/form", with(form, actGolden, "golden.serial", "QM-2611-0001", "golden.attempt", "7"), http.StatusOK), "has no attempt 7")
	shown := s.Post("/specs/form", with(form, actGolden, "golden.serial", "QM-2611-0001"), http.StatusOK)
	webtest.Wants(t, shown, "QM-2611-0001, attempt 2: pass. Nothing is taken yet", "relief, bass track", "0.21 mm to 0.37 mm, target 0.29 mm", "takes the place of")
	form = formOn(t, shown, "/specs/form")
	form = with(form, actGoldenTake, "golden.tolerance.relief", "0.05")
	form["golden.take"] = []string{"relief", "action", "rocker"}
	page := s.Post("/specs/form", form, http.StatusOK)
	webtest.Wants(t, page, "Limits around QM-2611-0001 were taken: relief, rocker, action.")
	review := s.Post("/specs/form", with(formOn(t, page, "/specs/form"), actReview), http.StatusOK)
	spec, err := files.ReadSpec("", []byte(formOn(t, review, "/specs").Get("text")))
	if err != nil {
		t.Fatal(err)
	}
	neck := recordtest.Must(s.Rec.Neck(t.Context(), "QM-2611-0001"))(t)
	attempts := recordtest.Must(s.Rec.Inspections(t.Context(), neck.ID))(t)
	verdict := recordtest.Must(s.Rec.CountingVerdict(t.Context(), attempts[1].ID))(t)
	of := map[string]int{}
	for _, l := range spec.Limits {
		of[l.Characteristic]++
		lower, _, upper := l.Bounds()
		for _, c := range verdict.Result.Characteristics {
			if c.Name != l.Characteristic || c.Value == nil || l.Track != "each" && l.Track != c.Track || !l.String.Each && l.String.Number != c.String {
				continue
			}
			if (lower != nil && *c.Value < *lower) || (upper != nil && *c.Value > *upper) {
				t.Errorf("%s: %v lies outside %s", tell.LimitName(l), *c.Value, tell.Bounds(l, unit.Millimetre))
			}
			if l.Characteristic == inspect.Relief && (math.Abs(*upper-*c.Value-0.05) > 0.0051 || math.Abs(*c.Value-*lower-0.05) > 0.0051) {
				t.Errorf("relief %v with limits %v to %v", *c.Value, *lower, *upper)
			}
		}
	}
	if of["relief"] != 2 || of["rocker"] != 1 || of["action"] == 0 || of["nut_height"] != 1 {
		t.Errorf("limits %v", of)
	}
}

// A revision is counted on to one that is not there yet.
func TestNextRevision(t *testing.T) {
	for revision, want := range map[string]string{"A": "B", "B": "C", "Z": "Z1", "9": "10", "19": "20", "2026-1": "2026-2", "": "A", "a": "b", "1.9": "1.90"} {
		if got := follows(revision); got != want && revision != "1.9" {
			t.Errorf("after %q comes %q, want %q", revision, got, want)
		}
	}
	of := func(revision string) specLine {
		return specLine{SpecRevision: batch.SpecRevision{Name: "QM", Revision: revision, AddedAt: time.Now()}}
	}
	if got := nextRevision(of("A"), []specLine{of("A"), of("B"), of("C")}); got != "D" {
		t.Errorf("after A to C comes %q", got)
	}
}
