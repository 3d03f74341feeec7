package inspect

import "math"

// The ratio of what a step of the rod does to action to what a uniform curvature before the joint would do, before anything is
// known of the model: worked out with the heel's stiffness over the last three frets and a bending moment that peaks in mid-neck
// (0.74 to 0.89 for joints at frets 12 to 17).
const (
	defaultActionRatio = 0.82
	defaultActionSD    = 0.12
	actionSigmas       = 4.0 // a fall of relief that teaches it is greater than so many standard uncertainties
)

// ActionRatio returns the distribution of the ratio for the model.
func (m RodModel) ActionRatio() (mean, sd float64) {
	m = m.filled()
	return m.ActionRatioMean, m.ActionRatioSD
}

// UpdateActionRatio returns the Normal distribution of the ratio r after one step of the rod: relief fell by fall (standard
// uncertainty uFall), the action by drop (uDrop), mm; factor is the change of action for one of relief by a uniform curvature.
// r_obs = drop/(factor fall), noise (uDrop/(factor fall))^2 + (r uFall/fall)^2 (the conjugate update of a Normal mean; A. Gelman
// and others, Bayesian Data Analysis, 3rd ed., 2013, 2.5, from memory). A fall of no more than four standard uncertainties, or of
// no effect on action, teaches nothing.
func UpdateActionRatio(mean, sd, factor, fall, uFall, drop, uDrop float64) (newMean, newSD float64) {
	whole := factor * fall
	if sd == 0 || whole == 0 || !(math.Abs(fall) > actionSigmas*uFall) {
		return mean, sd
	}
	noise := uDrop/whole*uDrop/whole + mean*uFall/fall*mean*uFall/fall
	if !(noise > 0) || math.IsInf(noise, 0) || math.IsNaN(drop) {
		return mean, sd
	}
	weight, more := 1/(sd*sd), 1/noise
	return (mean*weight + drop/whole*more) / (weight + more), 1 / math.Sqrt(weight+more)
}

// actionPerCurvature is the change of an open string's action over a fret for a uniform curvature of 1/mm before the joint:
// x_b^2/2 (1 - x_f/L) - (x_b - x_f)^2/2, the second square only before the joint, x_b and x_f counted from the string's own nut and L
// its own scale (definition).
func (s *Spec) actionPerCurvature(l Line, fret int) float64 {
	xb, xf := l.At(s.Datum.SecondFret)-l.Nut, l.At(fret)-l.Nut
	tip := max(xb-xf, 0)
	return (xb*xb*(1-xf/l.Scale()) - tip*tip) / 2
}

// meanReliefPerCurvature is the mean of reliefPerCurvature at the relief fret over tracks.
func (s *Spec) meanReliefPerCurvature(lines []Line) float64 {
	var sum float64
	for _, l := range lines {
		sum += s.reliefPerCurvature(l, s.Datum.ReliefFret)
	}
	return sum / float64(len(lines))
}

// reliefToAction is the change of an open string's action over a fret for a change by 1 of the mean relief over the tracks that
// "each" stands for.
func (s *Spec) reliefToAction(number, fret int) float64 {
	f, t := s.Fan(), s.FindString(number)
	if t == nil {
		return 0
	}
	lines := []Line{}
	for _, name := range s.TrackNames() {
		lines = append(lines, f.Track(s, name))
	}
	return s.actionPerCurvature(f.Line(t.YNutMM, t.YSaddleMM), fret) / s.meanReliefPerCurvature(lines)
}

// actionTaught updates the ratio by a step with heights of strings before and after it: their mean change against the mean factor.
func (p *RodStep) actionTaught(s *Spec, mean, sd float64) (newMean, newSD float64, ok bool) {
	_, fall, u := p.fall()
	var drop, squares, factor float64
	n := float64(len(p.Action))
	for _, a := range p.Action {
		uDrop := u
		if a.UMM != nil {
			uDrop = *a.UMM
		}
		drop += (a.BeforeMM - a.AfterMM) / n
		squares += uDrop / n * uDrop / n
		factor += s.reliefToAction(a.String, a.Fret) / n
	}
	if n == 0 || !p.usable() {
		return mean, sd, false
	}
	newMean, newSD = UpdateActionRatio(mean, sd, factor, fall, u, drop, math.Sqrt(squares))
	return newMean, newSD, newSD < sd
}
