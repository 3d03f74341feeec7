package signon_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/signon"
)

// Whether a name is entered is told by nothing: for one that is, one that is nobody's, a retired person's and one without a password each attempt
// computes one hash, has the same answer, and is delayed the same.
func TestNamesAreNotTold(t *testing.T) {
	s := open(t)
	s.first()
	s.enter("Per Holt", batch.Inspector)
	s.ok(s.Retire(s.sealed("Ines Vael"), "Ines Vael", "Per Holt"))
	_, err := s.AddPerson(s.sealed("Ines Vael"), "Ines Vael", "Ada Wren", batch.Inspector)
	s.ok(err)
	s.later(time.Second)
	names := []string{"Ines Vael", "Nobody Here", "Per Holt", "Ada Wren", "no\x00name", ""}
	tried := 0
	for attempt := range 12 {
		answers, computed := map[string]string{}, map[string]int64{}
		for _, name := range names {
			before := s.Computed()
			_, err := s.SignOn(t.Context(), name, "something else entirely")
			s.refused(err, batch.Unproven, "")
			answers[name], computed[name] = err.Error(), s.Computed()-before
		}
		for _, name := range names[1:] {
			if answers[name] != answers[names[0]] || computed[name] != computed[names[0]] {
				t.Errorf("attempt %d: %q is told %q after %d hashes, %q is told %q after %d", attempt, name, answers[name], computed[name], names[0], answers[names[0]], computed[names[0]])
			}
		}
		if computed[names[0]] == 1 {
			tried++
		}
		s.later(time.Duration(attempt) * 3 * time.Second)
	}
	if tried < 4 || tried == 12 {
		t.Errorf("%d of 12 attempts were tried", tried)
	}
}

// However many names are tried, a bounded number is remembered, the newest among them.
func TestNamesOfNobodyAreForgotten(t *testing.T) {
	s := open(t)
	for i := range signon.MostStrangers + 5 {
		_, err := s.SignOn(t.Context(), fmt.Sprintf("Nobody %d", i), good)
		s.refused(err, batch.Unproven, "do not belong together")
		s.later(time.Millisecond)
	}
	if n := s.Strangers(); n != signon.MostStrangers {
		t.Errorf("%d are remembered", n)
	}
	last := fmt.Sprintf("Nobody %d", signon.MostStrangers+4)
	for range 2 {
		_, err := s.SignOn(t.Context(), last, good)
		s.refused(err, batch.Unproven, "do not belong together")
	}
	_, err := s.SignOn(t.Context(), last, good)
	s.refused(err, batch.Unproven, "3 attempts in a row failed; the next one is taken in 6 s")
}

// Where more people sign on at once than the machine computes for, who comes next is refused with a sentence and nothing is kept of them; those who
// wait go on. For one name it is the same.
func TestTooManyAtOnce(t *testing.T) {
	for _, same := range []bool{false, true} {
		s := open(t)
		s.first()
		free := s.Occupy()
		name := func(i int) string {
			if same {
				return "Nobody Here"
			}
			return fmt.Sprintf("Nobody %d", i)
		}
		var all sync.WaitGroup
		errs := make(chan error, signon.MostWaiting+1)
		for i := range signon.MostWaiting + 1 {
			all.Go(func() {
				_, err := s.SignOn(t.Context(), name(i), good)
				errs <- err
			})
		}
		err := <-errs // while none is computed, only who is refused comes back
		s.refused(err, batch.Unproven, "too many people are signing on at once; try again in a moment")
		free()
		all.Wait()
		close(errs)
		for err := range errs {
			if strings.Contains(err.Error(), "too many") {
				t.Errorf("who waited was refused: %v", err)
			}
		}
		if s.Waiting() != 0 {
			t.Errorf("%d still wait", s.Waiting())
		}
		if _, err := s.SignOn(t.Context(), "Ines Vael", good); err != nil {
			t.Errorf("afterwards: %v", err)
		}
	}
}

// One code that several browsers send at once lets one of them choose.
func TestACodeIsUsedOnce(t *testing.T) {
	s := open(t)
	s.first()
	s.later(time.Second)
	code, _, err := s.Service.IssueCode(t.Context(), batch.AtTheMachine, "Ines Vael")
	s.ok(err)
	var all sync.WaitGroup
	errs := make(chan error, 8)
	for range cap(errs) {
		all.Go(func() {
			_, err := s.Service.UseCode(t.Context(), code, "", good+" again", "")
			errs <- err
		})
	}
	all.Wait()
	close(errs)
	used := 0
	for err := range errs {
		if err == nil {
			used++
			continue
		}
		s.refused(err, batch.Unproven, "used already")
	}
	if used != 1 {
		t.Errorf("the code was used %d times", used)
	}
}
