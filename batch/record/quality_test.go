package record

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// historyShop is a record of a few invented necks.
func historyShop(t *testing.T, n int) *shop {
	t.Helper()
	s := &shop{TB: t, ctx: t.Context(), path: filepath.Join(t.TempDir(), "record.db")}
	fill(t, s.path, planOf(t, n))
	s.DB = must(Open(s.path, Options{Station: "bench 1"}))(t)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

func is(d batch.Dimension, value string) []batch.FirstIs {
	return []batch.FirstIs{{Dimension: d, Value: value}}
}

// A page of necks holds what a walk over all necks picks by the same filter.
func TestNeckPage(t *testing.T) {
	s := historyShop(t, 900)
	b := must(s.Batches(s.ctx))(t)[0]
	type seen struct {
		batch.NeckReport
		first *batch.InspectionReport
	}
	var all []seen
	for n, err := range s.EachNeck(s.ctx, b.ID) {
		s.ok(err)
		all = append(all, seen{n, &n.Inspections[0]})
	}
	gauge := must(s.Breakdown(s.ctx, batch.Scope{BatchID: b.ID}, batch.ByGauge))(t)[0].Value
	failing := func(n seen) string {
		if n.first.Verdict.Disposition == inspect.Pass {
			return ""
		}
		if c := inspect.FirstFailing(n.first.Verdict.Result); c != nil {
			return c.Name
		}
		return ""
	}
	someone := all[0].first.Inspector
	for name, c := range map[string]struct {
		filter batch.NeckFilter
		is     func(n seen) bool
	}{
		"all":         {batch.NeckFilter{}, func(seen) bool { return true }},
		"disposition": {batch.NeckFilter{Disposition: inspect.Concession}, func(n seen) bool { return n.Disposition == inspect.Concession }},
		"reason":      {batch.NeckFilter{Firsts: is(batch.ByReason, "relief")}, func(n seen) bool { return failing(n) == "relief" }},
		"inspector":   {batch.NeckFilter{Firsts: is(batch.ByInspector, someone)}, func(n seen) bool { return n.first.Inspector == someone }},
		"gauge":       {batch.NeckFilter{Firsts: is(batch.ByGauge, gauge)}, func(seen) bool { return true }},
		"other gauge": {batch.NeckFilter{Firsts: is(batch.ByGauge, "none")}, func(seen) bool { return false }},
		"hour":        {batch.NeckFilter{Firsts: is(batch.ByHour, "09")}, func(n seen) bool { return n.first.StartedAt.Local().Hour() == 9 }},
		"near":        {batch.NeckFilter{Firsts: is(batch.ByNear, "near")}, func(n seen) bool { return batch.IsNear(n.first.Verdict.Result.Characteristics) }},
		"serial":      {batch.NeckFilter{Serial: "-001"}, func(n seen) bool { return strings.Contains(n.Serial, "-001") }},
		"two":         {batch.NeckFilter{Firsts: append(is(batch.ByHour, "09"), is(batch.ByReason, "relief")...)}, func(n seen) bool { return n.first.StartedAt.Local().Hour() == 9 && failing(n) == "relief" }},
		"station":     {batch.NeckFilter{Firsts: is(batch.ByStation, all[0].first.Station)}, func(n seen) bool { return n.first.Station == all[0].first.Station }},
		"weekday":     {batch.NeckFilter{Firsts: is(batch.ByWeekday, "3")}, func(n seen) bool { return n.first.StartedAt.Local().Weekday() == time.Wednesday }},
		"failing": {batch.NeckFilter{Firsts: is(batch.ByFailing, "action")}, func(n seen) bool {
			return slices.Contains(batch.Failing(n.first.Verdict.Result.Characteristics), "action")
		}},
		"humidity": {batch.NeckFilter{Firsts: is(batch.ByHumidity, "40")}, func(n seen) bool {
			h := n.first.Climate.HumidityPercent
			return h != nil && *h >= 40 && *h < 50
		}},
		"reason of some": {batch.NeckFilter{Serial: "-001", Firsts: is(batch.ByReason, "relief")}, func(n seen) bool { return strings.Contains(n.Serial, "-001") && failing(n) == "relief" }},
		"state":          {batch.NeckFilter{State: batch.Open}, func(seen) bool { return false }},
		"in doubt":       {batch.NeckFilter{InDoubt: true}, func(seen) bool { return false }},
	} {
		var want []string
		for _, n := range all {
			if c.is(n) {
				want = append(want, n.Serial)
			}
		}
		c.filter.BatchID = b.ID
		var got []string
		for c.filter.Limit = 40; ; c.filter.Offset += 40 {
			page := must(s.NeckPage(s.ctx, c.filter))(t)
			if page.Total != len(want) {
				t.Fatalf("%s: %d in all, want %d", name, page.Total, len(want))
			}
			if len(page.Necks) == 0 {
				break
			}
			for _, n := range page.Necks {
				got = append(got, n.Serial)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: got %d necks, want %d", name, len(got), len(want))
		}
	}
}

// The series is what a walk over the first verdicts gives, in order of inspection.
func TestSeries(t *testing.T) {
	s := historyShop(t, 900)
	b := must(s.Batches(s.ctx))(t)[0]
	relief := batch.Named{Name: "relief", Track: "treble", Fret: 7}
	var want []batch.SeriesPoint
	for n, err := range s.EachNeck(s.ctx, b.ID) {
		s.ok(err)
		in := n.Inspections[0]
		c := in.Verdict.Result.Characteristics[1]
		want = append(want, batch.SeriesPoint{Serial: n.Serial, BatchNumber: b.Number, At: in.StartedAt, Value: c.Value, U: c.U, Zone: c.Zone, Inspector: in.Inspector,
			Station: in.Station, Climate: in.Climate})
	}
	read := func(f batch.SeriesFilter) []batch.SeriesPoint {
		var all []batch.SeriesPoint
		for p, err := range s.Series(s.ctx, f) {
			s.ok(err)
			all = append(all, p)
		}
		return all
	}
	got := read(batch.SeriesFilter{Scope: batch.Scope{BatchID: b.ID}, Named: relief})
	if len(got) != len(want) {
		t.Fatalf("%d points, want %d", len(got), len(want))
	}
	slices.SortStableFunc(want, func(a, b batch.SeriesPoint) int { return a.At.Compare(b.At) })
	for i, p := range got {
		w := want[i]
		if p.Serial != w.Serial || *p.Value != *w.Value || *p.U != *w.U || p.Zone != w.Zone || p.Inspector != w.Inspector || p.Station != w.Station || !p.At.Equal(w.At) ||
			*p.Climate.HumidityPercent != *w.Climate.HumidityPercent || p.GaugeID != "history-carriage-1" || p.BatchNumber != w.BatchNumber || p.Lower == nil || p.Unit != "mm" {
			t.Fatalf("point %d: %+v, want %+v", i, p, w)
		}
	}
	newest := read(batch.SeriesFilter{Scope: batch.Scope{SpecName: b.Spec.Name}, Named: relief, Newest: 25})
	whole := read(batch.SeriesFilter{Scope: batch.Scope{SpecName: b.Spec.Name}, Named: relief})
	if len(newest) != 25 || newest[0].Serial != whole[len(whole)-25].Serial || newest[24].Serial != whole[len(whole)-1].Serial {
		t.Errorf("the newest 25 end with %+v, all with %+v", newest[24], whole[len(whole)-1])
	}
	if got := read(batch.SeriesFilter{Scope: batch.Scope{BatchID: b.ID}, Named: batch.Named{Name: "hump", Track: "bass"}}); len(got) != 0 {
		t.Errorf("a characteristic that nobody measured has %d points", len(got))
	}
}

// The trend's rows and the characteristics' splits add up to the whole.
func TestTrendAddsUp(t *testing.T) {
	s := historyShop(t, 3000)
	whole := must(s.Breakdown(s.ctx, batch.Scope{}, batch.ByAll))(t)[0]
	var sum batch.Share
	near, reasons := 0, 0
	rows := must(s.Trend(s.ctx, batch.Scope{}))(t)
	for _, r := range rows {
		sum.Inspected, sum.FirstPass, sum.FinalPass = sum.Inspected+r.Inspected, sum.FirstPass+r.FirstPass, sum.FinalPass+r.FinalPass
		near += r.Near
		for _, x := range r.Reasons {
			reasons += x.Necks
		}
		if r.SpecName == "" || r.Revision == "" || r.Month < 202411 || r.Month > 202611 || r.Month.Start().Day() != 1 {
			t.Errorf("row %+v", r)
		}
	}
	if sum != whole || whole.Inspected != 3000 {
		t.Errorf("the months hold %+v, the whole %+v", sum, whole)
	}
	if want := must(s.Breakdown(s.ctx, batch.Scope{}, batch.ByNear))(t)[0].Inspected; near != want || near == 0 {
		t.Errorf("near a limit: %d in months, %d in all", near, want)
	}
	if failed := whole.Inspected - whole.FirstPass; reasons != failed {
		t.Errorf("%d reasons for %d necks that failed", reasons, failed)
	}
	all := must(s.Characteristics(s.ctx, batch.Scope{}, "relief", batch.SplitNone))(t)
	if len(all) != 2 {
		t.Fatalf("relief on %d tracks, want 2", len(all))
	}
	for _, split := range []batch.Split{batch.SplitMonth, batch.SplitGauge, batch.SplitBatch, batch.SplitSpec, batch.SplitMonthSpec} {
		parts := map[batch.Named]batch.Moments{}
		for _, row := range must(s.Characteristics(s.ctx, batch.Scope{}, "relief", split))(t) {
			parts[row.Named] = parts[row.Named].Plus(row.Moments)
		}
		for _, row := range all {
			p := parts[row.Named]
			if p.N != row.N || p.N != 3000 || !alike(p.Mean, row.Mean) || !alike(p.M2, row.M2) {
				t.Errorf("split by %s: %+v, whole %+v", split, p, row.Moments)
			}
		}
	}
	first, last := rows[0], must(s.Trend(s.ctx, batch.Scope{SpecName: rows[0].SpecName, Revision: rows[0].Revision, From: rows[0].Month, To: rows[0].Month}))(t)
	if len(last) != 1 || last[0].Share != first.Share {
		t.Errorf("one month of one revision: %+v, want %+v", last, first)
	}
	_, err := s.Characteristics(s.ctx, batch.Scope{}, "", "colour")
	wantErr(t, err, ErrInput, "colour")
}

func alike(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// Worked out by hand for five necks.
func TestLoopsAndOutcomes(t *testing.T) {
	s := newShop(t, serials(3)...)
	keepStories(t, s, s.batch.ID, "QM-26-", 3, rand.New(rand.NewPCG(3, 3))) // the second passes after an hour of rework
	in := s.start("QM-2611-0001")
	s.verdict(in, inspect.Rework, 0.5, 0.5)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "x", What: "truss rod", Turns: 0.25, Direction: "tighten", PredictedMM: new(0.375)}))(t)
	next := s.start("QM-2611-0001")
	s.verdict(next, inspect.Remeasure, 0.36, 0.36)
	outcome := func() batch.ReworkOutcome {
		all := must(s.ReworkOutcomes(s.ctx, s.batch.ID, 0))(t)
		return all[slices.IndexFunc(all, func(o batch.ReworkOutcome) bool { return o.Serial == "QM-2611-0001" })]
	}
	if o := outcome(); o.After != nil || *o.PredictedMM != 0.375 || o.Attempt != 1 {
		t.Errorf("before the next judged inspection: %+v", o)
	}
	s.verdict(next, inspect.Rework, 0.4, 0.38)
	if o := outcome(); o.After == nil || *o.After != 0.39 || !(o.AfterU > 0) {
		t.Errorf("after it: %+v", o)
	}
	l := must(s.Loops(s.ctx, s.batch.ID, 0))(t)
	if !slices.Equal(l.Attempts, []batch.Count{{Of: 1, Necks: 2}, {Of: 2, Necks: 1}}) || !slices.Equal(l.Waiting, []batch.Count{{Of: 2, Necks: 1}}) {
		t.Errorf("loops: %+v", l)
	}
	if len(l.ToPass) != 3 || l.ToPass[0].Minutes() != 1 || l.ToPass[2].Minutes() != 61 {
		t.Errorf("times to pass: %v", l.ToPass)
	}
	story := must(s.NeckStory(s.ctx, " QM-26-001 "))(t)
	if story.Import == nil || story.Import.Necks != 3 || len(story.Inspections) != 2 || len(story.Rework) != 1 || story.Disposition != inspect.Pass {
		t.Errorf("story: %+v", story)
	}
	if story = must(s.NeckStory(s.ctx, "QM-2611-0001"))(t); story.Import != nil || len(story.Inspections) != 2 {
		t.Errorf("a story of here: %+v", story)
	}
	_, err := s.NeckStory(s.ctx, "nothing")
	wantErr(t, err, ErrUnknownSerial)
}

// A search finds what a look at every serial number finds, whatever the part is made of.
func TestSearch(t *testing.T) {
	all := []string{"QM-2611-0001", "qm-2611-0002", `A"B*C`, "100%", "1_0", "ÄÖ-7", "x", "ZZ", "a OR b", "NEAR(a b)", "-0001-"}
	s := newShop(t, all...)
	for _, part := range append([]string{"2611", "qm-26", "001", "0", "z", "B*C", `"B`, "0%", "_", "1_0", "äö-", "OR", " OR ", "R(a", "nothing", "zzz", "%%%", "-00"}, all...) {
		var want []string
		for _, serial := range slices.Backward(all) {
			if strings.Contains(strings.ToLower(serial), strings.ToLower(strings.TrimSpace(part))) {
				want = append(want, serial)
			}
		}
		var got []string
		for _, n := range must(s.SearchNecks(s.ctx, part, 100))(t) {
			got = append(got, n.Serial)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%q: got %q, want %q", part, got, want)
		}
	}
	if got := must(s.SearchNecks(s.ctx, "0", 2))(t); len(got) != 2 || got[0].Serial != "-0001-" {
		t.Errorf("the newest two: %+v", got)
	}
}

// An import is all or nothing, and the same file is taken once.
func TestImportsAreWhole(t *testing.T) {
	s := newShop(t, serials(1)...)
	random := rand.New(rand.NewPCG(1, 1))
	imp := keepStories(t, s, s.batch.ID, "QM-26-", 4, random)
	if imp.Necks != 4 || imp.By != "Mara Quill" {
		t.Errorf("import: %+v", imp)
	}
	if known := must(s.ImportOf(s.ctx, imp.SHA256))(t); known == nil || known.ID != imp.ID {
		t.Errorf("the file is not recognised: %+v", known)
	}
	good := must(s.NeckStory(s.ctx, "QM-26-000"))(t).Inspections[0].Verdict
	story := func(change func(*batch.Story)) batch.Story {
		v := *good
		v.ID = ""
		st := batch.Story{Serial: "QM-27-1", Attempts: []batch.StoryAttempt{{Inspector: "x", StartedAt: good.At, Verdicts: []batch.Verdict{v}}}}
		change(&st)
		return st
	}
	for name, c := range map[string]struct {
		change func(*batch.Story)
		sum    string
		kind   error
	}{
		"again":         {func(*batch.Story) {}, imp.SHA256, ErrExists},
		"taken":         {func(s *batch.Story) { s.Serial = "QM-2611-0001" }, "", ErrExists},
		"no serial":     {func(s *batch.Story) { s.Serial = "" }, "", ErrInput},
		"no inspection": {func(s *batch.Story) { s.Attempts = nil }, "", ErrInput},
		"no inspector":  {func(s *batch.Story) { s.Attempts[0].Inspector = "" }, "", ErrInput},
		"undecided":     {func(s *batch.Story) { s.Attempts[0].Verdicts[0].Disposition = inspect.Remeasure }, "", ErrInput},
		"no result":     {func(s *batch.Story) { s.Attempts[0].Verdicts[0].Result = nil }, "", ErrInput},
		"scrap":         {func(s *batch.Story) { s.Attempts[0].Verdicts[0].Disposition = inspect.Scrap }, "", ErrInput},
	} {
		from := func(yield func(batch.Story, error) bool) {
			if yield(story(func(s *batch.Story) { s.Serial = "QM-27-0" }), nil) {
				yield(story(c.change), nil)
			}
		}
		_, err := s.AppendStories(s.ctx, "Mara Quill", batch.Import{BatchID: s.batch.ID, Origin: batch.Imported, Source: name, SHA256: c.sum}, from)
		wantErr(t, err, c.kind, name)
		if _, err := s.Neck(s.ctx, "QM-27-0"); err == nil {
			t.Fatalf("%s: a part of it was kept", name)
		}
	}
	s.ok(s.CloseBatch(s.ctx, "Mara Quill", "QM-2611"))
	_, err := s.AppendStories(s.ctx, "Mara Quill", batch.Import{BatchID: s.batch.ID, Source: "late"}, func(func(batch.Story, error) bool) {})
	wantErr(t, err, ErrState, "closed")
	s.ok(s.VerifyAudit(s.ctx))
}

// A page of one gauge's necks leaves out those that no gauge measured.
func TestNecksOfAGauge(t *testing.T) {
	s := newShop(t, serials(3)...)
	g := s.carriage()
	s.pass(g.ID, "QM-2611-0001")
	s.pass("", "QM-2611-0002")
	page := must(s.NeckPage(s.ctx, batch.NeckFilter{BatchID: s.batch.ID, Firsts: is(batch.ByGauge, g.ID)}))(t)
	if page.Total != 1 || len(page.Necks) != 1 || page.Necks[0].Serial != "QM-2611-0001" {
		t.Errorf("%+v", page)
	}
}
