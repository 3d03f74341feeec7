package instruments

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch/life"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// The panes of the chart of a life, all on one axis of time.
const (
	reliefPane = iota
	actionPane
	airPane
)

// lifeChart draws relief by track, action of the outermost strings and humidity over the years, work as marks and sets of strings as bands;
// nil before there are two measurements.
func lifeChart(l *life.Life, tracks []string, strung []int, lengths unit.Unit) *show.Chart {
	if len(l.Neck.Measured) < 2 {
		return nil
	}
	c := &show.Chart{ID: "life", X: show.Axis{Time: true}, Y: show.Axis{Title: "relief, " + lengths.String(), Decimals: 2},
		Panes:   []show.Axis{{Title: "action, " + lengths.String(), Decimals: 1}, {Title: "humidity, % RH", Whole: true}},
		Spoken:  "Relief, action and humidity of every measurement over the years; the table has the numbers.",
		Caption: "Every measurement, found and left. Lines down: work. Shaded and not: sets of strings. A point leads to its measurements.",
	}
	add := func(s show.Series, value func(*life.Seen) *float64, write func(float64) string) {
		for _, stay := range l.Stays {
			for i := range stay.Seen {
				in := &stay.Seen[i]
				v := value(in)
				if v == nil {
					continue
				}
				p := show.Point{X: milliseconds(in.At), Y: v, Link: site.NeckPath(l.Serial), Words: fmt.Sprintf("%s, %s: %s", tell.StayName(stay), s.Name, write(*v))}
				if in.InDoubt && s.Pane != airPane {
					p.State = "doubt"
				}
				s.Points = append(s.Points, p)
			}
		}
		if len(s.Points) > 0 {
			c.Series = append(c.Series, s)
		}
	}
	length := func(v float64) string { return show.Fixed(v, lengths.Digits(0.01), false) + " " + lengths.String() }
	in := func(mm *float64) *float64 {
		if mm == nil {
			return nil
		}
		return show.Y(lengths.From(*mm))
	}
	for i, t := range tracks {
		name := inspect.Place(t, 0, 0)
		add(show.Series{Name: name, Label: name, Kind: "both", Hue: i + 1, Dashed: i%2 == 1}, func(s *life.Seen) *float64 { return in(reliefOn(s.Result, t)) }, length)
	}
	for i, n := range strung {
		name := fmt.Sprintf("string %d", n)
		add(show.Series{Name: name, Label: name, Kind: "both", Hue: i + 1, Dashed: i%2 == 1, Pane: actionPane}, func(s *life.Seen) *float64 { return in(actionOf(s.Result, n)) }, length)
	}
	add(show.Series{Name: "humidity", Kind: "both", Hue: 1, Pane: airPane}, func(s *life.Seen) *float64 { return s.Climate.HumidityPercent },
		func(v float64) string { return inspect.Number(v, 0, false) + " % RH" })
	c.Marks, c.Bands = worked(l), bands(l)
	return c
}

func milliseconds(at time.Time) float64 { return float64(at.UnixMilli()) }

// worked are the marks of the work, one a visit.
func worked(l *life.Life) (all []show.Mark) {
	for _, stay := range l.Stays {
		var what []string
		for _, a := range stay.Done {
			if a.What != inspect.StepPitch && !slices.Contains(what, a.What) {
				what = append(what, a.What)
			}
		}
		if len(what) > 0 {
			all = append(all, show.Mark{At: milliseconds(stay.Done[0].At), Words: strings.Join(what, ", "), Kind: "target", Along: true})
		}
	}
	return all
}

// bands are the sets of strings over time.
func bands(l *life.Life) (all []show.Band) {
	for _, m := range l.Neck.Measured {
		at := milliseconds(m.At)
		if n := len(all); n > 0 {
			all[n-1].To = at
			if all[n-1].Words == m.Strings.Name {
				continue
			}
		}
		all = append(all, show.Band{From: at, To: at, Words: m.Strings.Name})
	}
	return all
}
