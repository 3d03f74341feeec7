package record

import (
	"testing"

	"sagitta/batch"
)

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
	wantErr(t, db.SetBadge(ctx, "Ilse", "Nobody", "NN-01"), ErrUnknown, "nobody of that name")
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
