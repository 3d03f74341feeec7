package record

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// Nobody is entered under a name that reads as another's, or that changes how what stands beside it reads; one name is one person however it was typed.
func TestNamesAreTold(t *testing.T) {
	db := newShop(t)
	ctx := db.ctx
	first := must(db.AddPerson(ctx, "", "\u00c5sa Quill", batch.Inspector))(t)
	if again := must(db.AddPerson(ctx, "", " A\u030asa  Quill ", batch.Inspector))(t); again.ID != first.ID || again.Name != "\u00c5sa Quill" {
		t.Errorf("entered as %+v, again as %+v", first, again)
	}
	for _, name := range []string{"\u00e5sa quill", "\u00c5sa Qui1l", "\u00c5s\u0430 Quill"} {
		_, err := db.AddPerson(ctx, "", name, batch.QualityManager)
		wantErr(t, err, ErrExists, "would be taken for \u00c5sa Quill")
	}
	if _, err := db.AddPerson(ctx, "", "\u202ellihQ", batch.Inspector); batch.KindOf(err) != batch.Mendable {
		t.Errorf("a name that turns direction: %v", err)
	}
	db.ok(db.VerifyAudit(ctx))
}

// A badge is one person's, in any case of its letters, and nothing else's that a scan could mean.
func TestBadges(t *testing.T) {
	db := newShop(t)
	ctx := db.ctx
	for _, name := range []string{"Wren Halloway", "Ossian Reed"} {
		must(db.AddPerson(ctx, "", name, batch.Inspector))(t)
	}
	badges := func() map[string]string {
		got := map[string]string{}
		for _, p := range must(db.People(ctx))(t) {
			got[p.Name] = p.Badge
		}
		return got
	}
	db.ok(db.SetBadge(ctx, "Ilse", "Wren Halloway", " WH-01 "))
	db.ok(db.SetBadge(ctx, "Ilse", "Ossian Reed", "00417"))
	if got := badges(); got["Wren Halloway"] != "WH-01" || got["Ossian Reed"] != "00417" {
		t.Fatalf("badges %v", got)
	}
	wantErr(t, db.SetBadge(ctx, "Ilse", "Ossian Reed", "wh-01"), ErrExists, "badge of Wren Halloway")
	wantErr(t, db.SetBadge(ctx, "Ilse", "Nobody", "NN-01"), ErrUnknown, `nobody of the name "Nobody"`)
	for _, code := range []string{"417", "0.31", "7/64", "]C0", "*WH*", "W", "10thou", "WH 01", "Åse"} {
		if err := db.SetBadge(ctx, "Ilse", "Ossian Reed", code); batch.KindOf(err) != batch.Mendable {
			t.Errorf("%q: %v", code, err)
		}
	}
	db.ok(db.SetBadge(ctx, "Ilse", "Wren Halloway", ""))
	db.ok(db.SetBadge(ctx, "Ilse", "Ossian Reed", "wh-01"))
	if got := badges(); got["Wren Halloway"] != "" || got["Ossian Reed"] != "wh-01" {
		t.Fatalf("badges %v", got)
	}
	db.ok(db.VerifyAudit(ctx))
}

// What is somebody's badge is refused as a serial number and as a batch's number, wherever it comes from: a scan of it would sign them on.
func TestNothingIsCalledAsABadge(t *testing.T) {
	s := newShop(t, serials(1)...)
	must(s.AddPerson(s.ctx, "Ilse", "Wren Halloway", batch.Inspector))(t)
	s.ok(s.SetBadge(s.ctx, "Ilse", "Wren Halloway", "WH-01"))
	for _, serial := range []string{"WH-01", "wh-01", " W H-01 "} {
		_, err := s.AddNecks(s.ctx, "Ilse", s.batch.ID, []string{"QM-2611-0002", serial})
		wantErr(t, err, ErrExists, "is the badge of Wren Halloway")
		_, err = s.OpenBatch(s.ctx, "Ilse", batch.Batch{Number: serial, Spec: s.batch.Spec}, nil)
		wantErr(t, err, ErrExists, "is the badge of Wren Halloway")
		_, err = s.OpenBatch(s.ctx, "Ilse", batch.Batch{Number: "QM-9", Spec: s.batch.Spec}, []string{serial})
		wantErr(t, err, ErrExists, "is the badge of Wren Halloway")
		v := verdictOf(batch.Inspection{}, inspect.Pass, 0.3, 0.3)
		_, err = s.AppendStories(s.ctx, "Ilse", batch.Import{BatchID: s.batch.ID, Origin: batch.Imported, Source: "old.csv", SHA256: "1"}, func(yield func(batch.Story, error) bool) {
			yield(batch.Story{Serial: serial, Attempts: []batch.StoryAttempt{{Inspector: "Ossian Reed", StartedAt: s.batch.OpenedAt, Verdicts: []batch.Verdict{v}}}}, nil)
		})
		wantErr(t, err, ErrExists, "is the badge of Wren Halloway")
	}
	if all := must(s.Necks(s.ctx, s.batch.ID))(t); len(all) != 1 {
		t.Errorf("%d necks, want the one of before", len(all))
	}
	s.ok(s.SetBadge(s.ctx, "Ilse", "Wren Halloway", ""))
	must(s.AddNecks(s.ctx, "Ilse", s.batch.ID, []string{"WH-01"}))(t)
}
