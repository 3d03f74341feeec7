package bench

import (
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
)

// mirrorMM is how far on both sides of zero two neighbouring readings must lie before their signs are asked about. A
// neck's crowns cross zero too (its reference is tilted against the neck, its frets fall away behind the joint), but in
// small steps: two neighbours 0.3 mm apart on either side of zero are no neck's shape, and are what a gauge gives whose
// direction was switched between them. Readings nearer to zero, noise above all, never ask.
const mirrorMM = 0.15

// unitChanged asks when a gauge sends another unit than in its last reading, or its check.
func (b *Bench) unitChanged(n *neck, g *batch.Gauge, r devices.Reading) string {
	l := b.line(g.ID)
	last := l.lastUnit
	if last == "" { // the station was started again
		if before := n.LastOf(g.ID); before != nil {
			last = before.Unit
		} else if l.check != nil {
			last = l.check.Unit
		}
	}
	if last == "" || r.Value.Unit == "" || last == r.Value.Unit {
		return ""
	}
	return fmt.Sprintf("The %s's unit changed from %s to %s since its last reading. Is that meant?", g.Name, last, r.Value.Unit)
}

// beyondTravel asks when a gauge shows what it cannot reach, or has moved further since its last reading than it can: its
// counter slipped, or was set to zero elsewhere.
func (b *Bench) beyondTravel(n *neck, g *batch.Gauge, r devices.Reading) string {
	if g.TravelMM <= 0 {
		return ""
	}
	if math.Abs(r.Value.MM) > g.TravelMM {
		return fmt.Sprintf("%s lies outside the %s's travel of %g mm. Did its counter slip?", unit.Millimetre.Length(r.Value.MM, 3, true), g.Name, g.TravelMM)
	}
	_, check := b.zero(g.ID)
	before := n.LastOf(g.ID)
	if before == nil || before.CheckID != check { // its zero may be another
		return ""
	}
	if step := math.Abs(r.Value.MM - before.Decoded); step > g.TravelMM {
		return fmt.Sprintf("The %s moved by %.3f mm since its last reading, further than its travel of %g mm. Did its counter slip?", g.Name, step, g.TravelMM)
	}
	return ""
}

// signChanged asks when a gauge's frames have changed sign between two neighbouring points of this neck, both far from
// zero: both beyond ten of its resolutions, and beyond mirrorMM.
func (n *neck) signChanged(p *routine.Point, g *batch.Gauge, r devices.Reading) string {
	before := n.LastOf(g.ID)
	if before == nil || before.Point.Kind != p.Point.Kind {
		return ""
	}
	if before.Laying != 0 && before.Laying != n.Laying {
		return ""
	}
	if ofLaying(p.Point.Kind) && (before.Point.Track != p.Point.Track || abs(before.Point.Fret-p.Point.Fret) > 1) {
		return ""
	}
	far := math.Max(mirrorMM, 10*g.ResolutionMM)
	was, is := before.Decoded, r.Value.MM
	if was*is >= 0 || math.Abs(was) <= far || math.Abs(is) <= far {
		return ""
	}
	return fmt.Sprintf("The %s's sign changed: it sent %s for %s and %s for %s. Was its direction switched?",
		g.Name, unit.Millimetre.Length(was, 3, true), tell.Point(before.Point), unit.Millimetre.Length(is, 3, true), p.Words)
}

// wrongOrder asks when the heights of all strings over a fret, now complete, fit the specification's limits far better
// read the other way round: the treble side's were taken for the bass side's.
func (n *neck) wrongOrder(p *routine.Point, mm float64) string {
	if p.Taken || n.Result == nil {
		return ""
	}
	found, wanted := n.heightsOver(p, mm)
	last := len(wanted) - 1
	if last < 2 || math.Abs(wanted[0]-wanted[last]) < 0.1 {
		return ""
	}
	var as, reversed, mean float64
	for i := range found {
		mean += (found[i] - wanted[i]) / float64(len(found))
	}
	for i := range found {
		as += math.Pow(found[i]-wanted[i]-mean, 2)
		reversed += math.Pow(found[i]-wanted[last-i]-mean, 2)
	}
	if reversed >= as/4 {
		return ""
	}
	return "These heights fit the limits when the strings are read the other way round. Were they read from the wrong side? A left-handed neck is chosen before its first reading"
}

// heightsOver are the heights of all strings over a point's fret, mm for the point itself, with the middles of their limits; by
// string, as the specification lists them. Both are nil while one has not been read.
func (n *neck) heightsOver(p *routine.Point, mm float64) (found, wanted []float64) {
	for _, c := range n.Result.Characteristics {
		if (c.Name != inspect.Action && c.Name != inspect.NutHeight) || c.Lower == nil || c.Upper == nil {
			continue
		}
		other := n.Point(routine.OwnPoint(c))
		if other == nil || other.Point.Kind != p.Point.Kind || other.Point.Fret != p.Point.Fret || other.Point.HeldFret != p.Point.HeldFret {
			continue
		}
		v := other.Value
		switch {
		case other.Key == p.Key:
			v = mm
		case !other.Taken:
			return nil, nil
		}
		found, wanted = append(found, v), append(wanted, (*c.Lower+*c.Upper)/2)
	}
	return found, wanted
}
