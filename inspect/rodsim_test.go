package inspect

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestLearnedRodBeatsHabit: 1,000 over-bowed necks of one model, each with a stiffness of its own that the program does not
// know (mean 0.38, standard deviation 0.05 mm per turn), brought to relief within +-0.03 mm of 0.30 mm. Steps are at most
// a quarter turn. With k learned neck after neck it takes fewer steps, and overshoots less, than always turning a quarter
// until relief is inside or past the target.
func TestLearnedRodBeatsHabit(t *testing.T) {
	const necks, target, band, u = 1000, 0.30, 0.03, 0.006
	fall := math.Sqrt2 * u
	r := rand.New(rand.NewPCG(8, 8))
	var history []RodStep
	var learned, habit, overLearned, overHabit, unfinished, never int
	var missed, predictions int
	model := RodModel{}
	for range necks {
		k := 0.38 + 0.05*r.NormFloat64()
		start := 0.42 + 0.20*r.Float64()
		inside := func(v float64) bool { return math.Abs(v-target) <= band }

		relief := start
		var own []RodStep
		for range 20 {
			seen := relief + u*r.NormFloat64()
			if inside(seen) {
				break
			}
			mean, sd := model.NewNeck()
			mean, sd = UpdateRod(mean, sd, own)
			a := AdviseRod(seen, u, target, mean, sd)
			if a.Turns == 0 {
				break
			}
			learned++
			before := relief
			relief -= k * a.Turns
			after := relief + u*r.NormFloat64()
			predictions++
			if after < a.IntervalMM[0]-2*u || after > a.IntervalMM[1]+2*u {
				missed++
			}
			if before > target && relief < target-band {
				overLearned++
			}
			direction := "tighten"
			if a.Turns < 0 {
				direction = "loosen"
			}
			own = append(own, RodStep{Turns: math.Abs(a.Turns), Direction: direction, ReliefBeforeMM: seen, ReliefAfterMM: after, UMM: &fall})
		}
		if math.Abs(relief-target) > band+3*u {
			unfinished++
		}
		history = append(history, own...)
		model = LearnRod(&Spec{}, history)

		relief = start
		settled := false
		for range 20 {
			seen := relief + u*r.NormFloat64()
			if settled = inside(seen); settled {
				break
			}
			habit++
			before := relief
			if seen > target {
				relief -= k * 0.25
			} else {
				relief += k * 0.25
			}
			if before > target && relief < target-band {
				overHabit++
			}
		}
		if !settled {
			never++
		}
	}
	t.Logf("%d necks: learned k %.1f steps per 10 necks, %d overshoots; fixed quarter turns %.1f steps per 10 necks, %d overshoots, %d necks never inside in 20 steps; model k %.3f +- %.3f",
		necks, float64(learned)/necks*10, overLearned, float64(habit)/necks*10, overHabit, never, model.MeanMM, model.SDMM)
	if learned >= habit || overLearned >= overHabit || unfinished > 0 {
		t.Errorf("learned %d steps and %d overshoots, habit %d and %d; %d unfinished", learned, overLearned, habit, overHabit, unfinished)
	}
	if math.Abs(model.MeanMM-0.38) > 0.02 {
		t.Errorf("the model learned %v mm per turn, hidden mean 0.38", model.MeanMM)
	}
	if float64(missed) > 0.05*float64(predictions) {
		t.Errorf("%d of %d predictions missed their interval", missed, predictions)
	}
}
