package bench

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/draw"
	"sagitta/station/web/show"
)

// number is the one number in front: what the reading makes of the neck, and how that stands to its limits.
type number struct {
	Status string // of a gauge that gives no number: overload
	Digits string // "" where there is none
	Unit   string
	Of     string // what it is
	Word   string // in, out, undecided, not yet; "" where nothing is limited
	State  string // whose shape goes with the word
	Class  string
	Raw    string // the reading that it was made of, "" where it is the number itself
	Stale  bool
	Bar    template.HTML
}

// crownsForRelief is how many crowns of a side give a first idea of its relief; before, the reading itself is shown.
const crownsForRelief = 3

// words puts a zone in the words of the bench.
func (n *number) words(z inspect.Zone) {
	switch z {
	case inspect.Conforming:
		n.Word, n.State, n.Class = "in", "conforming", "conforming"
	case inspect.Nonconforming:
		n.Word, n.State, n.Class = "out", "nonconforming", "nonconforming"
	case inspect.Undecided:
		n.Word, n.State, n.Class = "undecided", "undecided", "undecided"
	}
}

// notYet says that the value does not decide anything yet.
func (n *number) notYet() { n.Word, n.State, n.Class = "not yet", "not measured", "unmeasured" }

// front is the number that stands in front.
func (v *benchView) front() *number {
	n := &number{Status: v.Live.Status, Unit: v.Unit.String(), Digits: "−.−−−", Of: "reading", Stale: !v.Live.Fresh}
	if v.Reading != "" {
		n.Digits = v.Reading
	}
	switch {
	case v.Question != nil:
		return v.questioned()
	case v.Check != nil:
		n.Of = "reading of the " + v.Check.Name
		if v.Reading == "" && slices.ContainsFunc(v.Gauges, func(g bench.GaugeLine) bool { return g.ID == v.Check.GaugeID && g.ByEye }) {
			n.Digits = "" // it is typed
		}
		return n
	case v.Study != nil:
		n.Of = "reading of the " + v.Study.Gauge
		return n
	case v.Stage != bench.Measuring || v.Next < 0:
		return nil
	}
	switch p := v.Points[v.Next].Point; p.Kind {
	case batch.Crown:
		if sofar := v.reliefSoFar(p.Track); sofar != nil && n.Status == "" {
			sofar.Raw, sofar.Stale = n.Digits, false
			return sofar
		}
	case batch.NutHeight, batch.ActionHeight:
		n.Of = "height of the string"
		if l := v.Live; l.Has && (l.Lower != nil || l.Upper != nil) {
			n.Bar = draw.ToleranceBar(l.MM, 0, l.Lower, l.Target, l.Upper, 0, true)
			n.Word = beside(l)
		}
	}
	return n
}

// beside says where a live height lies to the limits of the value that it decides alone; whether it conforms is the verdict's to say,
// with its uncertainty.
func beside(l bench.Live) string {
	if l.Lower != nil && l.MM < *l.Lower || l.Upper != nil && l.MM > *l.Upper {
		return "beyond a limit"
	}
	return "within its limits"
}

// questioned is the reading that waits for an answer.
func (v *benchView) questioned() *number {
	q := v.Question
	of := "reading questioned: "
	if q.Sure {
		of = "measured again as before: "
	}
	n := &number{Digits: show.Signed(q.MM, v.Unit), Unit: v.Unit.String(), Of: of + q.Words}
	switch {
	case q.Rework, q.Again:
		return nil
	case q.Cents:
		n.Digits, n.Unit = show.Fixed(q.MM, 1, true), "cents"
	}
	return n
}

// reliefSoFar is the relief of one side as far as its crowns go: over the datum frets once they and the fret of the relief are
// measured, before that the deepest crown below the line over the outermost ones; nil before three crowns.
func (v *benchView) reliefSoFar(track string) *number {
	if v.Result == nil || v.Readings == nil {
		return nil
	}
	side := inspect.Side(track)
	for _, c := range v.Result.Characteristics {
		if c.Name == inspect.Relief && c.Track == track && c.Value != nil {
			r := show.Rounded(v.Spec, &c, v.Unit)
			n := &number{Digits: r.Value(*c.Value, true), Unit: v.Unit.String(), Of: "relief, " + side}
			n.words(c.Zone)
			if c.Lower != nil || c.Upper != nil {
				u := 0.0
				if c.U != nil {
					u = 2 * *c.U
				}
				n.Bar = draw.ToleranceBar(*c.Value, u, c.Lower, c.Target, c.Upper, 0, true)
			}
			return n
		}
	}
	sag, from, to := v.sag(track)
	if to == 0 {
		return nil
	}
	n := &number{Digits: show.Signed(sag, v.Unit), Unit: v.Unit.String(), Of: fmt.Sprintf("sag so far, frets %d to %d", from, to)}
	n.notYet()
	return n
}

// sag is how far the crown furthest from the line over a side's outermost crowns lies below it, mm (above it where negative), and
// between which frets; to is 0 with fewer than three crowns.
func (v *benchView) sag(track string) (mm float64, from, to int) {
	i := slices.IndexFunc(v.Readings.Profile, func(t inspect.TrackReading) bool { return t.Track == track })
	if i < 0 {
		return 0, 0, 0
	}
	z := v.Readings.Profile[i].ZMM
	count := 0
	for n, h := range z {
		if h == nil {
			continue
		}
		if count++; count == 1 {
			from = n + 1
		}
		to = n + 1
	}
	if count < crownsForRelief {
		return 0, 0, 0
	}
	line := v.Spec.Fan().Track(v.Spec, track)
	x := line.At
	first, last := *z[from-1], *z[to-1]
	for n := from + 1; n < to; n++ {
		if h := z[n-1]; h != nil {
			below := first + (last-first)*(x(n)-x(from))/(x(to)-x(from)) - *h
			if math.Abs(below) > math.Abs(mm) {
				mm = below
			}
		}
	}
	return mm, from, to
}
