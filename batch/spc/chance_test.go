package spc

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// row is one row of a table among the reference values.
func eachRow(t *testing.T, name string, check func(in, want []float64)) {
	t.Helper()
	for _, e := range references(t, "chance.json", name) {
		in, want := decode[[][]float64](t, e.Inputs, "rows"), decode[[][]float64](t, e.Expected, "rows")
		if len(in) == 0 || len(in) != len(want) {
			t.Fatalf("%d and %d rows", len(in), len(want))
		}
		for i := range in {
			check(in[i], want[i])
		}
	}
}

// Prediction limits computed in R; a chart of a base whose mean is 0 and whose sigma is 1 shows the half width itself.
func TestPredictionLimits(t *testing.T) {
	eachRow(t, "Prediction limits", func(in, want []float64) {
		n := int(in[0])
		near(t, "degrees of freedom", MovingRangeFreedom(n), want[0], 1e-9)
		x := make([]float64, n+1) // to and fro: the mean of n is 0, all moving ranges are alike
		for i := range x {
			x[i] = (1 - 2*float64(i%2)) * rangeFactors(2).mean / 2
		}
		if n%2 == 1 {
			x[n-1] = 0
		}
		c, err := Individuals(x, Options{Base: Base{1, n}, Prediction: &Prediction{Width: in[1]}})
		ok(t, err)
		near(t, "half width", (c.Upper-c.Center)/c.Sigma, want[1], 1e-9)
		near(t, "lower half width", (c.Center-c.Lower)/c.Sigma, want[1], 1e-9)
		near(t, "degrees of freedom of the chart", c.Degrees, want[0], 1e-9)
	})
}

// A value of a steady process lies beyond prediction limits as often as stated, whatever the base; beyond three-sigma limits from ten
// values eight times as often. Four standard errors of so many bases.
func TestPredictionLimitsHold(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	beyond := 2 * normalTail(-2)
	for _, n := range []int{5, 10, 25} {
		const bases = 20000
		outside := 0
		for range bases {
			x := make([]float64, n+1)
			for i := range x {
				x[i] = 7 + 2*r.NormFloat64()
			}
			c, err := Individuals(x, Options{Base: Base{1, n}, Tests: TestsOf(1), Prediction: &Prediction{Width: 2}})
			ok(t, err)
			if c.Points[n].Signals != 0 {
				outside++
			}
		}
		got := float64(outside) / bases
		if se := math.Sqrt(beyond * (1 - beyond) / bases); math.Abs(got-beyond) > 4*se+0.001 {
			t.Errorf("base %d: %.4f beyond, stated %.4f ± %.4f", n, got, beyond, se)
		}
	}
}

// The variance of the mean moving range, and the degrees of freedom from it, against simulation.
func TestMovingRangeVariance(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for _, n := range []int{2, 3, 10, 25} {
		const times = 40000
		sum, squares := 0.0, 0.0
		x := make([]float64, n)
		for range times {
			for i := range x {
				x[i] = r.NormFloat64()
			}
			s := movingRangeSigma(x)
			sum, squares = sum+s, squares+s*s
		}
		mean := sum / times
		got := (squares/times - mean*mean) / (mean * mean)
		if want := movingRangeVariance(n); math.Abs(got/want-1) > 0.04 { // a variance from so many is known to about 0.7 % times its kurtosis
			t.Errorf("%d values: relative variance %.5f, the formula has %.5f", n, got, want)
		}
	}
	if v := movingRangeVariance(1); !math.IsNaN(v) {
		t.Errorf("one value: %v", v)
	}
}

// Widths and run lengths against R, run lengths against the published ones as well, which have one decimal.
func TestRunLengthsOfEWMA(t *testing.T) {
	eachRow(t, "EWMA widths", func(in, want []float64) { near(t, "width", WidthFor(0.2, in[0]), want[0], 1e-8) })
	eachRow(t, "EWMA run lengths", func(in, want []float64) {
		got := AverageRunLength(Average{in[0], in[1]}, in[2])
		near(t, "run length", got, want[0], 1e-8)
		if math.Abs(got-want[1]) > 0.05+0.001*got {
			t.Errorf("run length %.3f, published %.1f", got, want[1])
		}
	})
}

// EWMA limits with the price of the base are wider by t and by the mean's variance, which comes in as the average forgets its start.
func TestPredictionLimitsOfEWMA(t *testing.T) {
	x := []float64{1, -1, 2, -2, 1, 0, -1, 0, 3, 1, 0, 2}
	c, err := EWMA(x, Average{0.2, 3}, Options{Base: Base{1, 10}, Prediction: &Prediction{}})
	ok(t, err)
	plain, err := EWMA(x, Average{0.2, 3}, Options{Base: Base{1, 10}})
	ok(t, err)
	t3 := 4.99798819998 / math.Sqrt(1.1) // of testdata/reference: base 10, width 3, without the mean's part
	for i, p := range c.Points {
		q := math.Pow(0.8, float64(i+1))
		near(t, "half width", p.Upper-p.Center, t3*c.Sigma*math.Sqrt(0.2/1.8*(1-q*q)+(1-q)*(1-q)/10), 1e-9)
		if p.Value != plain.Points[i].Value || !(p.Upper > plain.Points[i].Upper) {
			t.Errorf("point %d: %+v and %+v", i, p, plain.Points[i])
		}
	}
	given := 1.0
	if c, err = EWMA(x, Average{0.2, 3}, Options{Center: &given, Sigma: &given, Prediction: &Prediction{}}); err != nil || c.Points[3].Upper != 1+3*math.Sqrt(0.2/1.8*(1-math.Pow(0.8, 8))) {
		t.Errorf("a given centre and sigma have no price: %v %v", c.Points[3], err)
	}
}

// Plain degrees of freedom are n - 1, of subgroups those of their squares; given sigmas have none.
func TestDegreesOfFreedom(t *testing.T) {
	groups := [][]float64{{1, 2, 4}, {2, 3, 2}, {4, 1, 2}, {2, 2, 3}, {3, 1, 2}}
	for _, c := range []struct {
		plain bool
		want  float64
	}{{true, 10}, {false, freedomOf(rangeFactors(3).sd * rangeFactors(3).sd / (rangeFactors(3).mean * rangeFactors(3).mean * 5))}} {
		chart, err := XbarR(groups, Options{Prediction: &Prediction{Plain: c.plain}})
		ok(t, err)
		near(t, "degrees of freedom", chart.Degrees, c.want, 1e-12)
	}
	one, err := Individuals(flatten(groups), Options{Prediction: &Prediction{Plain: true}})
	ok(t, err)
	near(t, "degrees of freedom", one.Degrees, 14.0, 1e-12)
	sigma := 1.0
	one, err = Individuals(flatten(groups), Options{Sigma: &sigma, Prediction: &Prediction{}})
	ok(t, err)
	if one.Degrees != 0 || math.Abs(one.Upper-one.Center-3*math.Sqrt(1+1.0/15)) > 1e-12 {
		t.Errorf("a given sigma: %v degrees, half width %v", one.Degrees, one.Upper-one.Center)
	}
}

// Evidence against a plan, integrated numerically in SciPy.
func TestEvidence(t *testing.T) {
	eachRow(t, "Evidence", func(in, want []float64) { near(t, "evidence", Evidence(int(in[0]), int(in[1]), in[2]), want[0], 1e-9) })
	for _, bad := range []float64{1.5, -0.5, math.NaN()} {
		if e := Evidence(3, 4, bad); !math.IsNaN(e) {
			t.Errorf("plan %v: %v", bad, e)
		}
	}
	if Evidence(0, 9, 0) != 1 || Evidence(9, 0, 1) != 1 || !math.IsInf(Evidence(9, 1, 1), 1) {
		t.Error("a plan of nothing is always met, one of all until one fails")
	}
	if e := Evidence(100000, 0, 0.8); e != 0 {
		t.Errorf("all of many passed: %v", e)
	}
	if e := Evidence(0, 100000, 0.8); !math.IsInf(e, 1) {
		t.Errorf("none of many passed: %v", e)
	}
}

// A lasting shift is dated and measured: of a batch of 200 whose values stand a sigma and a half higher from the 61st on. Over many
// batches the dates lie about the true one, half of them within four necks, and the sizes about the true one.
func TestChangeOf(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	const batches = 400
	near4, by := 0, 0.0
	for range batches {
		x := make([]float64, 200)
		for i := range x {
			if x[i] = r.NormFloat64(); i >= 60 {
				x[i] += 1.5
			}
		}
		c, found := ChangeOf(x, 25, meanOf(x[:25]))
		if !found {
			t.Fatal("no change")
		}
		if c.Since >= 57 && c.Since <= 65 {
			near4++
		}
		by += c.By / batches
	}
	if near4 < batches/2 || math.Abs(by-1.5) > 0.1 {
		t.Errorf("%d of %d within four necks, the mean size %.3f", near4, batches, by)
	}
	if _, found := ChangeOf([]float64{1, 2}, 2, 0); found {
		t.Error("no values after the base, and a change")
	}
	if c, _ := ChangeOf([]float64{9, 0, 0, 0.5, 0.5}, 1, 0); c != (Change{4, 0.5}) {
		t.Errorf("%+v", c)
	}
}

// The number of signals that a chart says chance would give is the number that steady series give: of charts with all tests, of the
// watch with chosen ones, in series shorter and longer than their base.
func TestChanceIsWhatChanceGives(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 13))
	const times = 1500
	for _, c := range []struct {
		points, base int
		watch        Watching
	}{
		{220, 25, Usual}, {220, 25, Watching{Tests: AllTests, EWMA: true, Between: 500}}, {220, 50, Watching{Tests: TestsOf(1)}}, {30, 30, Watching{Tests: AllTests}},
		{400, 100, Watching{EWMA: true, Between: 100}}, {400, 40, Watching{Tests: TestsOf(1, 2), Roots: true}},
	} {
		found, squares, said := 0.0, 0.0, 0.0
		for range times {
			x := make([]float64, c.points)
			for i := range x {
				x[i] = 5 + 0.4*r.NormFloat64()
				if c.watch.Roots {
					x[i] *= x[i] * x[i]
				}
			}
			w, err := Watch(x, Base{1, c.base}, c.watch)
			ok(t, err)
			n := float64(len(w.Signals))
			found, squares, said = found+n, squares+n*n, w.Chance()
		}
		mean := found / times
		se := math.Sqrt((squares/times - mean*mean) / times)
		if math.Abs(mean-said) > 4*se+0.12*said {
			t.Errorf("%+v: %.3f ± %.3f signals, said %.3f", c, mean, se, said)
		}
	}
}

// So is the number of a chart with three-sigma limits and all tests, moving ranges included, and of a p chart.
func TestChanceOfACommandsChart(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 17))
	const times = 600
	for name, make := range map[string]func() (Chart, error){
		"individuals": func() (Chart, error) {
			return Individuals(drawn(120, r.NormFloat64), Options{})
		},
		"p": func() (Chart, error) {
			counts, sizes := drawn(60, func() float64 {
				n := 0.0
				for range 80 {
					if r.Float64() < 0.15 {
						n++
					}
				}
				return n
			}), drawn(60, func() float64 { return 80 })
			return P(counts, sizes, Options{})
		},
		"xbar-r": func() (Chart, error) { return XbarR(subgroups(r, 100, 4), Options{Base: Base{1, 25}}) },
		"xbar-s": func() (Chart, error) { return XbarS(subgroups(r, 60, 5), Options{}) },
	} {
		found, squares, said := 0.0, 0.0, 0.0
		for range times {
			c, err := make()
			ok(t, err)
			n := float64(len(c.Signals()) + len(c.SpreadSignals()))
			found, squares, said = found+n, squares+n*n, said+c.Chance(0)/times
		}
		mean := found / times
		se := math.Sqrt((squares/times - mean*mean) / times)
		t.Logf("%s: %.3f ± %.3f signals, said %.3f", name, mean, se, said)
		if math.Abs(mean-said) > 4*se+0.15*said {
			t.Errorf("%s: %.3f ± %.3f signals, said %.3f", name, mean, se, said)
		}
	}
}

func subgroups(r *rand.Rand, n, size int) [][]float64 {
	groups := make([][]float64, n)
	for i := range groups {
		groups[i] = drawn(size, r.NormFloat64)
	}
	return groups
}

// drawn are so many values.
func drawn(n int, value func() float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = value()
	}
	return x
}

// Where more than half of the base is one value there are no limits; widths are watched by their cube roots and shown as they are.
func TestWatchOfTiesAndWidths(t *testing.T) {
	if _, err := Watch([]float64{0, 0, 0, 0.1, 0, 0.2}, Base{1, 5}, Usual); !errors.Is(err, ErrTies) {
		t.Errorf("ties: %v", err)
	}
	r := rand.New(rand.NewPCG(19, 19))
	x := drawn(60, func() float64 { v := 0.4 + 0.05*r.NormFloat64(); return v * v * v })
	x[50] = 0.4
	w, err := Watch(x, Base{1, 25}, Watching{Tests: TestsOf(1), EWMA: true, Roots: true})
	ok(t, err)
	if len(w.Signals) == 0 || w.Signals[0].At != 51 || math.Abs(w.Signals[0].Furthest-0.4) > 1e-12 || math.Abs(w.Values.Points[3].Value-x[3]) > 1e-12 {
		t.Errorf("%+v", w.Signals)
	}
	if up, down := w.Values.Upper-w.Values.Center, w.Values.Center-w.Values.Lower; !(up > 1.5*down) || w.Values.Lower < 0 {
		t.Errorf("limits of widths reach %v up and %v down", up, down)
	}
}

// Given limits are as sure as those of very many subgroups: chance gives little in a few of them.
func TestChanceOfGivenLimitsOfSubgroups(t *testing.T) {
	center, sigma := 10.0, 0.1
	groups := subgroups(rand.New(rand.NewPCG(1, 1)), 30, 4)
	given, err := XbarR(groups, Options{Center: &center, Sigma: &sigma})
	ok(t, err)
	many, err := XbarR(subgroups(rand.New(rand.NewPCG(1, 1)), 2000, 4), Options{})
	ok(t, err)
	if got, want := given.Chance(0)/30, many.Chance(0)/2000; math.Abs(got/want-1) > 0.1 {
		t.Errorf("%v signals a subgroup of given limits, %v of those from 2000", got, want)
	}
}

// Run lengths of averages that forget slowly: against simulation, rising with the memory, and never below one value.
func TestRunLengthsOfSlowAverages(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	const lambda, width, times = 0.01, 1.5, 1500
	h, sum, squares := width*math.Sqrt(lambda/(2-lambda)), 0.0, 0.0
	for range times {
		n := 0.0
		for z := 0.0; math.Abs(z) <= h; n++ {
			z += lambda * (r.NormFloat64() - z)
		}
		sum, squares = sum+n, squares+n*n
	}
	mean := sum / times
	se := math.Sqrt((squares/times - mean*mean) / times)
	if got := AverageRunLength(Average{lambda, width}, 0); !(math.Abs(got-mean) < 4*se) {
		t.Errorf("run length %.1f, simulated %.1f ± %.1f", got, mean, se)
	}
	for _, w := range []float64{1, 2, 3, 4.5, 8, 40} {
		before := 0.0
		for _, l := range []float64{0.2, 0.05, 0.02, 0.01, 0.004, 0.001, 1e-6} {
			got := AverageRunLength(Average{l, w}, 0)
			if !(got >= 1) || w < 5 && !(got > before) {
				t.Errorf("lambda %v, width %v: run length %v after %v", l, w, got, before)
			}
			before = got
		}
	}
}

// A change is what signals tell of where the newest of them that has a side lasts to the end or lies on the change's side.
func TestChangeToldBySignals(t *testing.T) {
	low, high := Signal{At: 60, To: 75, Side: -1}, Signal{At: 30, To: 40, Side: 1}
	for _, c := range []struct {
		by      float64
		signals []Signal
		told    bool
		back    int
	}{
		{0.02, []Signal{low}, false, 75}, {-0.02, []Signal{low}, true, 75}, {0.02, []Signal{{At: 60, To: 220, Side: -1}}, true, 220}, {0.02, []Signal{low, high}, false, 75},
		{0.02, []Signal{low, {At: 90, To: 91, Side: 1, Plotted: MovingRanges}, {At: 92, To: 93}}, false, 75}, {0.02, []Signal{{At: 92, To: 93}}, false, 0}, {0.02, nil, false, 0},
	} {
		x := make([]float64, 220)
		for i := range x {
			x[i] = 1 + c.by
		}
		if told, back := (Change{50, c.by}).Told(c.signals, x, 1); told != c.told || back != c.back {
			t.Errorf("%+v: %v, %d", c, told, back)
		}
	}
	x := make([]float64, 220)
	for i := range x[75:] {
		x[75+i] = 1.01
	}
	for _, c := range []struct {
		values int
		told   bool
	}{{220, false}, {80, true}} { // of few values after it nothing is made
		if told, _ := (Change{50, -0.02}).Told([]Signal{low}, x[:c.values], 1); told != c.told {
			t.Errorf("values after a signal that lie on the other side: %v of %d", told, c.values)
		}
	}
}
