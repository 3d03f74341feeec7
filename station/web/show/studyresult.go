package show

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/study"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
)

// StudyResult is what came out of a study, for the page: the answer, why, the pictures, the numbers.
type StudyResult struct {
	Answer        string
	Why           []string
	Charts        []*Chart
	Columns       []string // heads of the table of numbers, after its first
	First         string   // head of its first column
	Rows          [][]string
	About         string // what the table holds
	Anova         []study.Source
	Repeatability float64 // mm, what the gauge may use; 0: the study gives none
	UseWords      string
}

// StudyResultOf evaluates a study's standing readings of a gauge of the given resolution, mm. What cannot be evaluated is said in
// the answer.
func StudyResultOf(plan batch.StudyPlan, readings []batch.StudyReading, resolution float64, lengths unit.Unit) StudyResult {
	var r StudyResult
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
		return StudyResult{Answer: "This study cannot be evaluated: " + err.Error() + "."}
	}
	return r
}

func crossedResult(plan batch.StudyPlan, readings []batch.StudyReading, lengths unit.Unit) (StudyResult, error) {
	data := make([]study.Measurement, len(readings))
	for i, r := range readings {
		data[i] = study.Measurement{Part: r.Part, Appraiser: r.Appraiser, Trial: r.Trial, Value: r.ValueMM}
	}
	c, err := study.Crossed(data, study.Options{Tolerance: plan.ToleranceMM})
	if err != nil {
		return StudyResult{}, err
	}
	fitness, _ := c.Verdict()
	answer, why := tell.Crossed(c)
	out := StudyResult{
		Answer: answer, Why: append(why, tell.CrossedDesign(c)...), Anova: c.Table, First: tell.Upper(tell.WhereSpread),
		Columns:       []string{"Standard deviation, " + lengths.String(), "95 % interval", "% of total", "% of total variance", "% of tolerance"},
		About:         "Standard deviations by analysis of variance, parts and appraisers random; % of tolerance takes six standard deviations.",
		Repeatability: c.GRR, UseWords: "repeatability and reproducibility together, because a reading of whoever is at the bench carries both",
	}
	bars := Series{Name: "share of the total variation", Kind: "bars"}
	var names []string
	for _, row := range tell.SpreadSources(c) {
		interval := "–"
		if in := c.Intervals[row.Key]; in != nil {
			interval = Fine(in.Low, lengths) + " to " + Fine(in.High, lengths)
		}
		share, variance, tolerance := "–", "–", "–"
		if c.TV > 0 {
			q := row.SD / c.TV
			share, variance = Fixed(100*q, 1, false), Fixed(100*q*q, 1, false)
			if row.Key != "tv" {
				p := Point{X: float64(len(names)), Y: Y(100 * q), Words: fmt.Sprintf("%s: %.1f %% of the total variation", row.Name, 100*q)}
				if row.Key == "grr" && fitness != study.Fit {
					p.State = "nonconforming"
				}
				bars.Points = append(bars.Points, p)
				names = append(names, row.Name)
			}
		}
		if plan.ToleranceMM > 0 {
			tolerance = Fixed(600*row.SD/plan.ToleranceMM, 1, false)
		}
		out.Rows = append(out.Rows, []string{row.Name, Fine(row.SD, lengths), interval, share, variance, tolerance})
	}
	out.Charts = append(out.Charts, appraiserChart(c, readings, lengths))
	if len(names) > 0 {
		out.Charts = append(out.Charts, &Chart{
			ID: "components", Caption: "Share of the total variation; the shares of standard deviations do not add up to 100 %.",
			Spoken: "Where the spread comes from; the table has the numbers.", X: Axis{Names: names},
			Y:      Axis{Title: "% of the total variation", Min: Y(0)},
			Series: []Series{bars},
			Marks:  []Mark{{At: 10, Words: "10: acceptable below", Kind: "target"}, {At: 30, Words: "30: not for verdicts above", Kind: "limit"}},
		})
	}
	return out, nil
}

// appraiserChart draws every reading by part, and each appraiser's means.
func appraiserChart(c study.CrossedResult, readings []batch.StudyReading, lengths unit.Unit) *Chart {
	parts := slices.SortedFunc(slices.Values(c.Parts), inTheirOrder)
	out := Chart{
		ID: "by-part", Tall: true, Caption: "Points: every reading. Lines: each appraiser's mean of a part. Lines that lie on one another agree.",
		Spoken: "Readings by part and appraiser; the running order has the numbers.",
		X:      Axis{Title: "part", Names: parts}, Y: Axis{Title: "reading, " + lengths.String(), Decimals: Decimals("mm", lengths)},
	}
	points := Series{Name: "readings", Kind: "points"}
	for _, r := range readings {
		points.Points = append(points.Points, Point{
			X: float64(slices.Index(parts, r.Part)), Y: Y(lengths.From(r.ValueMM)),
			Words: fmt.Sprintf("part %s, %s, trial %s: %s", r.Part, r.Appraiser, r.Trial, SignedLength(r.ValueMM, lengths)),
		})
	}
	out.Series = append(out.Series, points)
	for i, a := range c.Appraisers {
		line := Series{Name: a, Kind: "line", Label: a, Hue: i + 1, Dashed: i%2 == 1}
		for j, part := range parts {
			sum, n := 0.0, 0
			for _, r := range readings {
				if r.Part == part && r.Appraiser == a {
					sum, n = sum+r.ValueMM, n+1
				}
			}
			if n > 0 {
				line.Points = append(line.Points, Point{X: float64(j), Y: Y(lengths.From(sum / float64(n))), Words: fmt.Sprintf("%s, part %s: mean %s", a, part, SignedLength(sum/float64(n), lengths))})
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

func typeOneResult(plan batch.StudyPlan, readings []batch.StudyReading, resolution float64, lengths unit.Unit) (StudyResult, error) {
	values := make([]float64, len(readings))
	points := Series{Name: "readings", Kind: "both"}
	for i, r := range readings {
		values[i] = r.ValueMM
		points.Points = append(points.Points, Point{X: float64(i + 1), Y: Y(lengths.From(r.ValueMM)), Words: fmt.Sprintf("reading %d: %s", i+1, SignedLength(r.ValueMM, lengths))})
	}
	master := plan.References[0]
	t, err := study.TypeOne(values, study.TypeOneOptions{Reference: master, Tolerance: plan.ToleranceMM, Resolution: resolution})
	if err != nil {
		return StudyResult{}, err
	}
	out := StudyResult{
		First: "Figure", Columns: []string{"Value"}, Repeatability: t.SD, UseWords: "the standard deviation of these readings of one master",
		About: "Cg compares the gauge's spread with a fifth of the tolerance, Cgk its spread and bias together.",
		Rows: [][]string{
			{"Readings", fmt.Sprint(t.N)}, {"Mean, " + lengths.String(), Fine(t.Mean, lengths)}, {"Standard deviation, " + lengths.String(), Fine(t.SD, lengths)},
			{"Bias, " + lengths.String(), Fine(t.Bias, lengths)}, {"Cg", Figure(t.Cg)}, {"Cgk", Figure(t.Cgk)}, {"p, that there is no bias", Figure(t.P)},
		},
	}
	out.Answer, out.Why = tell.TypeOne(t, studyScale(lengths))
	if t.StepShare != nil {
		out.Rows = append(out.Rows, []string{"Resolution, % of the tolerance", Fixed(*t.StepShare, 1, false)})
	}
	run := Chart{
		ID: "run", Caption: "Readings of the master in order.", Spoken: "Readings of the master in order; the running order has the numbers.",
		X: Axis{Title: "reading"}, Y: Axis{Title: "reading, " + lengths.String(), Decimals: Decimals("mm", lengths)}, Series: []Series{points},
		Marks: []Mark{{At: lengths.From(master), Words: "master", Kind: "centre"}},
	}
	if plan.ToleranceMM > 0 {
		for _, sign := range []float64{1, -1} {
			run.Marks = append(run.Marks, Mark{At: lengths.From(master + sign*0.1*plan.ToleranceMM), Words: Pick(sign > 0, "+", "−") + "10 % of the tolerance", Kind: "limit"})
		}
	}
	out.Charts = []*Chart{&run}
	return out, nil
}

// studyScale is how a study's lengths are told, a digit finer than readings.
func studyScale(lengths unit.Unit) tell.Scale {
	return tell.Scale{Of: "mm", In: lengths, StepMM: 0.0001}
}

func linearityResult(plan batch.StudyPlan, readings []batch.StudyReading, lengths unit.Unit) (StudyResult, error) {
	data := make([]study.Comparison, len(readings))
	points := Series{Name: "bias", Kind: "points"}
	for i, r := range readings {
		data[i] = study.Comparison{Reference: r.ReferenceMM, Value: r.ValueMM}
		points.Points = append(points.Points, Point{X: lengths.From(r.ReferenceMM), Y: Y(lengths.From(r.ValueMM - r.ReferenceMM)), Words: fmt.Sprintf("master %s: bias %s", Length(r.ReferenceMM, lengths), SignedLength(r.ValueMM-r.ReferenceMM, lengths))})
	}
	l, err := study.Linearity(data)
	if err != nil {
		return StudyResult{}, err
	}
	out := StudyResult{
		First: "Master, " + lengths.String(), Columns: []string{"Readings", "Bias, " + lengths.String(), "t", "p, that there is none"},
		About: "Fitted line: " + tell.FittedLine(l, studyScale(lengths)) + ".",
	}
	for _, b := range l.Bias {
		out.Rows = append(out.Rows, []string{Number(b.Reference, lengths), fmt.Sprint(b.N), Fine(b.Bias, lengths), Figure(b.T), Figure(b.P)})
	}
	out.Answer = tell.Linearity(l, studyScale(lengths))
	low, high := slices.Min(plan.References), slices.Max(plan.References)
	line, over, under := Series{Name: "fitted line", Kind: "line", Label: "fitted line"}, Series{Name: "95 % band", Kind: "line", Quiet: true, Label: "95 % band"}, Series{Name: "95 % band", Kind: "line", Quiet: true}
	for i := range 41 {
		x := low + (high-low)*float64(i)/40
		y, band := l.Intercept+l.Slope*x, l.Fit.Band(x)
		line.Points = append(line.Points, Point{X: lengths.From(x), Y: Y(lengths.From(y))})
		if !math.IsNaN(band) {
			over.Points = append(over.Points, Point{X: lengths.From(x), Y: Y(lengths.From(y + band))})
			under.Points = append(under.Points, Point{X: lengths.From(x), Y: Y(lengths.From(y - band))})
		}
	}
	out.Charts = []*Chart{{
		ID: "linearity", Caption: "Bias at each master with the fitted line. Zero within the band everywhere: no bias is shown.",
		Spoken: "Bias by master; the table has the numbers.", X: Axis{Title: "master, " + lengths.String(), Decimals: Decimals("mm", lengths) - 2},
		Y:      Axis{Title: "bias, " + lengths.String(), Decimals: Decimals("mm", lengths)},
		Series: []Series{points, line, over, under}, Marks: []Mark{{At: 0, Words: "no bias", Kind: "centre"}},
	}}
	return out, nil
}

// KindOfStudy is a kind in a few words.
func KindOfStudy(k batch.StudyKind) string {
	return map[batch.StudyKind]string{batch.CrossedStudy: "crossed study", batch.TypeOneStudy: "type-1 study", batch.LinearityStudy: "bias and linearity"}[k]
}
