package inspect

import (
	"fmt"
	"math"
)

// The truss rod's effect before anything is known of the model, mm of relief per turn tightened (common practice 0.3 to
// 0.8, no source, read as two standard deviations each way), how much necks of one model differ, and the standard
// uncertainty of a fall of relief that brings none of its own (two reliefs of 0.006 each).
const (
	defaultRodMean = 0.5
	defaultRodSD   = 0.125
	rodSpread      = 0.05
	defaultFallU   = 0.009
	mostTurns      = 0.25 // at one step; common practice, no source
)

// RodModel is what is known of the truss rod's effect k in a model of neck: a Normal distribution of the model's mean
// effect, mm of relief per turn tightened. Necks differ from it with a standard deviation of 0.05. The zero value stands
// for the default, which gives a new neck a mean of 0.5 and a standard deviation of 0.125.
type RodModel struct {
	MeanMM float64 `json:"mean_mm"`
	SDMM   float64 `json:"sd_mm"`
	Pairs  int     `json:"pairs"` // that taught it
	// The ratio of what the rod does to action to what a uniform curvature would do; a deviation of 0 stands for the default, 0.82
	// with 0.12.
	ActionRatioMean float64 `json:"action_ratio_mean"`
	ActionRatioSD   float64 `json:"action_ratio_sd"`
	ActionPairs     int     `json:"action_pairs"`
}

// newRodModel is a model that gives a neck of it that has not been turned yet this mean and standard deviation.
func newRodModel(mean, sd float64) RodModel {
	return RodModel{MeanMM: mean, SDMM: math.Sqrt(sd*sd - rodSpread*rodSpread)}
}

// filled returns the default for the zero value.
func (m RodModel) filled() RodModel {
	if m.MeanMM == 0 && m.SDMM == 0 {
		usual := newRodModel(defaultRodMean, defaultRodSD)
		m.MeanMM, m.SDMM = usual.MeanMM, usual.SDMM
	}
	if m.ActionRatioSD == 0 {
		m.ActionRatioMean, m.ActionRatioSD = defaultActionRatio, defaultActionSD
	}
	return m
}

// check refuses a model that is no distribution.
func (m RodModel) check() error {
	if !(math.Abs(m.MeanMM) <= 100 && m.SDMM >= 0 && m.SDMM <= 100) {
		return fmt.Errorf("rod model: found mean %v, standard deviation %v mm per turn; allowed: finite numbers, the deviation not negative",
			m.MeanMM, m.SDMM)
	}
	if !(math.Abs(m.ActionRatioMean) <= 100 && m.ActionRatioSD >= 0 && m.ActionRatioSD <= 100) {
		return fmt.Errorf("rod model: found action ratio %v, standard deviation %v; allowed: finite numbers, the deviation not negative",
			m.ActionRatioMean, m.ActionRatioSD)
	}
	return nil
}

// NewNeck returns the distribution of k for a neck of the model that has not been turned yet: the variance of the
// model's mean and that between necks.
func (m RodModel) NewNeck() (mean, sd float64) {
	m = m.filled()
	return m.MeanMM, math.Hypot(m.SDMM, rodSpread)
}

// Neck returns the distribution of k for a neck of the model whose rod, of the specification's kind, has made these steps, oldest
// first, and how many of them taught: not those that went the wrong way, had no effect or went through a slack zone.
func (m RodModel) Neck(rod string, steps []RodStep) (mean, sd float64, taught int) {
	mean, sd = m.NewNeck()
	h := judgeRod(rod, mean, sd, steps)
	mean, sd = UpdateRod(mean, sd, h.taught)
	return mean, sd, len(h.taught)
}

// fall returns the signed turns tightened, the fall of relief and its standard uncertainty.
func (p *RodStep) fall() (turns, fall, u float64) {
	turns, u = p.Turns, defaultFallU
	if p.Direction == "loosen" {
		turns = -turns
	}
	if p.UMM != nil {
		u = *p.UMM
	}
	return turns, p.ReliefBeforeMM - p.now(), u
}

// usable reports a step that teaches something.
func (p *RodStep) usable() bool {
	t, d, u := p.fall()
	return t != 0 && u > 0 && !math.IsInf(t, 0) && !math.IsNaN(t+d+u) && !math.IsInf(d+u, 0)
}

// UpdateRod returns the Normal distribution of k after before-and-after pairs of one neck, from the prior mean and sd, mm
// per turn: 1/s'^2 = 1/s^2 + sum t^2/u^2, m' = s'^2 (m/s^2 + sum t d/u^2), t turns tightened, d the fall of relief, u its
// standard uncertainty, 0.009 mm where a pair brings none (the conjugate update of a Normal mean; A. Gelman and others,
// Bayesian Data Analysis, 3rd ed., 2013, 2.5, from memory). Pairs without turns teach nothing.
func UpdateRod(mean, sd float64, pairs []RodStep) (newMean, newSD float64) {
	return updateRod(mean, sd, 0, pairs)
}

// updateRod is UpdateRod with the spread between necks added to each pair's noise.
func updateRod(mean, sd, spread float64, pairs []RodStep) (newMean, newSD float64) {
	if sd == 0 {
		return mean, sd
	}
	weight := 1 / (sd * sd)
	sum := mean * weight
	for i := range pairs {
		if !pairs[i].usable() {
			continue
		}
		t, d, u := pairs[i].fall()
		noise := u/t*u/t + spread*spread
		weight += 1 / noise
		sum += d / t / noise
	}
	return sum / weight, 1 / math.Sqrt(weight)
}

// LearnRod returns what before-and-after pairs of necks of a model teach about it, from what is usual for its kind of instrument. Each pair's noise is
// (u/t)^2 and the variance between necks; steps of one neck (see RodStep.Neck) stand in order and are judged together: those that
// went wrong, had no effect or went through a slack zone teach nothing.
func LearnRod(s *Spec, pairs []RodStep) RodModel {
	given := *s
	given.fillDatum()
	m := s.UsualRod().filled()
	k, sd := m.NewNeck()
	for i := 0; i < len(pairs); {
		j := i + 1
		for j < len(pairs) && pairs[i].Neck != "" && pairs[j].Neck == pairs[i].Neck {
			j++
		}
		taught := judgeRod(s.Neck.Rod, k, sd, pairs[i:j]).taught
		m.MeanMM, m.SDMM = updateRod(m.MeanMM, m.SDMM, rodSpread, taught)
		for n := range taught {
			if taught[n].usable() {
				m.Pairs++
			}
			mean, sd, ok := taught[n].actionTaught(&given, m.ActionRatioMean, m.ActionRatioSD)
			if ok {
				m.ActionRatioMean, m.ActionRatioSD = mean, sd
				m.ActionPairs++
			}
		}
		i = j
	}
	if m.Pairs == 0 {
		return s.UsualRod()
	}
	return m
}

// RodAdvice is a turn of the rod and what it is expected to do.
type RodAdvice struct {
	Needed      float64    // turns to the target, positive to tighten
	Turns       float64    // advised: at most a quarter, in sixteenths, positive to tighten
	PredictedMM float64    // relief afterwards
	IntervalMM  [2]float64 // of two standard uncertainties
}

// AdviseRod returns the turn that brings relief (standard uncertainty u) towards its target, mm, when a turn takes k with
// standard deviation sd off it: turns = (relief - target)/k, at most a quarter turn either way, rounded to a sixteenth
// with halves away from zero; the interval is predicted +- 2 sqrt(u^2 + (turns sd)^2) (definition). A k of 0 or less
// moves nothing and gets no turn.
func AdviseRod(relief, u, target, k, sd float64) RodAdvice {
	var a RodAdvice
	if k > 0 {
		a.Needed = (relief - target) / k
		a.Turns = inSixteenths(max(-mostTurns, min(mostTurns, a.Needed)))
	}
	a.predict(relief, u, k, sd)
	return a
}

// predict works out relief after the turns advised.
func (a *RodAdvice) predict(relief, u, k, sd float64) {
	a.PredictedMM = relief - a.Turns*k
	half := 2 * math.Hypot(u, a.Turns*sd)
	a.IntervalMM = [2]float64{a.PredictedMM - half, a.PredictedMM + half}
}

// inSixteenths rounds turns to a sixteenth, halves away from zero.
func inSixteenths(turns float64) float64 { return math.Round(turns*16) / 16 }

// MeanRelief returns the mean relief, mm, over the tracks whose relief has a limit (every track when none has) and its
// standard uncertainty; nil when no track has a value.
func MeanRelief(res *Result) (mean *float64, u float64) {
	limited, all := meanOf(res, true), meanOf(res, false)
	if limited.n == 0 {
		limited = all
	}
	if limited.n == 0 {
		return nil, 0
	}
	v := limited.sum / float64(limited.n)
	return &v, math.Sqrt(limited.squares) / float64(limited.n)
}

// meanParts is a mean in the making.
type meanParts struct {
	sum, squares float64
	n            int
}

// meanOf sums the relief values of a result, of the limited tracks only or of all.
func meanOf(res *Result, limited bool) (m meanParts) {
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Name != Relief || c.Value == nil || limited && c.Zone == NoLimit {
			continue
		}
		m.sum += *c.Value
		m.n++
		if c.U != nil {
			m.squares += *c.U * *c.U
		}
	}
	return m
}
