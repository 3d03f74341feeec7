package batches

import (
	"fmt"
	"math"
	"net/http"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// reworkPage is how often necks came back, and what was done to them.
type reworkPage struct {
	batchHead
	Loops    loopsView
	Outcomes outcomeView
}

func (s *server) reworkPage(c *site.Request) (err error) {
	var p reworkPage
	if p.batchHead, err = s.headOf(c, "rework"); err != nil {
		return err
	}
	loops, err := s.opt.Record.Loops(c.Request.Context(), p.Batch.ID, mostPoints)
	if err != nil {
		return err
	}
	p.Loops = loopsOf(loops)
	if p.Counts.Registered > mostPoints {
		p.Loops.Sentence = fmt.Sprintf("Of the %d necks registered last. %s", mostPoints, p.Loops.Sentence)
	}
	outcomes, err := s.opt.Record.ReworkOutcomes(c.Request.Context(), p.Batch.ID, mostPoints)
	if err != nil {
		return err
	}
	p.Outcomes = outcomesOf(outcomes, c.Unit())
	return c.Show(http.StatusOK, "batchrework", p.title(), p)
}

// loopsView is how often necks came back, and how long it took until they passed.
type loopsView struct {
	Sentence string
	Rows     []loopRow
	Median   string // time to pass
	Slow     string // time within which nine of ten passed
}

// loopRow counts the necks of one number of inspections.
type loopRow struct {
	Inspections     int
	Passed, Waiting int
}

// loopsOf words a batch's rework loops.
func loopsOf(l batch.Loops) loopsView {
	var v loopsView
	byCount := map[int]*loopRow{}
	most := 0
	add := func(counts []batch.Count, passed bool) {
		for _, c := range counts {
			if byCount[c.Of] == nil {
				byCount[c.Of] = &loopRow{Inspections: c.Of}
			}
			if passed {
				byCount[c.Of].Passed += c.Necks
			} else {
				byCount[c.Of].Waiting += c.Necks
			}
			most = max(most, c.Of)
		}
	}
	add(l.Attempts, true)
	add(l.Waiting, false)
	passed, inspections := 0, 0
	for n := 1; n <= most; n++ {
		if r := byCount[n]; r != nil {
			v.Rows = append(v.Rows, *r)
			passed, inspections = passed+r.Passed, inspections+n*r.Passed
		}
	}
	if passed == 0 {
		v.Sentence = "No neck has passed yet."
		return v
	}
	v.Sentence = fmt.Sprintf("A neck that passes takes %.2f inspections on average.", float64(inspections)/float64(passed))
	if n := len(l.ToPass); n > 0 {
		v.Median, v.Slow = show.Lasting(l.ToPass[(n-1)/2]), show.Lasting(l.ToPass[(9*n-1)/10])
		within := "Half of them pass within " + v.Median + " of their first inspection's start, nine of ten within " + v.Slow + "."
		if v.Median == v.Slow {
			within = "Nine of ten of them pass within " + v.Slow + " of their first inspection's start."
		}
		v.Sentence += " " + within
	}
	return v
}

// outcomeView compares what rework was predicted to do with what it did.
type outcomeView struct {
	Sentence string
	Rows     []outcomeRow
	Chart    *show.Chart
}

// outcomeRow is one turn of a truss rod.
type outcomeRow struct {
	Serial, Did       string
	Before, Predicted string
	Achieved, Off, By string
	At                time.Time
	predicted, got    float64
}

// outcomesOf words the rod steps whose outcome was measured, all turns between two verdicts as one; other work changes more than relief
// and is not compared.
func outcomesOf(all []batch.ReworkOutcome, lengths unit.Unit) outcomeView {
	var v outcomeView
	sum, squares := 0.0, 0.0
	done := map[string][]batch.ReworkAction{} // against a verdict
	for _, o := range all {
		done[o.InspectionID] = append(done[o.InspectionID], o.ReworkAction)
	}
	for _, o := range all {
		work := batch.SumRodWork(done[o.InspectionID])
		if !work.Alone || !batch.LastTurn(&o.ReworkAction, done[o.InspectionID]) || o.PredictedMM == nil || o.After == nil || o.ReliefBefore == nil {
			continue
		}
		o.Turns = work.Turns
		off := *o.After - *o.PredictedMM
		v.Rows = append(v.Rows, outcomeRow{
			Serial: o.Serial, Did: tell.ReworkStep(o.ReworkAction, lengths), By: o.By, At: o.At,
			Before: show.Number(*o.ReliefBefore, lengths), Predicted: show.Number(*o.PredictedMM, lengths), Achieved: show.Number(*o.After, lengths), Off: show.Signed(off, lengths),
			predicted: *o.PredictedMM, got: *o.After,
		})
		sum, squares = sum+off, squares+off*off
	}
	n := len(v.Rows)
	if n == 0 {
		return v
	}
	mean := sum / float64(n)
	v.Sentence = fmt.Sprintf("%s of the truss rod measured again: relief came out %s from what was predicted on average", tell.Counted(n, "turn", "turns"), show.SignedLength(mean, lengths))
	if n > 1 {
		v.Sentence += fmt.Sprintf(", with a standard deviation of %s", show.Length(math.Sqrt(max(0, squares-sum*mean)/float64(n-1)), lengths))
	}
	v.Sentence += "."
	points, same := show.Series{Name: "turns", Kind: "points"}, show.Series{Name: "as predicted", Kind: "line", Quiet: true, Label: "as predicted"}
	low, high := v.Rows[0].predicted, v.Rows[0].predicted
	for _, r := range v.Rows {
		low, high = min(low, r.predicted), max(high, r.predicted)
		points.Points = append(points.Points, show.Point{X: lengths.From(r.predicted), Y: show.Y(lengths.From(r.got)), Link: site.NeckPath(r.Serial),
			Words: fmt.Sprintf("%s, %s: predicted %s, achieved %s", r.Serial, r.Did, r.Predicted, r.Achieved)})
	}
	for _, x := range []float64{low, high} {
		same.Points = append(same.Points, show.Point{X: lengths.From(x), Y: show.Y(lengths.From(x))})
	}
	v.Chart = &show.Chart{
		ID: "outcomes", Caption: "Each turn of a truss rod. On the line: it did what was predicted. A point leads to its neck.", Spoken: "Predicted and achieved relief; the table has the numbers.",
		X: show.Axis{Title: "predicted relief, " + lengths.String(), Decimals: show.Decimals("mm", lengths)}, Y: show.Axis{Title: "achieved relief, " + lengths.String(), Decimals: show.Decimals("mm", lengths)}, Series: []show.Series{points, same},
	}
	return v
}
