package batches

import (
	"fmt"
	"math"
	"net/http"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// whatIf answers how other limits would have judged a batch's first measurements of one characteristic. Nothing is saved.
type whatIf struct {
	Key          string
	Number       string // the batch's
	Name, Unit   string
	Lower, Upper *slider // nil: the characteristic has no such limit
	Now, Then    judged
	Sentence     string
	Problem      string
}

// Sliders are the limits that can be moved.
func (w *whatIf) Sliders() []*slider {
	var all []*slider
	for _, s := range []*slider{w.Lower, w.Upper} {
		if s != nil {
			all = append(all, s)
		}
	}
	return all
}

// slider is one limit that can be moved, in the unit shown.
type slider struct {
	Name, Label           string
	Min, Max, Step, Value string
	Now                   string // the limit in force
}

// Shown is the value with a true minus.
func (s *slider) Shown() string { return strings.Replace(s.Value, "-", "−", 1) }

// judged counts how necks fare under a pair of limits. The risks follow from each value's own uncertainty: expected
// numbers of necks, not of this characteristic's true state, which nobody knows (JCGM 106:2012, 9.3).
type judged struct {
	Lower, Upper              string
	Conforming, Undecided     int
	Nonconforming             int
	FirstPass                 show.Yield
	WronglyPassed, WronglyNot string // expected necks
}

// judge counts a series under limits. Elsewhere says how many other characteristics of each neck do not conform.
func judge(d inspect.Decision, points []batch.SeriesPoint, elsewhere map[string]int, lower, upper *float64) (j judged, err error) {
	passes := 0
	passedWrongly, keptWrongly := 0.0, 0.0
	for _, p := range points {
		u := 0.0
		if p.U != nil {
			u = *p.U
		}
		zone, err := inspect.Judge(d.Rule, d.Guard(), *p.Value, u, lower, upper)
		if err != nil {
			return j, err
		}
		inside := inspect.ConformProbability(*p.Value, u, lower, upper)
		switch zone {
		case inspect.Conforming:
			j.Conforming++
			passedWrongly += 1 - inside
			if elsewhere[p.Serial] == 0 {
				passes++
			}
		case inspect.Undecided:
			j.Undecided++
		default:
			j.Nonconforming++
			keptWrongly += inside
		}
	}
	j.FirstPass = show.YieldOf("First-pass yield", "conform in everything", passes, len(points))
	j.WronglyPassed, j.WronglyNot = show.Fixed(passedWrongly, 2, false), show.Fixed(keptWrongly, 2, false)
	return j, nil
}

// whatIfOf judges a batch again with the limits that the page's address asks for.
func (s *server) whatIfOf(c *site.Request, b batch.Batch, named batch.Named, title string, points []batch.SeriesPoint) (*whatIf, error) {
	lengths := c.Unit()
	w := whatIf{Key: named.Key(), Number: b.Number, Name: title, Unit: show.UnitOf(named.Unit, lengths)}
	if len(points) == 0 {
		return nil, nil
	}
	last := points[len(points)-1]
	if last.Lower == nil && last.Upper == nil {
		return nil, nil
	}
	elsewhere, err := s.opt.Record.Elsewhere(c.Request.Context(), b.ID, named, points[0].At)
	if err != nil {
		return nil, err
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		low, high = min(low, *p.Value), max(high, *p.Value)
	}
	for _, l := range []*float64{last.Lower, last.Upper} {
		if l != nil {
			low, high = min(low, *l), max(high, *l)
		}
	}
	room := max((high-low)*0.15, math.Pow10(-show.Decimals(named.Unit, unit.Millimetre)))
	asked := func(name string, now *float64) (*float64, *slider) {
		if now == nil {
			return nil, nil
		}
		v := *now
		decimals := show.Decimals(named.Unit, lengths)
		text := func(x float64) string { return fmt.Sprintf("%.*f", decimals, show.InUnit(x, named.Unit, lengths)) }
		if typed, err := show.ParseNumber(c.Query(name)); err == nil && c.Query(name) != text(*now) { // a slider left alone is the limit itself, not what it rounds to
			if v = typed; named.Unit == "mm" {
				v = lengths.To(typed)
			}
		}
		sl := &slider{Name: name, Min: text(low - room), Max: text(high + room), Value: text(v), Step: fmt.Sprintf("%.*f", decimals, math.Pow10(-decimals)), Now: text(*now)}
		return &v, sl
	}
	lower, lowSlider := asked("lower", last.Lower)
	upper, highSlider := asked("upper", last.Upper)
	if lowSlider != nil {
		lowSlider.Label = tell.Upper(tell.LowerLimit)
	}
	if highSlider != nil {
		highSlider.Label = tell.Upper(tell.UpperLimit)
	}
	w.Lower, w.Upper = lowSlider, highSlider
	if lower != nil && upper != nil && *lower > *upper {
		w.Problem = "The lower limit lies above the upper: nothing could conform."
		return &w, nil
	}
	d := b.Spec.Spec.WithDefaults().Decision
	if w.Now, err = judge(d, points, elsewhere, last.Lower, last.Upper); err != nil {
		return nil, err
	}
	if w.Then, err = judge(d, points, elsewhere, lower, upper); err != nil {
		return nil, err
	}
	number := func(v *float64) string {
		if v == nil {
			return "–"
		}
		return show.Value(*v, named.Unit, lengths, false)
	}
	w.Now.Lower, w.Now.Upper, w.Then.Lower, w.Then.Upper = number(last.Lower), number(last.Upper), number(lower), number(upper)
	switch more := w.Then.FirstPass.Count - w.Now.FirstPass.Count; {
	case more == 0:
		w.Sentence = fmt.Sprintf("With these limits as many necks pass at the first inspection as now: %d of %d.", w.Then.FirstPass.Count, w.Then.FirstPass.Of)
	case more > 0:
		w.Sentence = fmt.Sprintf("With these limits %d more of %d necks would have passed at the first inspection: %d instead of %d.", more, len(points), w.Then.FirstPass.Count, w.Now.FirstPass.Count)
	default:
		w.Sentence = fmt.Sprintf("With these limits %d fewer of %d necks would have passed at the first inspection: %d instead of %d.", -more, len(points), w.Then.FirstPass.Count, w.Now.FirstPass.Count)
	}
	return &w, nil
}

// limitsPage asks what other limits would have changed.
type limitsPage struct {
	batchHead
	Choices []form.Option
	WhatIf  *whatIf // nil before anything limited is measured
}

func (s *server) limitsPage(c *site.Request) (err error) {
	var p limitsPage
	if p.batchHead, err = s.headOf(c, "limits"); err != nil {
		return err
	}
	rows, err := s.opt.Record.Characteristics(c.Request.Context(), batch.Scope{BatchID: p.Batch.ID}, "", batch.SplitNone)
	if err != nil {
		return err
	}
	chosen, err := s.readChosen(c, p.Batch, rows)
	if err != nil {
		return err
	}
	if chosen != nil {
		p.Choices = choicesOf(p.Batch, rows, chosen.named)
		if p.WhatIf, err = s.whatIfOf(c, p.Batch, chosen.named, chosen.title, chosen.points); err != nil {
			return err
		}
	}
	return c.Show(http.StatusOK, "batchlimits", p.title(), p)
}

// whatIfPart answers the page's sliders with the part that changes.
func (s *server) whatIfPart(c *site.Request) error {
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		return err
	}
	chosen, err := s.chosenSeries(c, b)
	if err != nil {
		return err
	}
	if chosen == nil {
		return batch.Absent.Errorf("This batch has no such characteristic yet.")
	}
	w, err := s.whatIfOf(c, b, chosen.named, chosen.title, chosen.points)
	if err != nil {
		return err
	}
	return c.ShowPart("what-if-answer", w)
}
