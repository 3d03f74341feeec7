package inspect

import (
	"strings"
	"testing"
)

// TestNoGuard: a guard factor of 0 is no guard and not the default: both guarded rules are then the simple one, without anything
// undecided (JCGM 106:2012, 8; the handbook's definition). Of the good neck the bass relief's limit is put a tenth of u away.
func TestNoGuard(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	c := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: Relief, track: bass})
	inside, outside := *c.Value+*c.U/10, *c.Value-*c.U/10
	for _, rule := range []string{GuardedAcceptance, guardedRejection} {
		for _, guard := range []*float64{nil, number(1.645), number(0)} {
			s.Decision = Decision{Rule: rule, GuardFactor: guard}
			for limit, simple := range map[float64]Zone{inside: Conforming, outside: Nonconforming} {
				want := Undecided
				if guard != nil && *guard == 0 || (rule == guardedRejection) == (simple == Conforming) {
					want = simple
				}
				s.Limits = []Limit{{Characteristic: Relief, Track: bass, UpperMM: number(limit)}}
				if c := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: Relief, track: bass}); c.Zone != want {
					t.Errorf("%s, factor %s, limit %v: %s, want %s", rule, show(guard), limit, c.Zone, want)
				}
				elsewhere, err := s.JudgeElsewhere(Characteristic{Name: Relief, Track: bass, Value: c.Value, U: c.U})
				if err != nil || elsewhere.Zone != want {
					t.Errorf("%s, factor %s, limit %v, read elsewhere: %s, %v, want %s", rule, show(guard), limit, elsewhere.Zone, err, want)
				}
			}
		}
		if got := s.Decision.Words(); !strings.Contains(got, "no guard: conforming at or inside the limits") {
			t.Errorf("%s in words: %s", rule, got)
		}
	}
}

// TestDecisionWords says which limits a rule moves, and by how much.
func TestDecisionWords(t *testing.T) {
	for rule, want := range map[string]string{
		"simple": "at or inside the limits", "guarded_acceptance": "drawn in by 2 times", "guarded_rejection": "moved out by 2 times",
	} {
		if got := (Decision{Rule: rule, GuardFactor: number(2)}).Words(); !strings.Contains(got, want) {
			t.Errorf("%s in words: %s", rule, got)
		}
	}
}
