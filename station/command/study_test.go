package command

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

const (
	crossedKeys   = "ev av interaction grr pv tv percent_grr percent_pv variance_share_grr percent_tolerance_grr ndc pooled anova"
	typeOneKeys   = "n mean sd bias t p cg cgk"
	linearityKeys = "slope intercept r2 p_slope p_intercept bias"
	agreementKeys = "fleiss_kappa between reference"
)

// crossedFile writes data[appraiser][part][trial].
func crossedFile(t *testing.T, data [][][]float64) string {
	t.Helper()
	var rows []string
	for a := range data {
		for p := range data[a] {
			for i, v := range data[a][p] {
				rows = append(rows, fmt.Sprintf("%d,%c,%d,%v", p+1, 'A'+a, i+1, v))
			}
		}
	}
	return delimited(t, "part,appraiser,trial,value", rows)
}

// Source: AIAG manual, chapter III section B, both methods, and percent of tolerance (gauge_studies.json).
func TestStudyCrossed(t *testing.T) {
	ranges := examples(t, "gauge_studies.json", "average-and-range method, ")
	e := ranges[len(ranges)-1] // factors to full digits
	file := crossedFile(t, value[[][][]float64](t, e.Inputs, "data"))
	r := asked(t, crossedKeys, "study", "crossed", file, "--method", "range")
	for key, name := range map[string]string{"ev": "EV", "av": "AV", "grr": "GRR", "pv": "PV", "tv": "TV", "percent_grr": "pct_GRR", "percent_pv": "pct_PV", "ndc": "ndc"} {
		same(t, key, r[key], value[float64](t, e.Expected, name), 1e-9)
	}
	if r["interaction"] != nil || r["percent_tolerance_grr"] != nil || r["pooled"] != false || len(r["anova"].([]any)) != 0 {
		t.Errorf("average and range: %v", r)
	}

	e = examples(t, "gauge_studies.json", "ANOVA method")[0]
	want := value[struct {
		SD    map[string]float64
		Study map[string]float64 `json:"pct_study_variation"`
		Share map[string]float64 `json:"pct_contribution"`
		NDC   float64
		F, P  map[string]float64
	}](t, e.Expected, "interaction_pooled")
	tolerance := examples(t, "gauge_studies.json", "percent of tolerance")[0]
	shares := value[map[string]float64](t, tolerance.Expected, "interaction_pooled pct_tolerance")
	r = asked(t, crossedKeys, "study", "crossed", file, "--tolerance", "6")
	for key, number := range map[string]float64{"ev": want.SD["repeatability"], "av": want.SD["operator"], "interaction": 0, "grr": want.SD["GRR"],
		"pv": want.SD["part"], "tv": want.SD["total"], "percent_grr": want.Study["GRR"], "percent_pv": want.Study["part"],
		"variance_share_grr": want.Share["GRR"], "percent_tolerance_grr": shares["GRR"], "ndc": want.NDC} {
		same(t, key, r[key], number, 1e-8)
	}
	table := r["anova"].([]any)
	if r["pooled"] != true || len(table) != 4 {
		t.Fatalf("pooled %v, %d sources", r["pooled"], len(table))
	}
	part := table[0].(map[string]any)
	if part["source"] != "part" || part["df"] != 9.0 {
		t.Errorf("first source %v", part)
	}
	same(t, "F of part", part["f"], want.F["part"], 1e-8)
	same(t, "p of part", part["p"], want.P["part"], 1e-8)
}

// Source: NIST StRD, one-way analysis of variance, as studies of one appraiser (anova_regression.json).
func TestStudyOneAppraiser(t *testing.T) {
	for _, e := range examples(t, "anova_regression.json", "SiRstv") {
		groups := value[map[string][]float64](t, e.Inputs, "groups")
		var rows []string
		for name, group := range groups {
			for i, v := range group {
				rows = append(rows, fmt.Sprintf("%s,A,%d,%v", name, i+1, v))
			}
		}
		r := asked(t, crossedKeys, "study", "crossed", delimited(t, "part,appraiser,trial,value", rows))
		table := r["anova"].([]any)
		part, within := table[0].(map[string]any), table[1].(map[string]any)
		same(t, "SS between", part["ss"], value[float64](t, e.Expected, "SS_between"), 1e-10)
		same(t, "SS within", within["ss"], value[float64](t, e.Expected, "SS_within"), 1e-10)
		same(t, "F", part["f"], value[float64](t, e.Expected, "F"), 1e-10)
		if r["av"] != 0.0 || r["interaction"] != 0.0 || within["source"] != "repeatability" {
			t.Errorf("one appraiser: %v", r)
		}
	}
}

// Source: type-1 studies with several settings, and the AIAG manual's bias study (gauge_studies.json).
func TestStudyTypeOne(t *testing.T) {
	rows := func(e example) []string {
		var rows []string
		for _, v := range value[[]float64](t, e.Inputs, "x") {
			rows = append(rows, fmt.Sprint(v))
		}
		return rows
	}
	for _, e := range examples(t, "gauge_studies.json", "Type 1 study") {
		r := asked(t, typeOneKeys, "study", "type1", delimited(t, "value", rows(e)),
			"--reference", string(e.Inputs["reference"]), "--tolerance", string(e.Inputs["tolerance"]), "--resolution", string(e.Inputs["resolution"]),
			"--share", fmt.Sprint(value[float64](t, e.Inputs, "K_percent")/100), "--spread", string(e.Inputs["L"]))
		for key, name := range map[string]string{"n": "n", "mean": "mean", "sd": "sd", "bias": "bias", "p": "p_bias", "cg": "Cg", "cgk": "Cgk"} {
			same(t, e.Name+" "+key, r[key], value[float64](t, e.Expected, name), 1e-8)
		}
		// The source prints the size of t; it has the sign of the bias.
		same(t, e.Name+" t", r["t"], math.Copysign(value[float64](t, e.Expected, "t"), value[float64](t, e.Expected, "bias")), 1e-8)
	}
	e := examples(t, "gauge_studies.json", "Bias")[0]
	r := asked(t, typeOneKeys, "study", "type1", delimited(t, "value", rows(e)), "--reference", "6")
	for key, name := range map[string]string{"n": "n", "mean": "mean", "sd": "sd", "bias": "bias", "t": "t", "p": "p"} {
		same(t, key, r[key], value[float64](t, e.Expected, name), 1e-8)
	}
	if r["cg"] != nil || r["cgk"] != nil {
		t.Errorf("Cg without a tolerance: %v", r)
	}
	r = asked(t, typeOneKeys, "study", "type1", delimited(t, "value", []string{"0.1", "0.1", "0.1"}), "--reference", "0.1", "--tolerance", "1")
	if r["sd"] != 0.0 || r["t"] != nil || r["p"] != nil || r["cg"] != nil || r["cgk"] != nil {
		t.Errorf("equal readings: %v", r)
	}
}

// Source: AIAG manual, linearity (gauge_studies.json).
func TestStudyLinearity(t *testing.T) {
	e := examples(t, "gauge_studies.json", "Linearity")[0]
	references := value[[]float64](t, e.Inputs, "reference")
	var rows []string
	for i, readings := range value[[][]float64](t, e.Inputs, "readings") {
		for _, v := range readings {
			rows = append(rows, fmt.Sprintf("%v,%v", references[i], v))
		}
	}
	r := asked(t, linearityKeys, "study", "linearity", delimited(t, "reference,value", rows))
	for key, name := range map[string]string{"slope": "slope", "intercept": "intercept", "r2": "R2", "p_slope": "p_slope", "p_intercept": "p_intercept"} {
		same(t, key, r[key], value[float64](t, e.Expected, name), 1e-8)
	}
	bias, ts := value[[]float64](t, e.Expected, "bias_by_reference"), value[[]float64](t, e.Expected, "per_reference_t")
	for i, got := range r["bias"].([]any) {
		b := got.(map[string]any)
		same(t, "reference", b["reference"], references[i], 0)
		same(t, "n", b["n"], 12, 0)
		same(t, "bias", b["bias"], bias[i], 1e-8)
		same(t, "t", b["t"], ts[i], 1e-8)
	}
}

// Sources: the constructed attribute study by the AIAG manual's definitions; Cohen's tables and Fleiss' example, rebuilt as
// files with these counts (gauge_studies.json).
func TestStudyAgreement(t *testing.T) {
	e := examples(t, "gauge_studies.json", "Attribute agreement study")[0]
	truth := value[[]int](t, e.Inputs, "reference (1 good, 0 bad)")
	var rows []string
	for a, items := range value[[][][]int](t, e.Inputs, "ratings[appraiser][part][trial]") {
		for i, trials := range items {
			for k, v := range trials {
				rows = append(rows, fmt.Sprintf("%d,appraiser %d,%d,%d,%d", i+1, a+1, k+1, v, truth[i]))
			}
		}
	}
	r := asked(t, agreementKeys, "study", "agreement", delimited(t, "item,appraiser,trial,rating,reference", rows))
	same(t, "fleiss", r["fleiss_kappa"], value[float64](t, e.Expected, "between_appraisers_fleiss_kappa (all ratings)"), 1e-8)
	if len(r["between"].([]any)) != 3 {
		t.Errorf("pairs %v", r["between"])
	}
	for _, got := range r["reference"].([]any) {
		k := got.(map[string]any)
		want := value[struct{ Kappa float64 }](t, e.Expected, k["appraiser"].(string)+" kappa against reference (rows reference, columns rating)")
		same(t, k["appraiser"].(string), k["kappa"], want.Kappa, 1e-8)
	}

	for _, e := range examples(t, "gauge_studies.json", "Cohen's kappa") {
		rows, item := []string(nil), 0
		for a, row := range value[[][]int](t, e.Inputs, "table") {
			for b, n := range row {
				for range n {
					item++
					rows = append(rows, fmt.Sprintf("%d,first,1,%d", item, a), fmt.Sprintf("%d,second,1,%d", item, b))
				}
			}
		}
		r := asked(t, agreementKeys, "study", "agreement", delimited(t, "item,appraiser,trial,rating", rows))
		pair := r["between"].([]any)[0].(map[string]any)
		same(t, e.Name, pair["cohen_kappa"], value[float64](t, e.Expected, "kappa"), 1e-8)
		if pair["a"] != "first" || pair["b"] != "second" || len(r["reference"].([]any)) != 0 {
			t.Errorf("%s: %v", e.Name, r)
		}
	}

	e = examples(t, "gauge_studies.json", "Fleiss")[0]
	rows = nil
	for item, counts := range value[[][]int](t, e.Inputs, "counts") {
		rater := 0
		for category, n := range counts {
			for range n {
				rater++
				rows = append(rows, fmt.Sprintf("%d,rater %d,1,%d", item, rater, category))
			}
		}
	}
	r = asked(t, agreementKeys, "study", "agreement", delimited(t, "item,appraiser,trial,rating", rows))
	same(t, "fleiss", r["fleiss_kappa"], value[float64](t, e.Expected, "kappa"), 1e-9)
}

// Source: MIL-STD-105E, the 60 look-ups and the code letters (acceptance_sampling.json).
func TestSamplingCommand(t *testing.T) {
	for _, e := range examples(t, "acceptance_sampling.json", "look-ups") {
		for _, row := range value[[][]any](t, e.Expected, "rows") {
			r := asked(t, "code n accept reject", "sampling", "--lot", fmt.Sprint(row[0]), "--level", row[1].(string), "--aql", fmt.Sprint(row[2]), "--severity", row[3].(string))
			if r["code"] != row[4] || r["n"] != row[7] || r["accept"] != row[8] || r["reject"] != row[9] {
				t.Errorf("%v: %v", row, r)
			}
		}
	}
}

// What people read: the answer as a sentence first, then why, then the tables.
func TestStudyWords(t *testing.T) {
	e := examples(t, "gauge_studies.json", "ANOVA method")[0]
	file := crossedFile(t, value[[][][]float64](t, e.Inputs, "data"))
	ratings := delimited(t, "item,appraiser,trial,rating", []string{"1,A,1,good", "1,B,1,good", "2,A,1,bad", "2,B,1,bad", "3,A,1,bad", "3,B,1,good"})
	master := delimited(t, "value", []string{"1.000", "1.001", "0.999", "1.000", "1.002"})
	line := delimited(t, "reference,value", []string{"1,1.01", "1,1.02", "5,5.00", "5,5.03", "9,9.02", "9,9.01"})
	for _, c := range []struct {
		args  []string
		first string
		holds []string
	}{
		{[]string{"study", "crossed", file, "--tolerance", "6"}, "The gauge is conditional: it takes", []string{"27.9 %", "4 categories", "10 parts, 3 appraisers, 3 trials", "pooled", "parts                   92.2 % ####", "repeatability  78"}},
		{[]string{"study", "crossed", file, "--method", "range"}, "The gauge is conditional: it takes", []string{"26.7 %", "5 categories", "average and range"}},
		{[]string{"study", "type1", master, "--reference", "1", "--tolerance", "0.1", "--resolution", "0.01"}, "The gauge is not capable", []string{"its resolution is too coarse", "Only 5 readings", "10.0 % of the tolerance: too coarse", "cannot be told from none"}},
		{[]string{"study", "type1", master, "--reference", "1.05", "--tolerance", "0.1"}, "The gauge is not capable: its spread would do", []string{"more than chance explains"}},
		{[]string{"study", "linearity", line}, "The gauge is linear", []string{"of 3 masters", "95 % band"}},
		{[]string{"study", "agreement", ratings}, "Agreement of all ratings", []string{"A, B", "3 of 3", "Clopper"}},
		{[]string{"sampling", "--lot", "500", "--aql", "0.65"}, "Look at 80 of 500 units. Accept the lot with at most 1 nonconforming unit, reject it from 2 on.", []string{"letter H has no plan", "letter J", "steady process"}},
		{[]string{"sampling", "--lot", "8", "--aql", "1"}, "Look at all 8 units: the plan's sample of 13", []string{"with no nonconforming unit, reject it from 1", "letter E"}},
		{[]string{"sampling", "--lot", "1000", "--aql", "15"}, "Look at 80 of 1000 units. Accept the lot with at most 21 nonconformities", []string{"per 100 units", "Poisson"}},
		{[]string{"sampling", "--lot", "2000", "--aql", "0.65", "--severity", "reduced"}, "Look at 50 of 2000 units. Accept the lot with at most 1 nonconforming unit, reject it from 3 on.", []string{"Between the two it is accepted"}},
	} {
		code, out, errs := sagitta(t, "", c.args...)
		if code != exitDone || errs != "" || !strings.HasPrefix(out, c.first) {
			t.Errorf("%v: code %d, %s\n%s", c.args, code, errs, out)
		}
		for _, want := range c.holds {
			if !strings.Contains(out, want) {
				t.Errorf("%v: %q is missing in\n%s", c.args, want, out)
			}
		}
	}
}

// A mistake is named with file, line and column, or with the option.
func TestStudyErrors(t *testing.T) {
	crossed := func(rows ...string) string { return delimited(t, "part,appraiser,trial,value", rows) }
	values := delimited(t, "value", []string{"1", "2", "3"})
	full := []string{"1,A,1,1.0", "1,A,2,1.1", "2,A,1,2.0", "2,A,2,2.1"}
	for _, c := range []struct {
		args []string
		code int
		want []string
	}{
		{[]string{"study", "crossed", crossed(full[:3]...)}, exitFailed, []string{"data.csv", "part 2, appraiser A, trial 2 is missing"}},
		{[]string{"study", "crossed", crossed(append(full, full[1])...)}, exitFailed, []string{"data.csv:6: trial: part 1, appraiser A, trial 2 is there a second time"}},
		{[]string{"study", "crossed", crossed(append(full, "3,A,1,abc")...)}, exitFailed, []string{"data.csv:6", "value", "abc"}},
		{[]string{"study", "crossed", crossed(append(full, "3,A,1,NaN")...)}, exitFailed, []string{"data.csv:6", "value", "NaN"}},
		{[]string{"study", "crossed", crossed(append(full, "3,A,1,")...)}, exitFailed, []string{"data.csv:6", "value"}},
		{[]string{"study", "crossed", crossed(append(full, ",A,1,4")...)}, exitFailed, []string{"data.csv:6", "part"}},
		{[]string{"study", "crossed", values}, exitFailed, []string{"data.csv", "part"}},
		{[]string{"study", "crossed", filepath.Join(t.TempDir(), "none.csv")}, exitFailed, []string{"none.csv"}},
		{[]string{"study", "crossed", crossed(full...), "--method", "reml"}, exitUsage, []string{`--method: found "reml"; allowed: anova or range`}},
		{[]string{"study", "crossed", crossed(full...), "--tolerance", "0"}, exitUsage, []string{"--tolerance: found 0; allowed: a finite number above 0"}},
		{[]string{"study", "crossed"}, exitUsage, []string{"takes FILE"}},
		{[]string{"study", "type1", values}, exitUsage, []string{"needs --reference R"}},
		{[]string{"study", "type1", values, "--reference", "1", "--share", "20"}, exitUsage, []string{"--share: found 20; allowed: above 0, at most 1"}},
		{[]string{"study", "linearity", delimited(t, "reference,value", []string{"1,1", "1,2", "1,3"})}, exitFailed, []string{"at least 2 different references"}},
		{[]string{"study", "agreement", delimited(t, "item,appraiser,trial,rating", []string{"1,A,1,good", "2,A,1,bad", "3,A,1,poor"}), "--weights", "linear"}, exitUsage, []string{"--weights", "words without an order"}},
		{[]string{"sampling", "--lot", "100"}, exitUsage, []string{"needs --lot N", "--aql A"}},
		{[]string{"sampling", "--lot", "100", "--aql", "1.1"}, exitUsage, []string{"--aql: found 1.1; allowed: 0.01, 0.015"}},
		{[]string{"sampling", "--lot", "1", "--aql", "1"}, exitUsage, []string{"--lot: found 1; allowed: 2 or more"}},
	} {
		code, out, errs := sagitta(t, "", c.args...)
		if code != c.code || out != "" {
			t.Errorf("%v: code %d, want %d; %s", c.args, code, c.code, out)
		}
		for _, want := range c.want {
			if !strings.Contains(errs, want) {
				t.Errorf("%v: %q is missing in %q", c.args, want, errs)
			}
		}
	}
}

// A file as spreadsheets write it, with a column of its own name for the values: semicolons, decimal commas, a byte order
// mark. (0.31 + 0.36 + 0.29)/3 = 0.32.
func TestColumnOfValues(t *testing.T) {
	rows := "\ufeffSerial;Relief bass;Subgroup\r\nQM-1;0,31;1\r\nQM-2;0,36;1\r\nQM-3;0,29;2\r\n"
	for _, args := range [][]string{
		{"summary", "-"}, {"chart", "single", "-"}, {"chart", "drift", "-"}, {"chart", "sums", "-"}, {"capability", "-", "--upper", "0.5"},
		{"study", "master", "-", "--reference", "0.3"},
	} {
		code, out, errs := sagitta(t, rows, append(args, "--column", "Relief bass", "--json")...)
		if code != exitDone || !strings.Contains(out, `0.3`) {
			t.Errorf("%q: code %d, %s%s", args, code, out, errs)
		}
		code, _, errs = sagitta(t, rows, args...)
		if want := "standard input:1: value: is missing; the header names: Serial, Relief bass, Subgroup; --column NAME names the values' column"; code != exitFailed || !strings.Contains(errs, want) {
			t.Errorf("%q: code %d, %s; want %s", args, code, errs, want)
		}
		code, _, errs = sagitta(t, rows, append(args, "--column", "Relief bas")...)
		if want := `standard input:1: Relief bas: is missing; the header names: Serial, Relief bass, Subgroup; did you mean "Relief bass"?`; code != exitFailed || !strings.Contains(errs, want) {
			t.Errorf("%q: code %d, %s; want %s", args, code, errs, want)
		}
	}
	_, out, errs := sagitta(t, rows, "summary", "-", "--column", "Relief bass", "--json")
	if !strings.Contains(out, `"mean":0.32`) {
		t.Errorf("%s%s", out, errs)
	}
	code, _, errs := sagitta(t, "Bias;Master\n0,1;a\n", "study", "travel", "-", "--column", "Bias")
	if want := "standard input:1: reference: is missing"; code != exitFailed || !strings.Contains(errs, want) {
		t.Errorf("code %d, %s; want %s", code, errs, want)
	}
	code, _, errs = sagitta(t, "count;size\n1;2\n", "chart", "share", "-", "--column", "count")
	if code != exitUsage {
		t.Errorf("a chart without values: code %d, %s", code, errs)
	}
}
