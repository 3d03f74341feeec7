package command

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const (
	individualsKeys = "center lower upper sigma mr_center mr_upper points"
	subgroupKeys    = "center lower upper sigma spread_center spread_lower spread_upper points"
	centerKeys      = "center points"
	capabilityKeys  = "n mean sigma_within sigma_overall cp cpk pp ppk ci normality percentile expected_per_million"
	summaryKeys     = "n mean sd median min max autocorrelation"
)

const chartsFile = "control_charts.json"

func valuesFile(t *testing.T, x []float64) string {
	t.Helper()
	rows := make([]string, len(x))
	for i, v := range x {
		rows[i] = strconv.FormatFloat(v, 'g', -1, 64)
	}
	return delimited(t, "value", rows)
}

func groupsFile(t *testing.T, groups [][]float64) string {
	t.Helper()
	var rows []string
	for i, g := range groups {
		for _, v := range g {
			rows = append(rows, fmt.Sprintf("S%d,%v", i+1, v))
		}
	}
	return delimited(t, "subgroup,value", rows)
}

// pointsOf checks that every point of a result has exactly the contract's keys and counts from 1, and gives one of them from each.
func pointsOf(t *testing.T, r map[string]any, key string, more ...string) []any {
	t.Helper()
	want := append([]string{"index", "value", "lower", "center", "upper", "signals"}, more...)
	slices.Sort(want)
	var got []any
	for i, p := range r["points"].([]any) {
		point := p.(map[string]any)
		var keys []string
		for k := range point {
			keys = append(keys, k)
		}
		if slices.Sort(keys); !slices.Equal(keys, want) || point["index"] != float64(i+1) {
			t.Fatalf("point %d: %v, want the keys %v", i+1, point, want)
		}
		got = append(got, point[key])
	}
	return got
}

// sameAll is same for a list.
func sameAll(t *testing.T, what string, got []any, want []float64, rel float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d numbers, want %d", what, len(got), len(want))
	}
	for i := range got {
		same(t, fmt.Sprintf("%s, point %d", what, i+1), got[i], want[i], rel)
	}
}

// signalled are the indices of the points with a test among their signals.
func signalled(t *testing.T, r map[string]any, test int) []int {
	t.Helper()
	indices := []int{}
	for i, s := range pointsOf(t, r, "signals", cusumKeys(r)...) {
		if slices.Contains(s.([]any), any(float64(test))) {
			indices = append(indices, i+1)
		}
	}
	return indices
}

func cusumKeys(r map[string]any) []string {
	if r["points"].([]any)[0].(map[string]any)["high"] != nil {
		return []string{"high", "low"}
	}
	return nil
}

// path reads a value of an example's inner object.
func path[T any](t *testing.T, e example, outer, inner string) T {
	t.Helper()
	return value[map[string]T](t, e.Expected, outer)[inner]
}

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
func TestChartIndividuals(t *testing.T) {
	e := examples(t, chartsFile, "Individuals and moving range")[0]
	x := value[[]float64](t, e.Inputs, "x")
	r := asked(t, individualsKeys, "chart", "imr", valuesFile(t, x))
	for key, name := range map[string]string{"center": "I_CL", "lower": "I_LCL", "upper": "I_UCL", "sigma": "sigma_from_mean_mr", "mr_center": "MR_CL", "mr_upper": "MR_UCL"} {
		same(t, key, r[key], value[float64](t, e.Expected, name), 1e-9)
	}
	sameAll(t, "value", pointsOf(t, r, "value"), x, 0)

	base := asked(t, individualsKeys, "chart", "imr", valuesFile(t, x), "--base", "1:5")
	alone := asked(t, individualsKeys, "chart", "imr", valuesFile(t, x[:5]))
	if base["upper"] != alone["upper"] || base["mr_upper"] != alone["mr_upper"] || len(base["points"].([]any)) != 10 {
		t.Errorf("limits from the first five: %v, of the five alone: %v", base["upper"], alone["upper"])
	}
}

// Sources: D. C. Montgomery, Introduction to Statistical Quality Control, Example 6.1; NIST data set CCXBAR.DAT.
func TestChartSubgroups(t *testing.T) {
	for _, e := range examples(t, chartsFile, "X-bar and R / X-bar and s") {
		file := groupsFile(t, value[[][]float64](t, e.Inputs, "subgroups"))
		for _, kind := range []struct{ name, method, outside, mean, upper, lower string }{
			{"xbar-r", "R_method", "X_by_R_method", "mean_range", "R_UCL", "R_LCL"},
			{"xbar-s", "s_method", "X_by_s_method", "mean_sd", "s_UCL", "s_LCL"},
		} {
			r := asked(t, subgroupKeys, "chart", kind.name, file)
			same(t, "center", r["center"], value[float64](t, e.Expected, "grand_mean"), 1e-9)
			same(t, "spread_center", r["spread_center"], value[float64](t, e.Expected, kind.mean), 1e-9)
			for key, name := range map[string]string{"sigma": "sigma", "upper": "X_UCL", "lower": "X_LCL", "spread_upper": kind.upper, "spread_lower": kind.lower} {
				same(t, kind.name+" "+key, r[key], path[float64](t, e, kind.method, name), 1e-9)
			}
			sameAll(t, "mean", pointsOf(t, r, "value"), value[[]float64](t, e.Expected, "subgroup_means"), 1e-9)
			if got, want := signalled(t, r, 1), path[[]int](t, e, "subgroups_outside", kind.outside); !reflect.DeepEqual(got, want) {
				t.Errorf("%s: outside %v, want %v", kind.name, got, want)
			}
		}
	}
}

// Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1 and 6.3.3.2; K. Ishikawa, Guide to Quality Control (1982).
func TestChartCounts(t *testing.T) {
	seen := 0
	for _, e := range examples(t, chartsFile, " chart") {
		kind, counts, size, center := "u", "counts", "area", "u_bar"
		switch {
		case strings.HasPrefix(e.Name, "p chart"):
			kind, counts, size, center = "p", "defectives", "n", "p_bar"
		case !strings.HasPrefix(e.Name, "c chart") && !strings.HasPrefix(e.Name, "u chart"):
			continue
		}
		seen++
		c := value[[]float64](t, e.Inputs, counts)
		rows := make([]string, len(c))
		for i := range c {
			n := string(e.Inputs[size])
			if n[0] == '[' {
				n = fmt.Sprint(value[[]float64](t, e.Inputs, size)[i])
			}
			rows[i] = fmt.Sprintf("%v,%s", c[i], n)
		}
		r := asked(t, centerKeys, "chart", kind, delimited(t, "count,size", rows))
		same(t, "center", r["center"], value[float64](t, e.Expected, center), 1e-9)
		for key, name := range map[string]string{"upper": "UCL", "lower": "LCL"} {
			want := make([]float64, len(c))
			if e.Expected[name+"_by_subgroup"] != nil {
				want = value[[]float64](t, e.Expected, name+"_by_subgroup")
			} else {
				for i := range want {
					want[i] = value[float64](t, e.Expected, name)
				}
			}
			sameAll(t, e.Name+", "+key, pointsOf(t, r, key), want, 1e-9)
		}
		if got, want := signalled(t, r, 1), value[[]int](t, e.Expected, "subgroups_outside"); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: outside %v, want %v", e.Name, got, want)
		}
	}
	if seen != 5 {
		t.Errorf("%d examples of counts, want 5", seen)
	}
}

// Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4 and 6.3.2.3; J. M. Lucas and R. B. Crosier (1982).
func TestChartDrift(t *testing.T) {
	e := examples(t, chartsFile, "EWMA, lambda")[0]
	r := asked(t, centerKeys, "chart", "ewma", valuesFile(t, value[[]float64](t, e.Inputs, "x")),
		"--lambda", string(e.Inputs["lambda"]), "--width", string(e.Inputs["L"]), "--target", string(e.Inputs["start"]), "--sigma", string(e.Inputs["sigma"]))
	sameAll(t, "average", pointsOf(t, r, "value"), value[[]float64](t, e.Expected, "ewma"), 1e-9)
	sameAll(t, "upper", pointsOf(t, r, "upper"), value[[]float64](t, e.Expected, "exact_UCL_by_point"), 1e-9)
	sameAll(t, "lower", pointsOf(t, r, "lower"), value[[]float64](t, e.Expected, "exact_LCL_by_point"), 1e-9)
	if got := signalled(t, r, 1); len(got) != 0 {
		t.Errorf("EWMA: outside %v", got)
	}

	for _, e := range examples(t, chartsFile, "Tabular CUSUM") {
		const sigma = 0.635 // so that k = 0.5 gives the K of the source
		h := value[float64](t, e.Inputs, "H")
		args := []string{"chart", "cusum", valuesFile(t, value[[]float64](t, e.Inputs, "x")), "--target", string(e.Inputs["target"]),
			"--sigma", fmt.Sprint(sigma), "--h", fmt.Sprint(h / sigma)}
		if e.Inputs["head_start"] != nil {
			args = append(args, "--head-start", fmt.Sprint(value[float64](t, e.Inputs, "head_start")/h))
		}
		r := asked(t, "points", args...)
		for key, name := range map[string]string{"high": "C_plus", "low": "C_minus"} {
			for i, want := range value[[]float64](t, e.Expected, name) {
				if got := pointsOf(t, r, key, "high", "low")[i].(float64); math.Abs(got-want) > 1e-9 {
					t.Errorf("%s: %s of point %d: %v, want %v", e.Name, key, i+1, got, want)
				}
			}
		}
		if got, want := signalled(t, r, 1), value[[]int](t, e.Expected, "signals_high"); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: outside %v, want %v", e.Name, got, want)
		}
	}

	grouped := examples(t, chartsFile, "X-bar and R / X-bar and s, wafer")[0]
	r = asked(t, centerKeys, "chart", "ewma", groupsFile(t, value[[][]float64](t, grouped.Inputs, "subgroups")))
	half := 3 * path[float64](t, grouped, "R_method", "sigma") / math.Sqrt(5) * 0.2 // at the first point: width sigma/sqrt(n) lambda
	same(t, "upper limit of the first mean", pointsOf(t, r, "upper")[0], value[float64](t, grouped.Expected, "grand_mean")+half, 1e-9)
}

// The sequences of run_tests.json, worked out by hand after L. S. Nelson (1984), through the command with given limits.
func TestChartRunTests(t *testing.T) {
	for _, e := range examples(t, "run_tests.json", "sequence") {
		file := valuesFile(t, value[[]float64](t, e.Inputs, "z"))
		r := asked(t, individualsKeys, "chart", "imr", file, "--center", "0", "--sigma", "1")
		want := value[map[string][]int](t, e.Expected, "fires")
		for test := 1; test <= 8; test++ {
			if got := signalled(t, r, test); !slices.Equal(got, want[strconv.Itoa(test)]) {
				t.Errorf("%s: test %d at %v, want %v", e.Name, test, got, want[strconv.Itoa(test)])
			}
		}
		chosen := asked(t, individualsKeys, "chart", "imr", file, "--center", "0", "--sigma", "1", "--tests", "2,5")
		for test := 1; test <= 8; test++ {
			fires := want[strconv.Itoa(test)]
			if test != 2 && test != 5 {
				fires = nil
			}
			if got := signalled(t, chosen, test); !slices.Equal(got, fires) {
				t.Errorf("%s with --tests 2,5: test %d at %v, want %v", e.Name, test, got, fires)
			}
		}
	}
}

// Sources: D. C. Montgomery, Example 6.1 continued; NIST data set CCXBAR.DAT; Rinne (2009), p. 338; A. F. Bissell (1990).
func TestCapabilityCommand(t *testing.T) {
	for _, e := range examples(t, "capability.json", "Indices from subgrouped data") {
		r := asked(t, capabilityKeys, "capability", groupsFile(t, value[[][]float64](t, e.Inputs, "subgroups")),
			"--lower", string(e.Inputs["LSL"]), "--upper", string(e.Inputs["USL"]), "--target", string(e.Inputs["target"]))
		const within = "within, pooled and unbiased (divided by c4 of df+1)"
		for key, want := range map[string]any{
			"sigma_within": value[map[string]any](t, e.Expected, within)["sigma"], "cp": value[map[string]any](t, e.Expected, within)["Cp"],
			"cpk": value[map[string]any](t, e.Expected, within)["Cpk"], "sigma_overall": value[map[string]any](t, e.Expected, "overall")["sigma"],
			"pp": value[map[string]any](t, e.Expected, "overall")["Cp"], "ppk": value[map[string]any](t, e.Expected, "overall")["Cpk"],
			"expected_per_million": value[map[string]any](t, e.Expected, "overall")["fraction"].(map[string]any)["total_ppm"],
		} {
			same(t, key, r[key], want.(float64), 1e-9)
		}
		ci := r["ci"].(map[string]any)
		sameAll(t, "ci.pp", ci["pp"].([]any), value[[]float64](t, e.Expected, "Pp 95% interval, df=N-1"), 1e-9)
		sameAll(t, "ci.ppk", ci["ppk"].([]any), value[[]float64](t, e.Expected, "Ppk 95% interval, df=N-1, normal approximation"), 1e-9)
	}

	e := examples(t, "capability.json", "Weibull fitted")[0]
	file := valuesFile(t, value[[]float64](t, e.Inputs, "x"))
	r := asked(t, capabilityKeys, "capability", file, "--lower", "10", "--upper", "220", "--distribution", "weibull")
	p := r["percentile"].(map[string]any)
	same(t, "percentile.pp", p["pp"], value[float64](t, e.Expected, "Pp"), 1e-7)
	same(t, "percentile.ppk", p["ppk"], value[float64](t, e.Expected, "Ppk"), 1e-7)
	if p["distribution"] != "weibull" || len(p) != 3 {
		t.Errorf("percentile %v", p)
	}
	one := asked(t, capabilityKeys, "capability", file, "--upper", "220")
	if one["cp"] != nil || one["pp"] != nil || one["ci"].(map[string]any)["cp"] != nil || one["cpk"] == nil {
		t.Errorf("with an upper limit alone: %v", one)
	}

	e = examples(t, "capability.json", "Normality tests")[0]
	r = asked(t, capabilityKeys, "capability", valuesFile(t, value[[]float64](t, e.Inputs, "x")), "--upper", "2")
	normality := r["normality"].(map[string]any)
	same(t, "normality.statistic", normality["statistic"], value[float64](t, e.Expected, "anderson_darling_A2"), 1e-6)
	same(t, "normality.p", normality["p"], value[float64](t, e.Expected, "anderson_darling_p"), 1e-6)

	equal := asked(t, capabilityKeys, "capability", valuesFile(t, []float64{0.1, 0.1, 0.1}), "--upper", "2")
	for _, key := range []string{"cp", "cpk", "pp", "ppk", "normality", "percentile", "expected_per_million"} {
		if equal[key] != nil {
			t.Errorf("of equal values %s is %v, want null", key, equal[key])
		}
	}
}

// Certified values of the NIST Statistical Reference Datasets.
func TestSummaryCommand(t *testing.T) {
	seen := 0
	for _, e := range examples(t, "summary.json", "univariate") {
		if e.Inputs["x"] == nil {
			continue
		}
		seen++
		r := asked(t, summaryKeys, "summary", valuesFile(t, value[[]float64](t, e.Inputs, "x")))
		same(t, "mean", r["mean"], value[float64](t, e.Expected, "mean"), 1e-13)
		same(t, "sd", r["sd"], value[float64](t, e.Expected, "sd"), 1e-12)
		same(t, "autocorrelation", r["autocorrelation"], value[float64](t, e.Expected, "autocorr_lag1"), 1e-10)
	}
	if seen < 3 {
		t.Errorf("%d certified series, want 3", seen)
	}
	one := asked(t, summaryKeys, "summary", valuesFile(t, []float64{4}))
	if one["sd"] != nil || one["autocorrelation"] != nil || one["median"] != 4.0 {
		t.Errorf("one value: %v", one)
	}
}

// What people read begins with what it says; errors say the line and the column, or the option.
func TestStatisticsForPeople(t *testing.T) {
	wafers := groupsFile(t, value[[][]float64](t, examples(t, chartsFile, "X-bar and R / X-bar and s, wafer")[0].Inputs, "subgroups"))
	rinne := valuesFile(t, value[[]float64](t, examples(t, "capability.json", "Weibull fitted")[0].Inputs, "x"))
	counts := delimited(t, "count,size", []string{"1,10", "12,10"})
	ragged := delimited(t, "subgroup,value", []string{"a,1", "b,2", "b,3", "a,4", "c,5"})
	wrong := delimited(t, "value", []string{"1", "2", "x"})
	zero := delimited(t, "subgroup,value", []string{"a,1", "b,2", "a,3", "b,-1"})
	for _, c := range []struct {
		args string
		code int
		says []string
	}{
		{"chart xbar-s " + wafers, exitDone, []string{"2 SIGNALS among 20 subgroups of 5; chance alone would give 0.", "Test 1 (Nelson 1984): Subgroup 20 lies above", "Standard deviations 19 to 20", "computed from subgroups 1 to 20", "|--------------------\n"}},
		{"chart xbar-s " + wafers + " --base 1:19 --tests 1,2", exitDone, []string{"held for the rest", "Limits from 19 subgroups are uncertain", "Run tests used: 1, 2 (Nelson 1984)."}},
		{"chart ewma " + wafers, exitDone, []string{"The average lies above its limits at subgroup 20"}},
		{"chart cusum " + rinne, exitDone, []string{"2 SIGNALS among 20 values; chance alone would give 0.0", "A steady process gives one such signal in about ", "decision interval"}},
		{"chart imr " + rinne + " --center 85 --sigma 30", exitDone, []string{"5 SIGNALS among 20 values; chance alone would give 0.5.", "in about 370 values", "given, not computed"}},
		{"chart imr " + rinne + " --limits prediction", exitDone, []string{"The limits are wider than those of a known mean and sigma, since they come from 20 values alone: Student's t with 19.0 degrees of freedom."}},
		{"chart imr " + rinne + " --limits prediction --dof effective", exitDone, []string{"with 11.9 degrees of freedom"}},
		{"chart ewma " + wafers + " --limits prediction --dof effective", exitDone, []string{"since they come from 20 subgroups alone: Student's t with 72."}},
		{"capability " + wafers + " --lower 20 --upper 27 --target 23.5", exitDone, []string{"The process is steady as far as 100 values tell and does not fit its limits: Ppk 0.78 by the share counted outside (95 % interval 0.53 to 1.16, so that 100 values do not settle it), 1.33 is usually asked for. 99 of 100 values lie between their limits.\n100 values, judged by 20 to 27. ", "Ppk     1.084  0.919 to 1.248        all values", "Counted outside: 1 of 100", "10000 of a million", "No Normal, lognormal or Weibull distribution fits the values", "Cpm 1.131", "27 + upper limit"}},
		{"capability " + rinne + " --upper 220 --dof effective --bounded", exitDone, []string{"from moving ranges of neighbours, with 11.9 degrees of freedom", "Weibull"}},
		{"capability " + rinne + " --upper 220", exitDone, []string{"judged by upper limit 220", "fewer than 25", "percentiles of a Weibull distribution, which fits", "Percentile method"}},
		{"summary " + valuesFile(t, []float64{1, 2}), exitDone, []string{"2 values are too few to tell it from chance (at least 8)"}},
		{"summary " + rinne, exitDone, []string{"20 values: mean 87.95", "Autocorrelation"}},
		{"chart p " + counts, exitFailed, []string{"data.csv:3: count: found 12 of 10 items"}},
		{"chart xbar-r " + ragged, exitFailed, []string{"data.csv:6: subgroup: c: found 1"}},
		{"chart imr " + wrong, exitFailed, []string{`data.csv:4: value: found "x"`}},
		{"capability " + zero + " --lower 0 --distribution lognormal", exitFailed, []string{"data.csv:5: value: found -1; allowed: above 0"}},
		{"chart imr " + counts, exitFailed, []string{"data.csv:1: value: is missing"}},
		{"chart imr " + rinne + " --base 3", exitUsage, []string{`--base: found "3"`}},
		{"chart imr " + rinne + " --base 3:30", exitUsage, []string{"--base: found 3:30; allowed: from 1 to the 20"}},
		{"chart imr " + rinne + " --tests 9", exitUsage, []string{`--tests: found "9"`}},
		{"chart imr " + rinne + " --limits wide", exitUsage, []string{`--limits: found "wide"; allowed: sigma or prediction`}},
		{"chart imr " + rinne + " --dof effective", exitUsage, []string{"--dof: found without --limits prediction"}},
		{"chart cusum " + rinne + " --limits prediction", exitUsage, []string{"unknown option --limits of sagitta chart sums"}},
		{"chart imr " + rinne + " --sigma 0", exitUsage, []string{"--sigma: found 0"}},
		{"chart cusum " + rinne + " --head-start 1", exitUsage, []string{"--head-start: found 1"}},
		{"chart cusum " + rinne + " --h 0", exitUsage, []string{"--h: found 0"}},
		{"chart ewma " + rinne + " --target 1 --center 1", exitUsage, []string{"--target: found beside --center"}},
		{"chart pie " + rinne, exitUsage, []string{"unknown command"}},
		{"capability " + rinne, exitUsage, []string{"--lower: there is no limit"}},
		{"capability " + rinne + " --upper 2 --confidence 95", exitUsage, []string{"--confidence: found 95"}},
		{"capability " + rinne + " --upper 2 --distribution gamma", exitUsage, []string{`--distribution: found "gamma"`}},
		{"summary", exitUsage, []string{"takes FILE"}},
	} {
		code, out, errs := sagitta(t, "", strings.Fields(c.args)...)
		if code != c.code {
			t.Errorf("%s: code %d, want %d; %s", c.args, code, c.code, errs)
		}
		for _, words := range c.says {
			if !strings.Contains(out+errs, words) {
				t.Errorf("%s does not say %q:\n%s%s", c.args, words, out, errs)
			}
		}
	}
}
