package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/inspect/unit"
)

// studyResult is what came out of a study, for the page: the answer, why, the pictures, the numbers.
type studyResult struct {
	Answer        string
	Why           []string
	Charts        []*chart
	Columns       []string // heads of the table of numbers, after its first
	First         string   // head of its first column
	Rows          [][]string
	About         string // what the table holds
	Anova         []study.Source
	Repeatability float64 // mm, what the gauge may use; 0: the study gives none
	UseWords      string
}

// resultOf evaluates a study's standing readings of a gauge of the given resolution, mm. What cannot be evaluated is said in
// the answer.
func resultOf(plan batch.StudyPlan, readings []batch.StudyReading, resolution float64, lengths unit.Unit) studyResult {
	var r studyResult
	var err error
	switch plan.Kind {
	case batch.CrossedStudy:
		r, err = crossedResult(plan, readings, lengths)
	case batch.TypeOneStudy:
		r, err = typeOneResult(plan, readings, resolution, lengths)
	default:
		r, err = linearityResult(plan, readings, lengths)
	}
	if err != nil {
		return studyResult{Answer: "This study cannot be evaluated: " + err.Error() + "."}
	}
	return r
}

// percentWords is a percent to one decimal; what is not defined is a dash.
func percentWords(v *float64) string {
	if v == nil {
		return "–"
	}
	return fixed(*v, 1, false)
}

func crossedResult(plan batch.StudyPlan, readings []batch.StudyReading, lengths unit.Unit) (studyResult, error) {
	data := make([]study.Measurement, len(readings))
	for i, r := range readings {
		data[i] = study.Measurement{Part: r.Part, Appraiser: r.Appraiser, Trial: r.Trial, Value: r.ValueMM}
	}
	c, err := study.Crossed(data, study.Options{Tolerance: plan.ToleranceMM})
	if err != nil {
		return studyResult{}, err
	}
	fitness, why := c.Verdict()
	out := studyResult{
		Answer: fmt.Sprintf("The gauge is %s: it takes %s %% of the total variation.", fitness, percentWords(c.PercentGRR)),
		Why:    why, Anova: c.Table, First: "Component of variation",
		Columns:       []string{"Standard deviation, " + lengths.String(), "95 % interval", "% of total", "% of total variance", "% of tolerance"},
		About:         "Standard deviations by analysis of variance, parts and appraisers random; % of tolerance takes six standard deviations.",
		Repeatability: c.GRR, UseWords: "repeatability and reproducibility together, because a reading of whoever is at the bench carries both",
	}
	if fitness == study.Unknown {
		out.Answer = "It cannot be said whether the gauge is good enough."
	}
	interaction := 0.0
	if c.Interaction != nil {
		interaction = *c.Interaction
	}
	bars := chartSeries{Name: "share of the total variation", Kind: "bars"}
	var names []string
	for _, row := range []struct {
		key, name string
		sd        float64
	}{
		{"grr", "gauge and appraisers", c.GRR}, {"ev", "repeatability", c.EV}, {"av", "appraisers", c.AV},
		{"interaction", "part with appraiser", interaction}, {"pv", "parts", c.PV}, {"tv", "total", c.TV},
	} {
		interval := "–"
		if in := c.Intervals[row.key]; in != nil {
			interval = fineLength(in.Low, lengths) + " to " + fineLength(in.High, lengths)
		}
		share, variance, tolerance := "–", "–", "–"
		if c.TV > 0 {
			q := row.sd / c.TV
			share, variance = fixed(100*q, 1, false), fixed(100*q*q, 1, false)
			if row.key != "tv" {
				p := chartPoint{X: float64(len(names)), Y: numbersY(100 * q), Words: fmt.Sprintf("%s: %.1f %% of the total variation", row.name, 100*q)}
				if row.key == "grr" && fitness != study.Fit {
					p.State = "nonconforming"
				}
				bars.Points = append(bars.Points, p)
				names = append(names, row.name)
			}
		}
		if plan.ToleranceMM > 0 {
			tolerance = fixed(600*row.sd/plan.ToleranceMM, 1, false)
		}
		out.Rows = append(out.Rows, []string{row.name, fineLength(row.sd, lengths), interval, share, variance, tolerance})
	}
	out.Charts = append(out.Charts, appraiserChart(c, readings, lengths))
	if len(names) > 0 {
		out.Charts = append(out.Charts, &chart{
			ID: "components", Caption: "Share of the total variation; the shares of standard deviations do not add up to 100 %.",
			Spoken: "Components of variation; the table has the numbers.", X: chartAxis{Names: names},
			Y:      chartAxis{Title: "% of the total variation", Min: numbersY(0)},
			Series: []chartSeries{bars},
			Marks:  []chartMark{{At: 10, Words: "10: acceptable below", Kind: "target"}, {At: 30, Words: "30: not for verdicts above", Kind: "limit"}},
		})
	}
	return out, nil
}

// appraiserChart draws every reading by part, and each appraiser's means.
func appraiserChart(c study.CrossedResult, readings []batch.StudyReading, lengths unit.Unit) *chart {
	parts := slices.SortedFunc(slices.Values(c.Parts), inTheirOrder)
	out := chart{
		ID: "by-part", Tall: true, Caption: "Points: every reading. Lines: each appraiser's mean of a part. Lines that lie on one another agree.",
		Spoken: "Readings by part and appraiser; the running order has the numbers.",
		X:      chartAxis{Title: "part", Names: parts}, Y: chartAxis{Title: "reading, " + lengths.String(), Decimals: shownDecimals("mm", lengths)},
	}
	points := chartSeries{Name: "readings", Kind: "points"}
	for _, r := range readings {
		points.Points = append(points.Points, chartPoint{
			X: float64(slices.Index(parts, r.Part)), Y: numbersY(lengths.From(r.ValueMM)),
			Words: fmt.Sprintf("part %s, %s, round %s: %s", r.Part, r.Appraiser, r.Trial, signedLengthIn(r.ValueMM, lengths)),
		})
	}
	out.Series = append(out.Series, points)
	for i, a := range c.Appraisers {
		line := chartSeries{Name: a, Kind: "line", Label: a, Hue: i + 1, Dashed: i%2 == 1}
		for j, part := range parts {
			sum, n := 0.0, 0
			for _, r := range readings {
				if r.Part == part && r.Appraiser == a {
					sum, n = sum+r.ValueMM, n+1
				}
			}
			if n > 0 {
				line.Points = append(line.Points, chartPoint{X: float64(j), Y: numbersY(lengths.From(sum / float64(n))), Words: fmt.Sprintf("%s, part %s: mean %s", a, part, signedLengthIn(sum/float64(n), lengths))})
			}
		}
		out.Series = append(out.Series, line)
	}
	return &out
}

// inTheirOrder sorts labels by the number they end in, where both have one, else as text.
func inTheirOrder(a, b string) int {
	x, errA := strconv.Atoi(a[len(strings.TrimRight(a, "0123456789")):])
	y, errB := strconv.Atoi(b[len(strings.TrimRight(b, "0123456789")):])
	if errA == nil && errB == nil && x != y {
		return cmp.Compare(x, y)
	}
	return cmp.Compare(a, b)
}

func typeOneResult(plan batch.StudyPlan, readings []batch.StudyReading, resolution float64, lengths unit.Unit) (studyResult, error) {
	values := make([]float64, len(readings))
	points := chartSeries{Name: "readings", Kind: "both"}
	for i, r := range readings {
		values[i] = r.ValueMM
		points.Points = append(points.Points, chartPoint{X: float64(i + 1), Y: numbersY(lengths.From(r.ValueMM)), Words: fmt.Sprintf("reading %d: %s", i+1, signedLengthIn(r.ValueMM, lengths))})
	}
	master := plan.References[0]
	t, err := study.TypeOne(values, study.TypeOneOptions{Reference: master, Tolerance: plan.ToleranceMM})
	if err != nil {
		return studyResult{}, err
	}
	out := studyResult{
		First: "Figure", Columns: []string{"Value"}, Repeatability: t.SD, UseWords: "the standard deviation of these readings of one master",
		About: "Cg compares the gauge's spread with a fifth of the tolerance, Cgk its spread and bias together.",
		Rows: [][]string{
			{"Readings", fmt.Sprint(t.N)}, {"Mean, " + lengths.String(), fineLength(t.Mean, lengths)}, {"Standard deviation, " + lengths.String(), fineLength(t.SD, lengths)},
			{"Bias, " + lengths.String(), fineLength(t.Bias, lengths)}, {"Cg", figureWords(t.Cg)}, {"Cgk", figureWords(t.Cgk)}, {"p, that there is no bias", figureWords(t.P)},
		},
	}
	share := 0.0 // of the tolerance that one step of the gauge takes, percent
	if plan.ToleranceMM > 0 {
		share = 100 * resolution / plan.ToleranceMM
	}
	coarse := share > study.FinestStep
	switch {
	case t.Cg == nil && plan.ToleranceMM > 0:
		out.Answer = "Every reading is the same: the gauge's resolution hides its spread, and Cg cannot be said."
	case t.Cg == nil:
		out.Answer = fmt.Sprintf("The gauge repeats to %s %s (standard deviation); without a tolerance there is no Cg.", fineLength(t.SD, lengths), lengths)
	case *t.Cg >= study.Capable && *t.Cgk >= study.Capable && coarse:
		out.Answer = fmt.Sprintf("The gauge is not capable: Cg %.2f and Cgk %.2f reach %.2f, but its resolution is too coarse for the tolerance.", *t.Cg, *t.Cgk, study.Capable)
	case *t.Cg >= study.Capable && *t.Cgk >= study.Capable:
		out.Answer = fmt.Sprintf("The gauge is capable: Cg %.2f and Cgk %.2f, %.2f is needed.", *t.Cg, *t.Cgk, study.Capable)
	default:
		out.Answer = fmt.Sprintf("The gauge is not capable: Cg %.2f and Cgk %.2f, %.2f is needed of both.", *t.Cg, *t.Cgk, study.Capable)
	}
	if share > 0 {
		out.Rows = append(out.Rows, []string{"Resolution, % of the tolerance", fixed(share, 1, false)})
		out.Why = append(out.Why, fmt.Sprintf("Its resolution of %s takes %s %% of the tolerance: %s (at most %d %%).", exact(resolution, lengths), fixed(share, 1, false), pick(coarse, "too coarse, whatever the spread of its readings", "fine enough"), study.FinestStep))
	}
	if t.P != nil && *t.P < 0.05 {
		out.Why = append(out.Why, fmt.Sprintf("Its bias of %s %s is more than chance explains (p = %s): look at its correction table.", fineLength(t.Bias, lengths), lengths, digits(*t.P)))
	}
	if t.N < study.TypeOneLeast {
		out.Why = append(out.Why, fmt.Sprintf("Only %s: a type-1 study asks for %d or more.", counted(t.N, "reading", "readings"), study.TypeOneLeast))
	}
	run := chart{
		ID: "run", Caption: "Readings of the master in order.", Spoken: "Readings of the master in order; the running order has the numbers.",
		X: chartAxis{Title: "reading"}, Y: chartAxis{Title: "reading, " + lengths.String(), Decimals: shownDecimals("mm", lengths)}, Series: []chartSeries{points},
		Marks: []chartMark{{At: lengths.From(master), Words: "master", Kind: "centre"}},
	}
	if plan.ToleranceMM > 0 {
		for _, sign := range []float64{1, -1} {
			run.Marks = append(run.Marks, chartMark{At: lengths.From(master + sign*0.1*plan.ToleranceMM), Words: pick(sign > 0, "+", "−") + "10 % of the tolerance", Kind: "limit"})
		}
	}
	out.Charts = []*chart{&run}
	return out, nil
}

// linearityAnswer says whether the bias changes over the travel, else whether it is there at all: whether the fitted line's
// 95 % band at the mean of the masters leaves zero out. The intercept would answer for a master of zero, which may lie far
// from those measured.
func linearityAnswer(l study.LinearityResult, lengths unit.Unit) string {
	const none = 1e-9 // mm: rounding of what was read
	travel := l.Bias[len(l.Bias)-1].Reference - l.Bias[0].Reference
	mean := l.Intercept + l.Slope*l.Fit.MeanX
	switch {
	case l.PSlope != nil && *l.PSlope < 0.05:
		return fmt.Sprintf("The gauge's bias changes over its travel, by %s per unit of length (p = %s): enter a correction table.", digits(l.Slope), digits(*l.PSlope))
	case l.PSlope == nil && math.Abs(l.Slope)*travel > none:
		return fmt.Sprintf("The gauge's bias changes over its travel, by %s per unit of length without a residual: enter a correction table.", digits(l.Slope))
	case math.Abs(mean) > max(l.Fit.Band(l.Fit.MeanX), none):
		return fmt.Sprintf("The gauge is off by about the same amount at every master, %s %s on average, which is more than chance explains: set its zero, or enter a correction.", fineLength(mean, lengths), lengths)
	}
	return "No bias is seen that chance does not explain, over the masters measured."
}

// digits is a number without a unit to three digits, with a true minus.
func digits(v float64) string { return strings.ReplaceAll(fmt.Sprintf("%.3g", v), "-", "−") }

// figureWords is a number without a unit; what is not defined is a dash.
func figureWords(v *float64) string {
	if v == nil {
		return "–"
	}
	return digits(*v)
}

func linearityResult(plan batch.StudyPlan, readings []batch.StudyReading, lengths unit.Unit) (studyResult, error) {
	data := make([]study.Comparison, len(readings))
	points := chartSeries{Name: "bias", Kind: "points"}
	for i, r := range readings {
		data[i] = study.Comparison{Reference: r.ReferenceMM, Value: r.ValueMM}
		points.Points = append(points.Points, chartPoint{X: lengths.From(r.ReferenceMM), Y: numbersY(lengths.From(r.ValueMM - r.ReferenceMM)), Words: fmt.Sprintf("master %s: bias %s", lengthIn(r.ReferenceMM, lengths), signedLengthIn(r.ValueMM-r.ReferenceMM, lengths))})
	}
	l, err := study.Linearity(data)
	if err != nil {
		return studyResult{}, err
	}
	out := studyResult{
		First: "Master, " + lengths.String(), Columns: []string{"Readings", "Bias, " + lengths.String(), "t", "p, that there is none"},
		About: fmt.Sprintf("Fitted line: bias = %s %s %s × master.", fineLength(l.Intercept, lengths)+" "+lengths.String(), pick(l.Slope < 0, "−", "+"), digits(math.Abs(l.Slope))),
	}
	for _, b := range l.Bias {
		out.Rows = append(out.Rows, []string{numberIn(b.Reference, lengths), fmt.Sprint(b.N), fineLength(b.Bias, lengths), figureWords(b.T), figureWords(b.P)})
	}
	out.Answer = linearityAnswer(l, lengths)
	low, high := slices.Min(plan.References), slices.Max(plan.References)
	line, over, under := chartSeries{Name: "fitted line", Kind: "line", Label: "fitted line"}, chartSeries{Name: "95 % band", Kind: "line", Quiet: true, Label: "95 % band"}, chartSeries{Name: "95 % band", Kind: "line", Quiet: true}
	for i := range 41 {
		x := low + (high-low)*float64(i)/40
		y, band := l.Intercept+l.Slope*x, l.Fit.Band(x)
		line.Points = append(line.Points, chartPoint{X: lengths.From(x), Y: numbersY(lengths.From(y))})
		if !math.IsNaN(band) {
			over.Points = append(over.Points, chartPoint{X: lengths.From(x), Y: numbersY(lengths.From(y + band))})
			under.Points = append(under.Points, chartPoint{X: lengths.From(x), Y: numbersY(lengths.From(y - band))})
		}
	}
	out.Charts = []*chart{{
		ID: "linearity", Caption: "Bias at each master with the fitted line. Zero within the band everywhere: no bias is shown.",
		Spoken: "Bias by master; the table has the numbers.", X: chartAxis{Title: "master, " + lengths.String(), Decimals: shownDecimals("mm", lengths) - 2},
		Y:      chartAxis{Title: "bias, " + lengths.String(), Decimals: shownDecimals("mm", lengths)},
		Series: []chartSeries{points, line, over, under}, Marks: []chartMark{{At: 0, Words: "no bias", Kind: "centre"}},
	}}
	return out, nil
}
