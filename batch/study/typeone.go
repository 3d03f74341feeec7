package study

import (
	"fmt"
	"math"
)

// TypeOneLeast is the number of readings below which a type-1 study says that there are few.
// Source: ISO 22514-7:2021 (type-1 study: at least 25, better 50; from memory).
const TypeOneLeast = 25

// Capable is the least Cg and Cgk of a gauge that is called capable: common practice, no source.
const Capable = 1.33

// FinestStep is the percent of the tolerance that a gauge's smallest step may be. Source: ISO 22514-7:2021 (from memory).
const FinestStep = 5

// TypeOneOptions are a type-1 study's settings. Zero Share and Spread take 0.2 and 6.
type TypeOneOptions struct {
	Reference  float64 // the master's value
	Tolerance  float64 // width of the tolerance; 0: none, then Cg and Cgk are not defined
	Resolution float64 // the gauge's smallest step; 0: not known
	Share      float64 // share of the tolerance that the gauge may take
	Spread     float64 // standard deviations that the gauge's spread is taken as
}

// TypeOneResult is a type-1 study's result; nil pointers are not defined.
type TypeOneResult struct {
	N    int      `json:"n"`
	Mean float64  `json:"mean"`
	SD   float64  `json:"sd"`
	Bias float64  `json:"bias"` // mean less reference
	T    *float64 `json:"t"`    // the bias over its standard error sd/sqrt(n), with the sign of the bias
	P    *float64 `json:"p"`    // two-sided, n - 1 degrees of freedom: probability of so large a t without bias
	Cg   *float64 `json:"cg"`
	Cgk  *float64 `json:"cgk"`

	BiasInterval *Interval `json:"-"` // 95 %, by Student's t
	StepShare    *float64  `json:"-"` // percent of the tolerance that the gauge's smallest step takes; nil without either
}

// TypeOne evaluates repeated readings of one master. With s the standard deviation of the readings and T the tolerance,
//
//	Cg = Share T/(Spread s);  Cgk = (Share/2 T - |bias|)/(Spread/2 s)
//
// Equal readings have sd exactly 0 and Cg, Cgk, T and P not defined. Errors: fewer than two readings, a value that is no
// number, an option out of range. Source: ISO 22514-7:2021, type-1 study; t test of the bias: Measurement Systems Analysis
// reference manual (AIAG, 4th ed., 2010), chapter III section B, with the sample standard deviation.
func TypeOne(values []float64, o TypeOneOptions) (TypeOneResult, error) {
	if o.Share == 0 {
		o.Share = 0.2
	}
	if o.Spread == 0 {
		o.Spread = 6
	}
	switch {
	case math.IsNaN(o.Reference) || math.IsInf(o.Reference, 0):
		return TypeOneResult{}, OptionError{"reference", fmt.Sprintf("found %v; allowed: a finite number", o.Reference)}
	case !(o.Share > 0 && o.Share <= 1):
		return TypeOneResult{}, OptionError{"share", fmt.Sprintf("found %v; allowed: above 0, at most 1 (a fraction of the tolerance)", o.Share)}
	}
	if err := checkPositive("spread", o.Spread); err != nil {
		return TypeOneResult{}, err
	}
	if o.Tolerance != 0 {
		if err := checkPositive("tolerance", o.Tolerance); err != nil {
			return TypeOneResult{}, err
		}
	}
	b, err := biasOf(values, o.Reference)
	if err != nil {
		return TypeOneResult{}, err
	}
	if b.n < 2 {
		return TypeOneResult{}, fmt.Errorf("a type-1 study needs at least 2 readings, better %d or more; found %d", TypeOneLeast, b.n)
	}
	r := TypeOneResult{N: b.n, Mean: b.mean, SD: b.sd, Bias: b.bias, T: b.t, P: b.p}
	if o.Tolerance > 0 && o.Resolution > 0 {
		r.StepShare = Defined(100 * o.Resolution / o.Tolerance)
	}
	if b.sd > 0 {
		half := tQuantile(0.95, float64(b.n-1)) * b.sd / math.Sqrt(float64(b.n))
		r.BiasInterval = &Interval{b.bias - half, b.bias + half}
		if o.Tolerance > 0 {
			r.Cg = Defined(o.Share * o.Tolerance / (o.Spread * b.sd))
			r.Cgk = Defined((o.Share/2*o.Tolerance - math.Abs(b.bias)) / (o.Spread / 2 * b.sd))
		}
	}
	return r, nil
}

// bias is what repeated readings say of one reference value.
type bias struct {
	n              int
	mean, sd, bias float64
	t, p           *float64
}

// biasOf compares the mean of readings with a reference by Student's t. With one reading or equal ones t and p are not
// defined. Row numbers in errors are indices into values.
func biasOf(values []float64, reference float64) (bias, error) {
	for i, v := range values {
		if err := checkFinite(i, "value", v); err != nil {
			return bias{}, err
		}
	}
	b := bias{n: len(values)}
	if b.n == 0 {
		return b, nil
	}
	m, ss := Moments(values)
	b.mean, b.bias = m, m-reference
	if math.IsInf(ss, 0) || math.IsInf(b.bias, 0) || math.IsNaN(ss) {
		return bias{}, errOverflow()
	}
	if b.n > 1 {
		b.sd = math.Sqrt(ss / float64(b.n-1))
	}
	if b.sd > 0 {
		b.t = Defined(b.bias / (b.sd / math.Sqrt(float64(b.n))))
	}
	if b.t != nil {
		b.p = Defined(tTails(*b.t, float64(b.n-1)))
	}
	return b, nil
}
