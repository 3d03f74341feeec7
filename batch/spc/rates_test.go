package spc

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"
)

// Simulations of steady and of shifted Normal series and of batches against a plan, kept with their seed in testdata. The long form
// writes them anew, ten minutes:
//
//	go test ./batch/spc -run 'RatesOf|PowerOf|BelowPlanHolds' -bases 20000 -update -timeout 30m
//
// The short form makes some anew with another seed and holds them against the files within four standard errors.
var (
	bases  = flag.Int("bases", 200, "bases and batches to simulate of each kind; a tenth of them for shifts")
	update = flag.Bool("update", false, "write testdata/rates.json and testdata/power.json anew")
)

const (
	seed    = 8470 // of the files; the short form takes the next
	horizon = 1000 // values after a base
)

// baseSizes are how many values limits are from.
var baseSizes = []int{10, 25, 50, 100, 500}

// counts are signals after a base and in it, with the squares that the standard errors come from: bases differ, so the bases are
// what is counted.
type counts struct{ after, after2, in, in2 float64 }

func (c *counts) add(signals []Signal, base int, want func(Signal) bool) {
	after, in := 0.0, 0.0
	for _, s := range signals {
		switch {
		case !want(s):
		case s.At > base:
			after++
		default:
			in++
		}
	}
	c.after, c.after2, c.in, c.in2 = c.after+after, c.after2+after*after, c.in+in, c.in2+in*in
}

// of are the rates of n bases.
func (c *counts) of(what string, base, n int) rateRow {
	mean := func(sum, squares, values float64) (rate, se float64) {
		m := sum / float64(n)
		return m / values, math.Sqrt(max(0, squares/float64(n)-m*m)/float64(n)) / values
	}
	r := rateRow{What: what, Base: base}
	r.After, r.AfterSE = mean(c.after, c.after2, horizon)
	r.In, r.InSE = mean(c.in, c.in2, float64(base))
	return r
}

// falseRow is how the watch by limits and EWMA does on steady series.
type falseRow struct {
	Base     int     `json:"base"`
	Between  float64 `json:"between"`    // values to a false signal
	SE       float64 `json:"between_se"` // standard error
	Within   float64 `json:"within_100"` // share of bases with a false signal within 100 values after them
	WithinSE float64 `json:"within_100_se"`
}

func every(Signal) bool { return true }

// simulateRates makes series of so many bases each.
func simulateRates(t *testing.T, seed uint64, bases int) (rates []rateRow, steady []falseRow) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1))
	for _, base := range baseSizes {
		all := map[string]*counts{}
		of := func(what string) *counts {
			if all[what] == nil {
				all[what] = &counts{}
			}
			return all[what]
		}
		soon := 0
		x := make([]float64, base+horizon)
		for range bases {
			for i := range x {
				x[i] = r.NormFloat64()
			}
			o := Options{Base: Base{1, base}}
			c, err := Individuals(x, o)
			ok(t, err)
			signals := c.Signals()
			for test := 1; test <= 8; test++ {
				of(strconv.Itoa(test)).add(signals, base, func(s Signal) bool { return s.Test == test })
			}
			of(rangesRate).add(c.SpreadSignals(), base, every)
			c, err = EWMA(x, Average{}, o)
			ok(t, err)
			of(ewmaRate).add(c.Signals(), base, every)
			c, err = CUSUM(x, Sums{}, o)
			ok(t, err)
			of(cusumRate).add(c.Signals(), base, every)
			w, err := Watch(x, o.Base, Usual)
			ok(t, err)
			of(limitsRate).add(w.Values.Signals(), base, every)
			of(averageRate).add(w.Average.Signals(), base, every)
			signals = w.Signals
			of("both").add(signals, base, every)
			if slices.ContainsFunc(signals, func(s Signal) bool { return s.At > base && s.At <= base+100 }) {
				soon++
			}
		}
		both := all["both"].of("", base, bases)
		p := float64(soon) / float64(bases)
		steady = append(steady, falseRow{base, 1 / both.After, both.AfterSE / (both.After * both.After), p, math.Sqrt(p * (1 - p) / float64(bases))})
		delete(all, "both")
		for what, c := range all {
			rates = append(rates, c.of(what, base, bases))
		}
	}
	slices.SortFunc(rates, func(a, b rateRow) int {
		return slices.Compare([]string{a.What, fmt.Sprintf("%4d", a.Base)}, []string{b.What, fmt.Sprintf("%4d", b.Base)})
	})
	return rates, steady
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// keep writes a file of testdata.
func keep(t *testing.T, file, about string, made map[string]any) {
	t.Helper()
	made["about"], made["seed"], made["bases"] = about, seed, *bases
	text, err := json.MarshalIndent(made, "", " ")
	ok(t, err)
	ok(t, os.WriteFile("testdata/"+file, append(text, '\n'), 0o644))
}

// kept reads it.
func kept(t *testing.T, file string, v any) {
	t.Helper()
	text, err := os.ReadFile("testdata/" + file)
	ok(t, err)
	ok(t, json.Unmarshal(text, v))
}

// The rates of false signals are those of the file, and limits and EWMA together leave 500 values and more between two of them,
// whatever the base.
func TestRatesOfFalseSignals(t *testing.T) {
	if *update {
		rates, steady := simulateRates(t, seed, *bases)
		keep(t, "rates.json", "Signals a value that steady Normal series give by chance, with standard errors: run tests 1 to 8 and moving ranges with three-sigma limits, "+
			"EWMA and CUSUM, and the limits and EWMA that are watched by default; after a base of so many values, and in it. "+fmt.Sprintf("%d values after each base.", horizon),
			map[string]any{"rates": rates, "steady": steady})
	}
	var file struct {
		Rates  []rateRow
		Steady []falseRow
	}
	kept(t, "rates.json", &file)
	rates, steady := simulateRates(t, seed+1, *bases)
	if len(rates) != len(file.Rates) || len(rates) != 13*len(baseSizes) {
		t.Fatalf("%d rates, %d in the file", len(rates), len(file.Rates))
	}
	for i, got := range rates {
		want := file.Rates[i]
		if got.What != want.What || got.Base != want.Base {
			t.Fatalf("%d: %+v, the file has %+v", i, got, want)
		}
		n := float64(*bases)
		agree(t, fmt.Sprintf("%s after %d", want.What, want.Base), got.After, want.After, got.AfterSE, want.AfterSE, math.Sqrt(want.After/(n*horizon)))
		agree(t, fmt.Sprintf("%s in %d", want.What, want.Base), got.In, want.In, got.InSE, want.InSE, math.Sqrt(want.In/(n*float64(want.Base))))
	}
	for i, want := range file.Steady {
		if want.Between-2*want.SE < Between {
			t.Errorf("with a base of %d there are %.0f ± %.0f values between two false signals", want.Base, want.Between, want.SE)
		}
		t.Logf("base %d: %.0f ± %.0f values between two false signals, %.1f %% of bases with one within 100; in the file %.0f ± %.0f, %.1f %%",
			want.Base, steady[i].Between, steady[i].SE, 100*steady[i].Within, want.Between, want.SE, 100*want.Within)
	}
}

// agree holds a rate against the file's, within four standard errors; least is one that counts have at least.
func agree(t *testing.T, what string, got, want, se, wantSE, least float64) {
	t.Helper()
	if d := math.Abs(got - want); d > 4*math.Hypot(max(se, least), wantSE)+1e-9 {
		t.Errorf("%s: %.3g signals a value, the file has %.3g ± %.2g", what, got, want, wantSE)
	}
}

// powerRow is how many values after a shift the watch takes to a signal, counted up to the horizon.
type powerRow struct {
	Base   int     `json:"base"`
	Shift  float64 `json:"shift"` // in sigmas
	Mean   float64 `json:"mean"`
	SE     float64 `json:"mean_se"`
	Median int     `json:"median"`
	Within float64 `json:"within_50"` // share found within 50 values
	Missed float64 `json:"missed"`    // share not found within the horizon
}

func simulatePower(t *testing.T, seed uint64, bases int) (rows []powerRow) {
	t.Helper()
	for _, base := range baseSizes {
		for shift := 0.5; shift <= 3; shift += 0.5 {
			r := rand.New(rand.NewPCG(seed, uint64(base)))
			lengths := make([]int, bases)
			row := powerRow{Base: base, Shift: shift}
			x := make([]float64, base+horizon)
			for k := range lengths {
				for i := range x {
					if x[i] = r.NormFloat64(); i >= base {
						x[i] += shift
					}
				}
				w, err := Watch(x, Base{1, base}, Usual)
				ok(t, err)
				lengths[k] = horizon
				i := slices.IndexFunc(w.Signals, func(s Signal) bool { return s.At > base })
				if i < 0 {
					row.Missed++
				} else {
					lengths[k] = w.Signals[i].At - base
				}
				if lengths[k] <= 50 {
					row.Within++
				}
				row.Mean += float64(lengths[k]) / float64(bases)
			}
			for _, l := range lengths {
				row.SE += (float64(l) - row.Mean) * (float64(l) - row.Mean)
			}
			row.SE = math.Sqrt(row.SE) / float64(bases)
			slices.Sort(lengths)
			row.Median = lengths[bases/2]
			row.Within /= float64(bases)
			row.Missed /= float64(bases)
			rows = append(rows, row)
		}
	}
	return rows
}

// The watch finds shifts as fast as the file says; with limits from many values it takes no longer than an EWMA of known mean and
// sigma with twice the run length in control, by as much as chance and the finite base allow.
func TestPowerOfTheWatch(t *testing.T) {
	if *update {
		keep(t, "power.json", "Values that the watch by limits and EWMA takes to a signal after a shift in sigmas right after the base; "+fmt.Sprintf("at most %d.", horizon),
			map[string]any{"power": simulatePower(t, seed, max(20, *bases/10))})
	}
	var file struct{ Power []powerRow }
	kept(t, "power.json", &file)
	got := simulatePower(t, seed+1, max(20, *bases/10))
	if len(got) != len(file.Power) || len(got) == 0 {
		t.Fatalf("%d rows, %d in the file", len(got), len(file.Power))
	}
	for i, want := range file.Power {
		if d := math.Abs(got[i].Mean - want.Mean); d > 4*math.Hypot(got[i].SE, want.SE) {
			t.Errorf("base %d, shift %.1f: %.1f values, the file has %.1f ± %.1f", want.Base, want.Shift, got[i].Mean, want.Mean, want.SE)
		}
		known := AverageRunLength(Average{AverageLambda, WidthFor(AverageLambda, 2*Between)}, want.Shift)
		if want.Base == 500 && want.Mean > 1.1*known {
			t.Errorf("shift %.1f: %.1f values with a base of 500, %.1f with known mean and sigma by the EWMA alone", want.Shift, want.Mean, known)
		}
		t.Logf("base %d, shift %.1f: %.1f ± %.1f values, median %d, %.0f %% within 50; EWMA alone, known mean and sigma: %.1f", want.Base, want.Shift, want.Mean, want.SE, want.Median, 100*want.Within, known)
	}
}
