package record

import (
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// visit begins an instrument's next visit, with limits of the shop's specification.
func (s *shop) visit(serial, wishes string) batch.Visit {
	s.Helper()
	v, err := s.OpenVisit(s.ctx, "x", NewVisit{Serial: serial, Kind: "steel-string acoustic", Wishes: wishes, Strings: "light", Spec: s.batch.Spec.Spec})
	s.ok(err)
	return v
}

// TestClosingEndsVisit: a visit's batch takes no other neck; where it is closed, as any batch may be, the visit has ended, and the next may begin.
func TestClosingEndsVisit(t *testing.T) {
	s := newShop(t, serials(1)...)
	const serial = "2026-014"
	v := s.visit(serial, "")
	_, err := s.AddNecks(s.ctx, "x", v.Batch.ID, []string{"QM-2611-0001"})
	wantErr(t, err, ErrState, "of its visit 1", serial+" alone")
	s.ok(s.CloseBatch(s.ctx, "x", v.Batch.Number))
	if v = must(s.Visit(s.ctx, serial, 1))(t); v.EndedAt.IsZero() || v.EndedBy != "x" || v.Result != "" {
		t.Errorf("the visit is %+v", v)
	}
	wantErr(t, s.EndVisit(s.ctx, "x", serial, ""), ErrState, "no visit of "+serial+" is open")
	if next := s.visit(serial, ""); next.Number != 2 {
		t.Errorf("the next is %+v", next)
	}
	if e := must(s.Audit(s.ctx, 0))(t); !slices.ContainsFunc(e, func(e batch.Event) bool { return e.What == "visit ended" && e.About == serial && e.Detail == "visit 1" }) {
		t.Error("the trail does not say that it ended")
	}
}

// TestVisits: each visit has a specification of its own; the serial number means the newest; what was found before stays as it was and is
// part of the same life; no count of the shop's batches has it.
func TestVisits(t *testing.T) {
	s := newShop(t, serials(1)...)
	const serial = "QM-2611-0001"
	in := s.start(serial)
	_, err := s.OpenVisit(s.ctx, "x", NewVisit{Serial: serial, Spec: s.batch.Spec.Spec})
	wantErr(t, err, ErrState, "an inspection of "+serial+" in batch QM-2611 is in progress")
	s.verdict(in, inspect.Rework, 0.5, 0.5)
	before := must(s.Counts(s.ctx, s.batch.ID))(t)

	first := s.visit(serial, "low action, hard pick")
	if first.Number != 1 || first.Wishes != "low action, hard pick" || first.Batch.Number != serial+" visit 1" || first.Batch.Visit != 1 ||
		first.Batch.Spec.Name != serial || first.Batch.Spec.Revision != "1" || first.Batch.Spec.FrozenAt.IsZero() {
		t.Fatalf("visit %+v", first)
	}
	now := must(s.Neck(s.ctx, serial))(t)
	if now.ID != first.Neck.ID || now.BatchNumber != first.Batch.Number {
		t.Errorf("the serial number means %+v", now)
	}
	again := must(s.StartInspection(s.ctx, batch.Inspection{NeckID: now.ID, Inspector: "x"}))(t)
	if again.Attempt != 1 {
		t.Errorf("attempt %d of the visit", again.Attempt)
	}
	wantErr(t, s.EndVisit(s.ctx, "x", serial, ""), ErrState, "finish the inspections in progress first")
	s.verdict(again, inspect.Pass, 0.3, 0.3)
	_, err = s.OpenVisit(s.ctx, "x", NewVisit{Serial: serial, Spec: s.batch.Spec.Spec})
	wantErr(t, err, ErrState, "visit 1 of "+serial+" has not ended")
	s.ok(s.EndVisit(s.ctx, "x", serial, "plays as wished"))
	wantErr(t, s.EndVisit(s.ctx, "x", serial, ""), ErrState, "no visit of "+serial+" is open")
	second := s.visit(serial, "")

	all := must(s.Visits(s.ctx, serial))(t)
	if len(all) != 3 || all[0].Number != 0 || all[0].Batch.Number != "QM-2611" || all[1].Result != "plays as wished" || all[1].EndedAt.IsZero() || all[2].Number != 2 || !all[2].EndedAt.IsZero() {
		t.Errorf("life %+v", all)
	}
	if in := must(s.Inspections(s.ctx, all[0].Neck.ID))(t); len(in) != 1 {
		t.Errorf("of the factory there are %d inspections", len(in))
	}
	if after := must(s.Counts(s.ctx, s.batch.ID))(t); after.Inspected != before.Inspected || after.Registered != before.Registered || after.Rework != before.Rework {
		t.Errorf("the batch counts %+v, before the visits %+v", after, before)
	}
	if rows := must(s.Batches(s.ctx))(t); len(rows) != 1 {
		t.Errorf("%d batches of the shop", len(rows))
	}
	if specs := must(s.Specs(s.ctx))(t); slices.ContainsFunc(specs, func(r batch.SpecRevision) bool { return r.Name == serial }) {
		t.Error("a visit's specification stands among the shop's")
	}
	if found := must(s.SearchNecks(s.ctx, serial, 9))(t); len(found) != 1 || found[0].ID != second.Neck.ID {
		t.Errorf("the search finds %+v", found)
	}
	_, err = s.AddNecks(s.ctx, "x", s.batch.ID, []string{serial})
	wantErr(t, err, ErrExists, "serial number "+serial)
	var firsts int
	s.ok(s.reader.QueryRow(`SELECT count(*) FROM neck_first`).Scan(&firsts))
	if firsts != 1 {
		t.Errorf("%d first inspections are counted, of the shop's batch there is 1", firsts)
	}
	s.ok(s.VerifyAudit(s.ctx))
}

// TestInstrument: what is said last counts, what was said before stays.
func TestInstrument(t *testing.T) {
	s := newShop(t)
	const serial = "2026-014"
	wantErr(t, s.SetOwner(s.ctx, "x", serial, batch.Owner{Name: "Ada Fenn"}), ErrUnknown, serial)
	s.visit(serial, "")
	s.ok(s.SetOwner(s.ctx, "x", serial, batch.Owner{Name: "Ada Fenn", Contact: "by the mill"}))
	s.ok(s.SetOwner(s.ctx, "x", serial, batch.Owner{Name: "Bo Tarn"}))
	s.ok(s.EnterInstrument(s.ctx, "x", batch.Instrument{Serial: serial, Kind: "classical", MakerNumber: "7"}))
	i := must(s.Instrument(s.ctx, serial))(t)
	if i.Owner.Name != "Bo Tarn" || i.Kind != "classical" || i.MakerNumber != "7" {
		t.Errorf("instrument %+v", i)
	}
	if all := must(s.Owners(s.ctx, serial))(t); len(all) != 2 || all[0].Name != "Ada Fenn" || all[0].Contact != "by the mill" {
		t.Errorf("owners %+v", all)
	}
	if sets := must(s.StringSets(s.ctx, serial))(t); len(sets) != 1 || sets[0].Name != "light" || len(sets[0].Strings) != len(s.batch.Spec.Spec.Strings) {
		t.Errorf("strings %+v", sets)
	}
	s.ok(s.EndVisit(s.ctx, "x", serial, ""))
	s.visit(serial, "") // the same strings are no new set
	s.ok(s.FitStrings(s.ctx, "x", batch.StringSet{Serial: serial, Fitted: "2026-01-05", Name: "heavy", Strings: s.batch.Spec.Spec.Strings}))
	if sets := must(s.StringSets(s.ctx, serial))(t); len(sets) != 2 || slices.IndexFunc(sets, func(b batch.StringSet) bool { return b.Name == "heavy" }) < 0 {
		t.Errorf("strings %+v", sets)
	}
	if err := s.FitStrings(s.ctx, "x", batch.StringSet{Serial: serial, Fitted: "5 January"}); batch.KindOf(err) != batch.Mendable || !strings.Contains(err.Error(), "a day of the calendar") {
		t.Errorf("a day that is none: %v", err)
	}
	s.ok(s.Promise(s.ctx, "x", batch.Promise{Serial: serial, Due: "2026-09-01", What: "look at the nut"}))
	s.ok(s.Promise(s.ctx, "x", batch.Promise{Serial: serial, Due: "2026-03-01", What: "relief in March"}))
	if due := must(s.PromisesDue(s.ctx, "2026-03-01"))(t); len(due) != 1 || due[0].What != "relief in March" {
		t.Errorf("due %+v", due)
	}
	rows := must(s.Instruments(s.ctx, "tarn", 9))(t)
	if len(rows) != 1 || rows[0].Visits != 2 || rows[0].Newest.Number != 2 || rows[0].Promise == nil || rows[0].Promise.What != "relief in March" {
		t.Errorf("rows %+v", rows)
	}
	if rows := must(s.Instruments(s.ctx, "fenn", 9))(t); len(rows) != 0 {
		t.Errorf("a former owner finds %+v", rows)
	}
	s.ok(s.SetOwner(s.ctx, "x", serial, batch.Owner{Name: "Øyvind Ångström"}))
	for part, want := range map[string]int{"øyvind å": 1, " ÅNGSTRÖM ": 1, "2026-": 1, "%": 0, "tarn": 0, "": 1} {
		if rows := must(s.Instruments(s.ctx, part, 9))(t); len(rows) != want {
			t.Errorf("%q finds %d, want %d", part, len(rows), want)
		}
	}
	p := must(s.PromisesDue(s.ctx, "2026-03-01"))(t)[0]
	s.ok(s.EndPromise(s.ctx, "x", p.ID, "done"))
	wantErr(t, s.EndPromise(s.ctx, "x", p.ID, "done"), ErrState, "done")
	if h := must(s.House(s.ctx))(t); h != batch.Factory {
		t.Errorf("house %q before anybody chose", h)
	}
	s.ok(s.SetHouse(s.ctx, "x", batch.Builder))
	if h := must(s.House(s.ctx))(t); h != batch.Builder {
		t.Errorf("house %q", h)
	}
	wantErr(t, s.AddPhotographs(s.ctx, "x", serial, []batch.Photograph{{Pin: "visit", Digest: strings.Repeat("b", 64)}, {Pin: "fret 0", Digest: strings.Repeat("a", 64)}}), ErrInput, "allowed: visit, fret 1 to 99")
	if all := must(s.AllPhotographs(s.ctx))(t); len(all) != 0 {
		t.Errorf("of two, one of which cannot be, there are %+v", all)
	}
	photo := batch.Photograph{Pin: "string 3", Digest: strings.Repeat("a", 64), Width: 40, Height: 30, Bytes: 99, Caption: "a burr"}
	s.ok(s.AddPhotographs(s.ctx, "x", serial, []batch.Photograph{photo}))
	kept := must(s.Photographs(s.ctx, serial))(t)
	if len(kept) != 1 || kept[0].Caption != "a burr" || kept[0].Width != 40 {
		t.Fatalf("photographs %+v", kept)
	}
	s.ok(s.HidePhotograph(s.ctx, "x", kept[0].ID, "blurred"))
	if all := must(s.AllPhotographs(s.ctx))(t); len(all) != 1 || len(must(s.Photographs(s.ctx, serial))(t)) != 0 {
		t.Errorf("out of sight: %+v", all)
	}
	s.ok(s.VerifyAudit(s.ctx))
}
