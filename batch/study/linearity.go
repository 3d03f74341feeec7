package study

import (
	"fmt"
	"math"
	"slices"
)

// Comparison is one reading of a reference value.
type Comparison struct{ Reference, Value float64 }

// LinearityResult is the straight line bias = intercept + slope * reference through the biases of single readings, and the
// bias at each reference. Nil pointers are not defined: R2 where all biases are equal, probabilities where the line fits
// without a residual or only two readings there are.
type LinearityResult struct {
	Slope      float64  `json:"slope"`
	Intercept  float64  `json:"intercept"`
	R2         *float64 `json:"r2"`
	PSlope     *float64 `json:"p_slope"` // two-sided, n - 2 degrees of freedom, as the next
	PIntercept *float64 `json:"p_intercept"`
	Bias       []BiasAt `json:"bias"` // rising in reference

	Fit Line `json:"-"`
}

// BiasAt is the bias at one reference value; T and P, by the readings of that reference alone with n - 1 degrees of
// freedom, are nil with one reading or equal ones.
type BiasAt struct {
	Reference float64  `json:"reference"`
	N         int      `json:"n"`
	Bias      float64  `json:"bias"`
	T         *float64 `json:"t"`
	P         *float64 `json:"p"`
}

// Linearity evaluates readings of several reference values. Errors: a value that is no number, fewer than two different
// references, fewer than three readings. Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010),
// chapter III section B, guidelines for determining linearity.
func Linearity(comparisons []Comparison) (LinearityResult, error) {
	x, y := make([]float64, len(comparisons)), make([]float64, len(comparisons))
	groups := map[float64][]float64{}
	for i, c := range comparisons {
		if err := checkFinite(i, "reference", c.Reference); err != nil {
			return LinearityResult{}, err
		}
		if err := checkFinite(i, "value", c.Value); err != nil {
			return LinearityResult{}, err
		}
		x[i], y[i] = c.Reference, c.Value-c.Reference
		groups[c.Reference] = append(groups[c.Reference], c.Value)
	}
	if len(groups) < 2 || len(x) < 3 {
		return LinearityResult{}, fmt.Errorf("linearity needs at least 2 different references and 3 readings; found %d and %d", len(groups), len(x))
	}
	fit, err := FitLine(x, y)
	if err != nil {
		return LinearityResult{}, err
	}
	r := LinearityResult{Slope: fit.Slope, Intercept: fit.Intercept, R2: fit.R2, PSlope: fit.PSlope, PIntercept: fit.PIntercept, Fit: fit}
	references := make([]float64, 0, len(groups))
	for reference := range groups {
		references = append(references, reference)
	}
	slices.Sort(references)
	for _, reference := range references {
		b, err := biasOf(groups[reference], reference)
		if err != nil {
			return LinearityResult{}, err
		}
		r.Bias = append(r.Bias, BiasAt{reference, b.n, b.bias, b.t, b.p})
	}
	return r, nil
}

// Line is a straight line y = Intercept + Slope x fitted by least squares, with the standard errors of both and the
// residual standard deviation S on n - 2 degrees of freedom. Nil pointers are not defined.
type Line struct {
	Slope, Intercept     float64
	SESlope, SEIntercept float64
	S                    float64
	R2                   *float64 // 1 - residual over total sum of squares
	PSlope, PIntercept   *float64
	N                    int
	MeanX, SSX           float64 // mean of x and sum of squared deviations from it
}

// Band is half the width of the 95 % confidence interval of the line's height at x; NaN with two points.
func (l Line) Band(x float64) float64 {
	d := x - l.MeanX
	return tQuantile(0.95, float64(l.N-2)) * l.S * math.Sqrt(1/float64(l.N)+d*d/l.SSX)
}

// FitLine fits a straight line to points with at least two different x by least squares, from deviations of x and y from
// their means. Source: NIST/SEMATECH e-Handbook of Statistical Methods, section 4.4.3.1.
func FitLine(x, y []float64) (Line, error) {
	if len(x) != len(y) || len(x) < 2 {
		return Line{}, fmt.Errorf("a line needs at least two points; found %d x and %d y", len(x), len(y))
	}
	mx, sxx := Moments(x)
	my, syy := Moments(y)
	if !(sxx > 0) {
		return Line{}, fmt.Errorf("a line needs two different x that squares can tell apart; found a spread of %v", Range(x))
	}
	sxy := 0.0
	for i := range x {
		sxy += (x[i] - mx) * (y[i] - my)
	}
	l := Line{Slope: sxy / sxx, N: len(x), MeanX: mx, SSX: sxx}
	l.Intercept = my - l.Slope*mx
	residual := 0.0
	for i := range x {
		e := (y[i] - my) - l.Slope*(x[i]-mx)
		residual += e * e
	}
	if math.IsInf(sxx, 0) || math.IsInf(syy, 0) || math.IsNaN(l.Intercept) || math.IsInf(l.Intercept, 0) || math.IsNaN(residual) {
		return Line{}, errOverflow()
	}
	largest := max(math.Abs(my)+Range(y), math.Abs(l.Slope)*(math.Abs(mx)+Range(x)))
	if rounding := 4 * 0x1p-52 * largest; residual <= float64(l.N)*rounding*rounding {
		residual = 0
	}
	if syy > 0 {
		l.R2 = Defined(1 - residual/syy)
	}
	if df := float64(l.N - 2); df > 0 {
		l.S = math.Sqrt(residual / df)
		l.SESlope = l.S / math.Sqrt(sxx)
		l.SEIntercept = l.S * math.Sqrt(1/float64(l.N)+mx*mx/sxx)
		l.PSlope = Defined(tTails(l.Slope/l.SESlope, df))
		l.PIntercept = Defined(tTails(l.Intercept/l.SEIntercept, df))
	}
	return l, nil
}
