package record

import (
	"testing"

	"sagitta/batch"
)

// TestDoubtfulIsFoundAnew asks a record in which nothing was inspected yet, twice, then one before and after a person clears a neck and
// a later check fails: no answer is an old one.
func TestDoubtfulIsFoundAnew(t *testing.T) {
	inDoubt := func(s *shop) (n int) {
		t.Helper()
		for _, share := range must(s.Breakdown(s.ctx, batch.Scope{BatchID: s.batch.ID}, batch.ByAll))(t) {
			n += share.InDoubt
		}
		return n
	}
	empty := newShop(t)
	for range 2 {
		if n := inDoubt(empty); n != 0 {
			t.Errorf("%d in doubt before anything was inspected", n)
		}
	}
	s, _ := nuts(t, 0.03, 0.50, 0.42, 0.35)
	if n := inDoubt(s); n != 3 {
		t.Errorf("%d in doubt after the check that failed, want 3", n)
	}
	s.ok(s.clear("Mara Quill", must(s.Neck(s.ctx, serials(3)[0]))(t).ID, "measured with the beam"))
	if n := inDoubt(s); n != 2 {
		t.Errorf("%d in doubt after one was cleared, want 2", n)
	}
}
