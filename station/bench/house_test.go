package bench

import (
	"regexp"
	"testing"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// TestABuilderIsRefusedInOwnWords: nothing that the tables of refusals say to do has a factory's words in a builder's house, and a factory's are as they
// stand there.
func TestABuilderIsRefusedInOwnWords(t *testing.T) {
	factory := regexp.MustCompile(`(?i)\b(batch|attempt|rework|inspects?|inspection|necks?|concession|disposition)\b`)
	own, theirs := tell.WordsOf(batch.Builder), tell.WordsOf(batch.Factory)
	see := func(where any, todo string) {
		t.Helper()
		if word := factory.FindString(own.Say(todo)); word != "" {
			t.Errorf("%v: %q in %q", where, word, own.Say(todo))
		}
		if said := theirs.Say(todo); said != todo {
			t.Errorf("%v: a factory hears %q", where, said)
		}
	}
	for c, r := range rules {
		for _, todo := range r.instead {
			see(c, todo)
		}
	}
	for on, todo := range advice {
		see(on, todo)
	}
}

// TestTheBenchLearnsOfTheHouse: for whom the record is kept is known at the start, and when it changes.
func TestTheBenchLearnsOfTheHouse(t *testing.T) {
	s := open(t)
	s.refused(s.bench.Take(s.ctx), "no neck is on the bench")
	s.ok(s.db.SetHouse(s.ctx, "Mara Quill", batch.Builder))
	s.ok(s.bench.ReloadShop(s.ctx))
	s.refused(s.bench.Take(s.ctx), "no instrument is on the bench")
	s.restart()
	s.refused(s.bench.Take(s.ctx), "no instrument is on the bench")
}
