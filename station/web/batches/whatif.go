package batches

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// whatIf answers how another limit of the specification would have judged a batch's first measurements of all that it bounds.
// Nothing is saved.
type whatIf struct {
	Key          string
	Number       string // the batch's
	Name, Unit   string
	Together     string  // sentence: what the limit bounds, "" for one characteristic
	Lower, Upper *slider // nil: the limit has no such side
	Now, Then    judged
	Sentence     string
	Problem      string
}

// Sliders are the sides that can be moved.
func (w *whatIf) Sliders() []*slider {
	var all []*slider
	for _, s := range []*slider{w.Lower, w.Upper} {
		if s != nil {
			all = append(all, s)
		}
	}
	return all
}

// slider is one side of the limit, in the unit shown; its zero is the specification's.
type slider struct {
	Name, Label           string
	Min, Max, Step, Value string
	Now                   string // the specification's
}

// Shown is the value with a true minus, and how far it is from the specification's.
func (s *slider) Shown() string {
	minus := func(text string) string { return strings.Replace(text, "-", "−", 1) }
	value, err := strconv.ParseFloat(s.Value, 64)
	now, nowErr := strconv.ParseFloat(s.Now, 64)
	if err != nil || nowErr != nil || s.Value == s.Now {
		return minus(s.Value) + " as specified"
	}
	_, digits, _ := strings.Cut(s.Step, ".")
	return minus(s.Value) + " (" + minus(fmt.Sprintf("%+.*f", len(digits), value-now)) + ")"
}

// judged counts how necks fare under a limit. The risks follow from each value's own uncertainty: expected
// numbers of necks, not of the neck's true state, which nobody knows (JCGM 106:2012, 9.3).
type judged struct {
	Lower, Upper              string
	Conforming, Undecided     int
	Nonconforming             int
	FirstPass                 show.Yield
	WronglyPassed, WronglyNot string // expected necks
}

// boundNeck is a neck's first measurements of what the limit bounds, and how many other characteristics of it do not conform.
type boundNeck struct {
	values []batch.NeckValue
	others int
}

// judge counts necks under a limit: a neck conforms in it where all values do, and is nonconforming where one is.
func judge(d inspect.Decision, necks []boundNeck, lower, upper *float64) (j judged, err error) {
	passes := 0
	passedWrongly, keptWrongly := 0.0, 0.0
	for _, n := range necks {
		inside, worst := 1.0, inspect.Conforming
		for _, v := range n.values {
			u := 0.0
			if v.U != nil {
				u = *v.U
			}
			zone, err := inspect.Judge(d.Rule, d.Guard(), *v.Value, u, lower, upper)
			if err != nil {
				return j, err
			}
			if zone == inspect.Nonconforming || zone == inspect.Undecided && worst == inspect.Conforming {
				worst = zone
			}
			inside *= inspect.ConformProbability(*v.Value, u, lower, upper)
		}
		switch worst {
		case inspect.Conforming:
			j.Conforming++
			passedWrongly += 1 - inside
			if n.others == 0 {
				passes++
			}
		case inspect.Undecided:
			j.Undecided++
		default:
			j.Nonconforming++
			keptWrongly += inside
		}
	}
	j.FirstPass = show.YieldOf("First-pass yield", "conform in everything", passes, len(necks))
	j.WronglyPassed, j.WronglyNot = show.Fixed(passedWrongly, 2, false), show.Fixed(keptWrongly, 2, false)
	return j, nil
}

// bound are the newest necks with what a limit bounds, the distinct characteristics among it, and the lowest and highest value.
func (s *server) bound(ctx context.Context, b batch.Batch, spec *inspect.Spec, limit *inspect.Limit) (necks []boundNeck, names []batch.Named, low, high float64, err error) {
	low, high = math.Inf(1), math.Inf(-1)
	var serials []string
	var since time.Time
	for n, err := range s.opt.Record.NeckValues(ctx, b.ID, limit.Characteristic, mostPoints) {
		if err != nil {
			return nil, nil, 0, 0, err
		}
		one := boundNeck{}
		for _, v := range n.Values {
			if v.Value == nil || limitOf(spec, v.Named) != limit {
				continue
			}
			one.values = append(one.values, v)
			low, high = min(low, *v.Value), max(high, *v.Value)
			if v.Zone != inspect.Conforming && v.Zone != inspect.NoLimit {
				one.others-- // counted below, and judged here
			}
			if !slices.Contains(names, v.Named) {
				names = append(names, v.Named)
			}
		}
		if len(one.values) == 0 {
			continue
		}
		if len(necks) == 0 {
			since = n.At
		}
		necks, serials = append(necks, one), append(serials, n.Serial)
	}
	counts, err := s.opt.Record.NotConforming(ctx, b.ID, since)
	if err != nil {
		return nil, nil, 0, 0, err
	}
	for i := range necks {
		necks[i].others += counts[serials[i]]
	}
	return necks, names, low, high, nil
}

// limitOf is the specification's limit of a characteristic, nil for none.
func limitOf(spec *inspect.Spec, n batch.Named) *inspect.Limit {
	return spec.LimitFor(inspect.Characteristic{Name: n.Name, Track: n.Track, String: n.String, Fret: n.Fret, HeldFret: n.HeldFret})
}

// whatIfOf judges a batch again with the limit that the page's address asks for; nil before anything that it bounds is measured.
func (s *server) whatIfOf(c *site.Request, b batch.Batch, named batch.Named) (*whatIf, error) {
	lengths := c.Unit()
	spec := b.Spec.Spec.WithDefaults()
	limit := limitOf(spec, named)
	if limit == nil {
		return nil, nil
	}
	necks, names, low, high, err := s.bound(c.Request.Context(), b, spec, limit)
	if err != nil || len(necks) == 0 {
		return nil, err
	}
	w := whatIf{Key: named.Key(), Number: b.Number, Name: tell.Upper(tell.LimitName(*limit)), Unit: show.UnitOf(named.Unit, lengths)}
	if len(names) > 1 {
		var words []string
		for _, n := range names {
			words = append(words, show.SeriesWords(spec, n))
		}
		w.Together = tell.OneLimit(words)
	}
	nowLower, _, nowUpper := limit.Bounds()
	for _, l := range []*float64{nowLower, nowUpper} {
		if l != nil {
			low, high = min(low, *l), max(high, *l)
		}
	}
	room := max((high-low)*0.15, math.Pow10(-show.Decimals(named.Unit, unit.Millimetre)))
	lower, lowSlider := sliderOf(c, "lower", tell.LowerLimit, nowLower, named.Unit, low-room, high+room)
	upper, highSlider := sliderOf(c, "upper", tell.UpperLimit, nowUpper, named.Unit, low-room, high+room)
	w.Lower, w.Upper = lowSlider, highSlider
	if lower != nil && upper != nil && *lower > *upper {
		w.Problem = "The lower limit lies above the upper: nothing could conform."
		return &w, nil
	}
	if w.Now, err = judge(spec.Decision, necks, nowLower, nowUpper); err != nil {
		return nil, err
	}
	if w.Then, err = judge(spec.Decision, necks, lower, upper); err != nil {
		return nil, err
	}
	number := func(v *float64) string {
		if v == nil {
			return "–"
		}
		return show.Value(*v, named.Unit, lengths, false)
	}
	w.Now.Lower, w.Now.Upper, w.Then.Lower, w.Then.Upper = number(nowLower), number(nowUpper), number(lower), number(upper)
	w.Sentence = tell.OtherLimit(w.Now.FirstPass.Count, w.Then.FirstPass.Count, len(necks))
	return &w, nil
}

// sliderOf is one side of a limit and its slider, by what the page's address asks for; nil where the limit has no such side.
func sliderOf(c *site.Request, name, label string, now *float64, in string, low, high float64) (*float64, *slider) {
	if now == nil {
		return nil, nil
	}
	v, lengths := *now, c.Unit()
	decimals := show.Decimals(in, lengths)
	text := func(x float64) string { return fmt.Sprintf("%.*f", decimals, show.InUnit(x, in, lengths)) }
	if typed, err := show.ParseNumber(c.Query(name)); err == nil && c.Query(name) != text(*now) { // a slider left alone is the limit itself, not what it rounds to
		if v = typed; in == "mm" {
			v = lengths.To(typed)
		}
	}
	return &v, &slider{Name: name, Label: tell.Upper(label), Min: text(low), Max: text(high), Value: text(v), Step: fmt.Sprintf("%.*f", decimals, math.Pow10(-decimals)), Now: text(*now)}
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
	if chosen := chosenOf(c, rows); chosen != nil {
		p.Choices = limitChoices(p.Batch, rows, *chosen)
		if p.WhatIf, err = s.whatIfOf(c, p.Batch, *chosen); err != nil {
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
	rows, err := s.opt.Record.Characteristics(c.Request.Context(), batch.Scope{BatchID: b.ID}, "", batch.SplitNone)
	if err != nil {
		return err
	}
	chosen := chosenOf(c, rows)
	if chosen == nil {
		return batch.Absent.Errorf("This batch has no such characteristic yet.")
	}
	w, err := s.whatIfOf(c, b, *chosen)
	if err != nil {
		return err
	}
	return c.ShowPart("what-if-answer", w)
}

// limitChoices are the limits of the specification, each by the first characteristic that it bounds.
func limitChoices(b batch.Batch, rows []batch.CharacteristicRow, chosen batch.Named) []form.Option {
	spec := b.Spec.Spec.WithDefaults()
	now := limitOf(spec, chosen)
	var seen []*inspect.Limit
	var choices []form.Option
	for _, r := range rows {
		limit := limitOf(spec, r.Named)
		if limit == nil || slices.Contains(seen, limit) {
			continue
		}
		seen = append(seen, limit)
		choices = append(choices, form.Option{Value: r.Named.Key(), Label: tell.Upper(tell.LimitName(*limit)), On: limit == now})
	}
	return choices
}
