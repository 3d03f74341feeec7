package spc

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"strconv"
	"testing"
)

// The sequences of testdata/reference/statistics/run_tests.json, worked out by hand after L. S. Nelson (1984).
func TestRunTestsFireWhereWorkedOut(t *testing.T) {
	for _, e := range references(t, "run_tests.json", "sequence") {
		got, err := runTestsAt(decode[[]float64](t, e.Inputs, "z"), 0, 1, 0)
		if err != nil {
			t.Fatal(err)
		}
		fires := map[string][]int{}
		for i, tests := range got {
			for _, n := range tests.Numbers() {
				fires[strconv.Itoa(n)] = append(fires[strconv.Itoa(n)], i+1)
			}
		}
		if want := decode[map[string][]int](t, e.Expected, "fires"); !reflect.DeepEqual(fires, want) {
			t.Errorf("%s: fires %v, want %v", e.Name, fires, want)
		}
	}
}

// runLength is the mean number of points until one of the tests fires on Normal values shifted by some sigmas, with its
// standard error.
func runLength(t *testing.T, tests Tests, shift float64, runs int, seed uint64) (mean, standardError float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 1984))
	lengths := make([]float64, runs)
	var x []float64
	for i := range lengths {
		x = x[:0]
		for block := 32; lengths[i] == 0; block *= 2 {
			for range block {
				x = append(x, shift+rng.NormFloat64())
			}
			got, err := runTestsAt(x, 0, 1, tests)
			if err != nil {
				t.Fatal(err)
			}
			for j := range got {
				if got[j] != 0 {
					lengths[i] = float64(j + 1)
					break
				}
			}
		}
	}
	return meanOf(lengths), standardDeviation(lengths) / math.Sqrt(float64(runs))
}

// Average run lengths by simulation against exact and simulated ones of testdata/reference/statistics/run_tests.json: C. W. Champ
// and W. H. Woodall, Technometrics 29 (1987), Table 1, and values derived for the single tests of L. S. Nelson (1984). Within
// four standard errors.
func TestRunTestsHaveThePublishedRunLengths(t *testing.T) {
	zones := references(t, "run_tests.json", "ARL, rules 1+2 (")[0]
	single := references(t, "run_tests.json", "In-control ARL of single tests")[0].Expected
	every := references(t, "run_tests.json", "ARL with all eight")[0].Expected
	pairs := references(t, "run_tests.json", "In-control ARL of test combinations")[0].Expected
	nine := references(t, "run_tests.json", "In-control ARL, tests 1+2")[0].Expected
	alone := references(t, "run_tests.json", "ARL, rules 1 (")[0].Expected
	for i, c := range []struct {
		tests Tests
		shift float64
		want  float64
		sd    float64 // standard error of the figure itself
	}{
		{TestsOf(1), 0, decode[float64](t, single, "test1"), 0},
		{TestsOf(1), 1, decode[[]float64](t, alone, "ARL")[3], 0},
		{TestsOf(2), 0, decode[float64](t, single, "test2"), 0},
		{TestsOf(3), 0, decode[float64](t, single, "test3"), 0},
		{TestsOf(5), 0, decode[float64](t, single, "test5"), 0},
		{TestsOf(1, 2), 0, decode[float64](t, nine, "r=9"), 0},
		{TestsOf(1, 5), 0, decode[[]float64](t, zones.Expected, "ARL")[0], 0},
		{TestsOf(1, 5), 1, decode[[]float64](t, zones.Expected, "ARL")[3], 0},
		{TestsOf(1, 2, 3), 0, decode[[]float64](t, pairs, "1+2+3")[0], decode[[]float64](t, pairs, "1+2+3")[1]},
		{TestsOf(1, 7), 0, decode[[]float64](t, pairs, "1+7")[0], decode[[]float64](t, pairs, "1+7")[1]},
		{AllTests, 0, decode[[]float64](t, every, "ARL")[0], decode[[]float64](t, every, "standard_error")[0]},
		{AllTests, 1, decode[[]float64](t, every, "ARL")[1], decode[[]float64](t, every, "standard_error")[1]},
		{AllTests, 3, decode[[]float64](t, every, "ARL")[2], decode[[]float64](t, every, "standard_error")[2]},
	} {
		runs := 1500
		if c.want < 100 {
			runs = 6000
		}
		got, se := runLength(t, c.tests, c.shift, runs, uint64(i))
		t.Logf("tests %v, shift %v: average run length %.3f ± %.3f (standard error), published %.3f", c.tests.Numbers(), c.shift, got, se, c.want)
		if math.Abs(got-c.want) > 4*math.Hypot(se, c.sd) {
			t.Errorf("tests %v, shift %v: average run length %.3f ± %.3f, want %.3f", c.tests.Numbers(), c.shift, got, se, c.want)
		}
	}
}

// Average run length of CUSUM against J. M. Lucas and R. B. Crosier (1982) and of EWMA, against limits that do not widen,
// J. M. Lucas and M. S. Saccucci (1990). Within four standard errors.
func TestDriftChartsHaveThePublishedRunLengths(t *testing.T) {
	rng := rand.New(rand.NewPCG(1982, 1990))
	o := Options{Center: point(0.0), Sigma: point(1.0)}
	length := func(chart func([]float64) bool, shift float64) float64 {
		var x []float64
		for n := 1; ; n *= 2 {
			for len(x) < 8*n {
				x = append(x, shift+rng.NormFloat64())
			}
			if !chart(x) {
				continue
			}
			low, high := 0, len(x) // chart(x[:low]) has no signal, chart(x[:high]) has
			for high-low > 1 {
				if middle := (low + high) / 2; chart(x[:middle]) {
					high = middle
				} else {
					low = middle
				}
			}
			return float64(high)
		}
	}
	cusum := func(x []float64) bool {
		c, err := CUSUM(x, Sums{K: 0.5, H: 4}, o)
		return err == nil && len(fired(c.Points, 1)) > 0
	}
	flat := 2.962 * math.Sqrt(0.2/1.8)
	ewma := func(x []float64) bool {
		c, err := EWMA(x, Average{0.2, 2.962}, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range c.Points {
			if math.Abs(p.Value) > flat {
				return true
			}
		}
		return false
	}
	sums := references(t, chartsFile, "Two-sided CUSUM")[0].Expected
	averages := references(t, chartsFile, "Two-sided EWMA")[0].Expected
	for _, c := range []struct {
		name  string
		chart func([]float64) bool
		shift float64
		want  float64
	}{
		{"CUSUM", cusum, 0, decode[[]float64](t, sums, "two_sided_ARL")[0]},
		{"CUSUM", cusum, 1, decode[[]float64](t, sums, "two_sided_ARL")[4]},
		{"EWMA", ewma, 0.5, decode[[][]float64](t, averages, "ARL_by_design")[1][2]},
		{"EWMA", ewma, 1, decode[[][]float64](t, averages, "ARL_by_design")[1][4]},
	} {
		lengths := make([]float64, 1000)
		for i := range lengths {
			lengths[i] = length(c.chart, c.shift)
		}
		got, se := meanOf(lengths), standardDeviation(lengths)/math.Sqrt(float64(len(lengths)))
		t.Logf("%s, shift %v: average run length %.3f ± %.3f (standard error), published %.3f", c.name, c.shift, got, se, c.want)
		if math.Abs(got-c.want) > 4*se {
			t.Errorf("%s, shift %v: average run length %.3f ± %.3f, want %.3f", c.name, c.shift, got, se, c.want)
		}
	}
}

// patterns is the tests by their definition, point by point over whole windows: the same answer another way.
func patterns(z []float64) []Tests {
	window := func(end, n int, holds func(i int) bool) bool {
		if end < n-1 {
			return false
		}
		for i := end - n + 1; i <= end; i++ {
			if !holds(i) {
				return false
			}
		}
		return true
	}
	count := func(end, n int, holds func(i int) bool) int {
		k := 0
		for i := max(0, end-n+1); i <= end; i++ {
			if holds(i) {
				k++
			}
		}
		return k
	}
	fired := make([]Tests, len(z))
	for e := range z {
		for _, side := range []float64{1, -1} {
			beyond := func(k float64) func(int) bool { return func(i int) bool { return side*z[i] > k } }
			rise := func(i int) bool { return i == e-5 || side*(z[i]-z[i-1]) > 0 }
			turns := func(i int) bool {
				return i == e-13 || side*(z[i]-z[i-1])*[]float64{1, -1}[(e-i)%2] > 0
			}
			add := func(test int, holds bool) {
				if holds {
					fired[e] |= TestsOf(test)
				}
			}
			add(1, beyond(3)(e))
			add(2, window(e, 9, beyond(0)))
			add(3, window(e, 6, rise))
			add(4, window(e, 14, turns))
			add(5, beyond(2)(e) && count(e, 3, beyond(2)) >= 2)
			add(6, beyond(1)(e) && count(e, 5, beyond(1)) >= 4)
			add(7, window(e, 15, func(i int) bool { return math.Abs(z[i]) < 1 }))
			add(8, window(e, 8, func(i int) bool { return math.Abs(z[i]) > 1 }) && count(e, 8, beyond(1)) > 0 && count(e, 8, beyond(1)) < 8)
		}
	}
	return fired
}

// FuzzRunTests: one pass over the points finds what whole windows find, on values in steps of half a sigma, where ties and
// values on a zone's edge are common; tests switched off stay silent; mirrored values fire the same.
func FuzzRunTests(f *testing.F) {
	f.Add([]byte{7, 8, 9, 10, 11, 12, 13}, uint8(0))
	f.Add([]byte{6, 8, 6, 8, 6, 8, 6, 8, 6, 8, 6, 8, 6, 8, 6, 8}, uint8(0x55))
	rng := rand.New(rand.NewPCG(3, 3))
	for range 20 {
		data := make([]byte, 200)
		for i := range data {
			data[i] = byte(rng.Uint32())
		}
		f.Add(data, uint8(rng.Uint32()))
	}
	f.Fuzz(func(t *testing.T, data []byte, chosen uint8) {
		z, mirrored := make([]float64, len(data)), make([]float64, len(data))
		for i, b := range data {
			z[i] = float64(int(b%15)-7) / 2
			mirrored[i] = -z[i]
		}
		got, err := runTestsAt(z, 0, 1, 0)
		if err != nil {
			t.Fatal(err)
		}
		other, _ := runTestsAt(mirrored, 0, 1, 0)
		some, _ := runTestsAt(z, 0, 1, Tests(chosen))
		want := patterns(z)
		for i := range want {
			if got[i] != want[i] || other[i] != want[i] {
				t.Fatalf("%v: at point %d tests %v, mirrored %v, want %v", z, i+1, got[i].Numbers(), other[i].Numbers(), want[i].Numbers())
			}
			if chosen != 0 && some[i] != want[i]&Tests(chosen) {
				t.Fatalf("of tests %v, %v fire", Tests(chosen).Numbers(), some[i].Numbers())
			}
		}
	})
}

func TestTestsAreWrittenAsTheirNumbers(t *testing.T) {
	tests, err := ParseTests("1, 5,2")
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(map[string]Tests{"a": tests, "b": 0})
	if string(text) != `{"a":[1,2,5],"b":[]}` || err != nil {
		t.Errorf("written as %s, %v", text, err)
	}
	var back Tests
	if err := json.Unmarshal([]byte("[1,2,5]"), &back); err != nil || back != tests {
		t.Errorf("read back %v, %v", back.Numbers(), err)
	}
	if err := json.Unmarshal([]byte("[0]"), &back); err == nil {
		t.Error("test 0 was read")
	}
}

// runTestsAt is which of the tests fire at each value, about a centre line and a sigma of a value; see [Tests]. No tests given
// means all. Errors: [ValueError], [OptionError].
func runTestsAt(x []float64, center, sigma float64, tests Tests) ([]Tests, error) {
	if err := checkValues(x); err != nil {
		return nil, err
	}
	if err := (Options{Center: &center, Sigma: &sigma}).check(); err != nil {
		return nil, err
	}
	c := newChart(IndividualsKind, 1, len(x))
	c.line(x, center, sigma, 3*sigma, tests)
	fired := make([]Tests, len(x))
	for i, p := range c.Points {
		fired[i] = p.Signals
	}
	return fired, nil
}
