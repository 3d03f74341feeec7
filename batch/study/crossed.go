package study

import (
	"fmt"
	"math"
)

// Method names how a crossed study is evaluated.
type Method string

// The two methods of a crossed study.
const (
	ANOVA           Method = "anova" // analysis of variance, which separates the interaction of part and appraiser
	AverageAndRange Method = "range" // average and range, for work by hand; it leaves the interaction in the others
)

// Options of a crossed study. The zero value is ANOVA without a tolerance.
type Options struct {
	Method    Method
	Tolerance float64 // width of the tolerance that the gauge judges, in the readings' unit; 0: none
}

// CrossedResult is a crossed study's result. EV to TV are standard deviations in the readings' unit; TV^2 is the sum of
// the squares of EV, AV, Interaction and PV. Percents are 0 to 100. A nil pointer is a quantity that is not defined.
type CrossedResult struct {
	EV          float64  `json:"ev"`          // equipment variation: repeatability
	AV          float64  `json:"av"`          // appraiser variation: reproducibility without the interaction
	Interaction *float64 `json:"interaction"` // of part and appraiser; 0 where pooled; nil by average and range, which does not estimate it
	GRR         float64  `json:"grr"`         // gauge: sqrt(EV^2 + AV^2 + Interaction^2)
	PV          float64  `json:"pv"`          // part variation
	TV          float64  `json:"tv"`          // total: sqrt(GRR^2 + PV^2)

	PercentGRR          *float64 `json:"percent_grr"`           // 100 GRR/TV
	PercentPV           *float64 `json:"percent_pv"`            // 100 PV/TV
	VarianceShareGRR    *float64 `json:"variance_share_grr"`    // 100 GRR^2/TV^2
	PercentToleranceGRR *float64 `json:"percent_tolerance_grr"` // 100 * 6 GRR/tolerance
	NDC                 *int     `json:"ndc"`                   // number of distinct categories: floor(1.41 PV/GRR)
	Pooled              bool     `json:"pooled"`                // the interaction was pooled into repeatability
	Table               []Source `json:"anova"`                 // empty by average and range

	Method     Method               `json:"-"`
	Parts      []string             `json:"-"` // in the order of their first appearance, as the appraisers and trials
	Appraisers []string             `json:"-"`
	Trials     []string             `json:"-"`
	Intervals  map[string]*Interval `json:"-"` // 95 % for the standard deviations ev, av, interaction, grr, pv; ANOVA only
	// InteractionP is the p of the interaction's F test before any pooling; nil where there was none.
	InteractionP *float64 `json:"-"`
}

// Crossed evaluates a crossed study: every appraiser measures every part the same number of times. One appraiser is
// allowed; AV and the interaction are 0 then. Errors: see newGrid (no number, empty label, a cell twice or missing,
// fewer than two parts or trials), and options out of range.
//
// By analysis of variance with parts and appraisers random: the mean squares of part P, appraiser A, interaction I and
// repeatability E, of p parts, o appraisers and r trials, give the variances
//
//	repeatability E; interaction (I - E)/r; appraiser (A - I)/(p r); part (P - I)/(o r)
//
// a negative one becoming 0. Where the interaction's p is above 0.25 it is pooled with E, and the pooled mean square
// takes the place of I and E. By average and range, with K1 = 1/d2(r), K2 = 1/d2*(o, 1), K3 = 1/d2*(p, 1):
//
//	EV = K1 mean range; AV = sqrt((K2 range of appraiser means)^2 - EV^2/(p r)); PV = K3 range of part means
//
// Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010), chapter III section B and Appendix A.
func Crossed(measurements []Measurement, o Options) (CrossedResult, error) {
	if o.Method == "" {
		o.Method = ANOVA
	}
	if o.Method != ANOVA && o.Method != AverageAndRange {
		return CrossedResult{}, OptionError{"method", fmt.Sprintf("found %q; allowed: anova or range", o.Method)}
	}
	if o.Tolerance != 0 {
		if err := checkPositive("tolerance", o.Tolerance); err != nil {
			return CrossedResult{}, err
		}
	}
	g, err := newGrid(measurements, crossedStudy)
	if err != nil {
		return CrossedResult{}, err
	}
	if g.largest > 1e150 {
		return CrossedResult{}, errOverflow()
	}
	r := CrossedResult{Method: o.Method, Parts: g.parts, Appraisers: g.appraisers, Trials: g.trials, Table: []Source{}}
	if o.Method == ANOVA {
		r.byVariance(g)
	} else {
		r.byRange(g)
	}
	r.shares(o.Tolerance)
	return r, nil
}

// shares fills what follows from EV, AV, Interaction and PV.
func (r *CrossedResult) shares(tolerance float64) {
	interaction := 0.0
	if r.Interaction != nil {
		interaction = *r.Interaction
	}
	r.GRR = math.Hypot(math.Hypot(r.EV, r.AV), interaction)
	r.TV = math.Hypot(r.GRR, r.PV)
	if r.TV > 0 {
		r.PercentGRR = Defined(100 * r.GRR / r.TV)
		r.PercentPV = Defined(100 * r.PV / r.TV)
		r.VarianceShareGRR = Defined(100 * (r.GRR / r.TV) * (r.GRR / r.TV))
	}
	if tolerance > 0 {
		r.PercentToleranceGRR = Defined(100 * 6 * r.GRR / tolerance)
	}
	if ratio := 1.41 * r.PV / r.GRR; r.GRR > 0 && ratio < 1e15 {
		ndc := int(ratio)
		r.NDC = &ndc
	}
}

// byRange fills the standard deviations by average and range.
func (r *CrossedResult) byRange(g *grid) {
	p, o, n := len(g.parts), len(g.appraisers), len(g.trials)
	ranges := 0.0
	byPart, byAppraiser := make([][]float64, p), make([][]float64, o)
	for i := range g.parts {
		for j := range g.appraisers {
			cell := g.cell(i, j)
			ranges += Range(cell)
			byPart[i] = append(byPart[i], cell...)
			byAppraiser[j] = append(byAppraiser[j], cell...)
		}
	}
	r.EV = ranges / float64(p*o) / D2(n)
	if o > 1 {
		between := Range(means(byAppraiser)) / D2Star(o, 1)
		r.AV = math.Sqrt(max(0, between*between-r.EV*r.EV/float64(p*n)))
	}
	r.PV = Range(means(byPart)) / D2Star(p, 1)
}

func means(groups [][]float64) []float64 {
	m := make([]float64, len(groups))
	for i, g := range groups {
		m[i], _ = Moments(g)
	}
	return m
}
