package inspect

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestStraightMove: against a fine grid of moves, on strings drawn at random: none on the grid that serves every string misses less.
func TestStraightMove(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	served, bound := 0, 0
	for range 200 {
		var all []bridged
		level, slope := -0.5+0.4*random.NormFloat64(), 0.6*random.NormFloat64()
		for i := range 6 {
			wanted := level + slope*float64(i)/5 + 0.15*random.NormFloat64()
			all = append(all, bridged{float64(i) / 5, wanted, wanted - 0.5*random.Float64(), wanted + 0.5*random.Float64()})
		}
		for _, lower := range []bool{false, true} {
			m, ok := straightMove(all, lower)
			best := math.Inf(1)
			for a := -2.5; a <= 2.5; a += 0.02 {
				for b := -2.5; b <= 2.5; b += 0.02 {
					try := bridgeMove{a, b}
					inside := !lower || a <= 0 && b <= 0
					for _, s := range all {
						inside = inside && try.at(s.share) <= s.most && try.at(s.share) >= s.least
					}
					if inside {
						best = min(best, missed(all, try))
					}
				}
			}
			switch {
			case !ok && !math.IsInf(best, 1):
				t.Fatalf("no move for %+v, and the grid has one that misses %v", all, best)
			case ok && missed(all, m) > best+1e-9:
				t.Fatalf("%+v misses %v, the grid's best %v for %+v", m, missed(all, m), best, all)
			case ok:
				served++
			}
			if ok && lower && (m.bass > 1e-9 || m.treble > 1e-9) {
				t.Fatalf("upwards: %+v", m)
			}
			if ok {
				free, _ := straightMove(all, false)
				if lower && free != m {
					bound++
				}
			}
		}
	}
	t.Logf("%d of 400 have a move, %d of them another one because material is only taken off", served, bound)
	if served < 50 || bound == 0 {
		t.Error("the draws show too little")
	}
}

// saddled is a neck whose actions over fret 12 are its limits' targets and, from bass to treble, so much more, mm.
func saddled(t *testing.T, bridge string, above ...float64) (*Spec, *Readings) {
	t.Helper()
	s, r := readNeck(t, "W1-good-neck")
	s.Neck.Bridge = bridge
	s.Limits = nil
	for i := range r.Action {
		h := &r.Action[i]
		target := 1.6 + 0.06*float64(h.String-1)
		s.Limits = append(s.Limits, Limit{Characteristic: Action, String: NumberIndex(h.String), Fret: NumberIndex(h.Fret),
			LowerMM: number(target - 0.2), TargetMM: &target, UpperMM: number(target + 0.2)})
		h.HeightMM = target + above[len(above)-h.String]
	}
	return s, r
}

// TestOneSaddle: one saddle is shaved by a slope and a height, which bring strings that ask for a straight move exactly to their
// targets; strings that ask for more than it can give are told so, and a saddle is never told to grow.
func TestOneSaddle(t *testing.T) {
	advise := func(t *testing.T, s *Spec, r *Readings) (a Advice, words string) {
		t.Helper()
		res := mustEvaluate(t, s, r, Options{})
		if len(res.Advice) != 1 || res.Advice[0].What != StepAction {
			t.Fatalf("%+v", res.Advice)
		}
		return res.Advice[0], AdviceWords(s, res.Advice[0])
	}
	t.Run("a slope and a height", func(t *testing.T) {
		// The strings stand across the saddle from 0 (bass) to 1 in even steps; twice the action's excess is taken off there.
		s, r := saddled(t, OneSaddle, 0.5, 0.46, 0.42, 0.38, 0.34, 0.3)
		a, words := advise(t, s, r)
		if math.Abs(*a.Items[0].AmountMM+1.0) > 1e-3 || math.Abs(*a.Items[1].AmountMM+0.6) > 1e-3 {
			t.Errorf("%s", words)
		}
		if want := "set the action: bass end down 1.00 mm (off the saddle's underside); treble end down 0.60 mm (off the saddle's underside)"; words != want {
			t.Errorf("%q", words)
		}
		if len(a.Predicted) != 6 {
			t.Errorf("%d actions predicted", len(a.Predicted))
		}
		for _, p := range a.Predicted {
			if target := 1.6 + 0.06*float64(p.String-1); math.Abs(p.Value-target) > 1e-3 || p.Zone != Conforming {
				t.Errorf("string %d: %v, target %v", p.String, p.Value, target)
			}
		}
	})
	t.Run("treble already low", func(t *testing.T) {
		// Straight lines that serve the bass would take the treble below its target: as little as the limits allow.
		s, r := saddled(t, OneSaddle, 0.6, 0.3, 0.1, 0, -0.05, -0.1)
		a, words := advise(t, s, r)
		if *a.Items[0].AmountMM >= 0 || *a.Items[1].AmountMM > 0 || strings.Contains(words, "up") {
			t.Errorf("%s", words)
		}
		for _, p := range a.Predicted {
			if p.Zone != Conforming {
				t.Errorf("string %d is predicted %v", p.String, p.Value)
			}
		}
	})
	t.Run("too low", func(t *testing.T) {
		s, r := saddled(t, OneSaddle, -0.4, -0.4, -0.4, -0.4, -0.4, -0.4)
		_, words := advise(t, s, r)
		if !strings.Contains(words, "bass end up 0.80 mm (a higher saddle, or a shim under it: nothing can be put on)") {
			t.Errorf("%s", words)
		}
	})
	t.Run("its top is wrong", func(t *testing.T) {
		s, r := saddled(t, OneSaddle, 0, 0, 0.6, -0.1, 0, 0)
		a, words := advise(t, s, r)
		if !strings.Contains(a.Why, "No straight move brings every string inside: after it action, string 4, fret 12, open is") {
			t.Errorf("%s\n%s", words, a.Why)
		}
	})
	t.Run("two posts rise", func(t *testing.T) {
		s, r := saddled(t, TwoPosts, -0.4, -0.36, -0.32, -0.28, -0.24, -0.2)
		_, words := advise(t, s, r)
		if want := "set the action: bass end up 0.80 mm (at its post); treble end up 0.40 mm (at its post)"; words != want {
			t.Errorf("%q", words)
		}
	})
	t.Run("each saddle for itself", func(t *testing.T) {
		s, r := saddled(t, "", 0.5, 0, 0, 0, 0, 0)
		if _, words := advise(t, s, r); words != "set the action: string 6 saddle down 1.00 mm" {
			t.Errorf("%q", words)
		}
	})
}
