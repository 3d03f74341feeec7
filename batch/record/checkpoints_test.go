package record

import (
	"database/sql"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch/anchor"
	"sagitta/inspect"
)

func newKey(t *testing.T) *anchor.Key {
	t.Helper()
	return must(anchor.ReadKey(must(anchor.NewKey("bench 1"))(t)))(t)
}

// signed signs what the record is now, and keeps it.
func (s *shop) signed(t *testing.T, k *anchor.Key) anchor.Checkpoint {
	t.Helper()
	size, root, err := s.TreeHead(s.ctx)
	s.ok(err)
	c := must(k.Sign(size, root, s.now()))(t)
	s.ok(s.KeepCheckpoint(s.ctx, c))
	return c
}

// The newest checkpoint is what was kept last, and none before that; keeping one adds nothing to the tree.
func TestNewestCheckpoint(t *testing.T) {
	s := newShop(t, serials(1)...)
	if c, err := s.NewestCheckpoint(s.ctx); c != nil || err != nil {
		t.Fatalf("%+v, %v; want none", c, err)
	}
	k := newKey(t)
	s.ok(s.UseKey(s.ctx, k.Public))
	s.signed(t, k)
	s.start("QM-2611-0001")
	want := s.signed(t, k)
	got := must(s.NewestCheckpoint(s.ctx))(t)
	if got == nil || *got != want || got.Verify(k.Public) != nil {
		t.Errorf("%+v, want %+v", got, want)
	}
	if size, root, err := s.TreeHead(s.ctx); err != nil || size != want.Size || root != want.Root {
		t.Errorf("the tree has %d entries with the root %v, %v; want %d, %v", size, root, err, want.Size, want.Root)
	}
	s.ok(s.VerifyAudit(s.ctx))
	events := must(s.Audit(s.ctx, 0))(t)
	found := false
	for _, e := range events {
		found = found || e.What == auditKey && e.Detail == k.Public
	}
	if !found {
		t.Error("the trail does not name the key")
	}
}

// Verdicts, a closed batch and an audit's result ask for a checkpoint; readings do not.
func TestWhatAsksForACheckpoint(t *testing.T) {
	s := newShop(t, serials(1)...)
	asked := func() bool {
		select {
		case <-s.ToSign():
			return true
		default:
			return false
		}
	}
	in := s.start("QM-2611-0001")
	s.read(in, 1, 0.1)
	if asked() {
		t.Error("a reading asks for a checkpoint")
	}
	s.verdict(in, inspect.Pass, 0.1, 0.5)
	s.verdict(in, inspect.Pass, 0.1, 0.5)
	if !asked() || asked() {
		t.Error("two verdicts do not ask once")
	}
	s.ok(s.CloseBatch(s.ctx, "Mara Quill", s.batch.Number))
	if !asked() {
		t.Error("a closed batch does not ask")
	}
}

// A record continues its checkpoints while it grows; one that is shorter, and one whose first entries are others, does not.
func TestBeside(t *testing.T) {
	s := newShop(t, serials(1)...)
	k := newKey(t)
	s.ok(s.UseKey(s.ctx, k.Public))
	c := s.signed(t, k)
	in := s.start("QM-2611-0001")
	s.read(in, 1, 0.1)
	size, root, err := s.TreeHead(s.ctx)
	s.ok(err)
	long := must(k.Sign(size+10, root, s.now()))(t)
	other := must(k.Sign(c.Size, tlog.RecordHash([]byte("x")), s.now()))(t)
	for _, d := range []struct {
		anchor.Checkpoint
		short, other bool
	}{{c, false, false}, {other, false, true}, {long, true, false}} {
		got := must(s.Beside(s.ctx, d.Checkpoint))(t)
		now, _, err := s.TreeHead(s.ctx)
		s.ok(err)
		if want := (anchor.Beside{Checkpoint: d.Checkpoint, Entries: now, Short: d.short, Other: d.other, Unkept: d.short || d.other}); got != want {
			t.Errorf("%+v, want %+v", got, want)
		}
		if got.Short || got.Other {
			s.ok(s.NoteNotSigned(s.ctx, got))
			if e := must(s.Audit(s.ctx, 1))(t)[0]; e.What != auditNotSigned || e.Detail != d.Note {
				t.Errorf("the trail says %+v", e)
			}
		}
	}
	s.ok(s.VerifyAudit(s.ctx))
}

// Checkpoints that are kept in the record are compared with its tree, and their keys with the trail.
func TestKeptCheckpointsAreVerified(t *testing.T) {
	s := newShop(t, serials(1)...)
	k := newKey(t)
	s.ok(s.UseKey(s.ctx, k.Public))
	c := s.signed(t, k)
	s.ok(s.VerifyAudit(s.ctx))
	other := newKey(t)
	for _, e := range []struct {
		name  string
		c     anchor.Checkpoint
		words string
	}{
		{"another root", must(k.Sign(c.Size, tlog.RecordHash(nil), s.now()))(t), "signs other entries"},
		{"more than there is", must(k.Sign(c.Size+9, c.Root, s.now()))(t), "the end was cut off"},
		{"another key", must(other.Sign(c.Size, c.Root, s.now()))(t), "which the trail does not name"},
		{"altered", anchor.Checkpoint{Size: c.Size, Note: strings.Replace(c.Note, "at 20", "at 10", 1)}, "its signature is not valid"},
		{"another size", anchor.Checkpoint{Size: c.Size, Note: must(k.Sign(c.Size+1, c.Root, s.now()))(t).Note}, "it stands there for"},
		{"out of turn", anchor.Checkpoint{Size: 1, Note: c.Note}, "not there in its turn"},
		{"no checkpoint", anchor.Checkpoint{Size: c.Size, Note: "x"}, "this is no checkpoint"},
	} {
		s.aside(t, func(tx *sql.Tx) error {
			_, err := tx.Exec(`INSERT INTO checkpoints SELECT max(ord) + 1, ?, ? FROM checkpoints`, e.c.Size, e.c.Note)
			return err
		}, func(tx *sql.Tx) { wantErr(t, verifyEvidence(s.ctx, tx), ErrAudit, e.words) })
	}
}
