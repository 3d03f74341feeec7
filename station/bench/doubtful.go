package bench

import (
	"errors"
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
)

// mirrorMM is how far on both sides of zero two neighbouring readings must lie before their signs are asked about. A
// neck's crowns cross zero too (its reference is tilted against the neck, its frets fall away behind the joint), but in
// small steps: two neighbours 0.3 mm apart on either side of zero are no neck's shape, and are what a gauge gives whose
// direction was switched between them. Readings nearer to zero, noise above all, never ask.
const mirrorMM = 0.15

// unitChanged asks when a gauge sends another unit than in its last reading, or its check.
func (b *Bench) unitChanged(g *batch.Gauge, r devices.Reading) string {
	st := b.state(g.ID)
	last := st.lastUnit
	if last == "" { // the station was started again
		if before := b.job.lastOf(g.ID); before != nil {
			last = before.Unit
		} else if st.check != nil {
			last = st.check.Unit
		}
	}
	if last == "" || r.Value.Unit == "" || last == r.Value.Unit {
		return ""
	}
	return fmt.Sprintf("The %s's unit changed from %s to %s since its last reading. Is that meant?", g.Name, last, r.Value.Unit)
}

// beyondTravel asks when a gauge shows what it cannot reach, or has moved further since its last reading than it can: its
// counter slipped, or was set to zero elsewhere.
func (b *Bench) beyondTravel(g *batch.Gauge, r devices.Reading) string {
	if g.TravelMM <= 0 {
		return ""
	}
	if math.Abs(r.Value.MM) > g.TravelMM {
		return fmt.Sprintf("%.3f mm lies outside the %s's travel of %g mm. Did its counter slip?", r.Value.MM, g.Name, g.TravelMM)
	}
	_, check := b.zero(g.ID)
	before := b.job.lastOf(g.ID)
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
func (b *Bench) signChanged(g *batch.Gauge, r devices.Reading, p PointLine) string {
	before := b.job.lastOf(g.ID)
	if before == nil || before.Point.Kind != p.Point.Kind {
		return ""
	}
	if p.Point.Kind == batch.Crown && (before.Point.Track != p.Point.Track || abs(before.Point.Fret-p.Point.Fret) > 1) {
		return ""
	}
	far := math.Max(mirrorMM, 10*g.ResolutionMM)
	was, is := before.Decoded, r.Value.MM
	if was*is >= 0 || math.Abs(was) <= far || math.Abs(is) <= far {
		return ""
	}
	return fmt.Sprintf("The %s's sign changed: it sent %+.3f mm for %s and %+.3f mm for %s. Was its direction switched?",
		g.Name, was, before.Point.Words(), is, p.Words)
}

// lastOf is the newest standing reading of a gauge on this neck, nil when there is none.
func (j *job) lastOf(gaugeID string) *batch.Reading {
	var last *batch.Reading
	for _, rounds := range standing(j.readings) {
		for _, r := range rounds {
			if r.GaugeID == gaugeID && !r.Withdrawn && (last == nil || r.Seq > last.Seq) {
				last = r
			}
		}
	}
	return last
}

// wrongOrder asks when the heights of all strings over a fret, now complete, fit the specification's limits far better
// read the other way round: the treble side's were taken for the bass side's.
func (b *Bench) wrongOrder(p PointLine, mm float64) string {
	if p.Taken || b.job.result == nil {
		return ""
	}
	var found, wanted []float64
	for _, c := range b.job.result.Characteristics { // by string, as the specification lists them
		key := ownPoint(c)
		if (c.Name != "action" && c.Name != "nut_height") || c.Lower == nil || c.Upper == nil {
			continue
		}
		for _, other := range b.job.points {
			if other.Key != key || other.Point.Kind != p.Point.Kind || other.Point.Fret != p.Point.Fret || other.Point.HeldFret != p.Point.HeldFret {
				continue
			}
			v := other.Value
			if other.Key == p.Key {
				v = mm
			} else if !other.Taken {
				return ""
			}
			found, wanted = append(found, v), append(wanted, (*c.Lower+*c.Upper)/2)
		}
	}
	n := len(wanted)
	if n < 3 || math.Abs(wanted[0]-wanted[n-1]) < 0.1 {
		return ""
	}
	var as, reversed, mean float64
	for i := range found {
		mean += (found[i] - wanted[i]) / float64(n)
	}
	for i := range found {
		as += math.Pow(found[i]-wanted[i]-mean, 2)
		reversed += math.Pow(found[i]-wanted[n-1-i]-mean, 2)
	}
	if reversed >= as/4 {
		return ""
	}
	return "These heights fit the limits when the strings are read the other way round. Were they read from the wrong side? A left-handed neck is chosen before its first reading"
}

// judgeable refuses a reading with which the neck could not be judged at all: a relief of more than 2 mm, however many
// small steps led there, a leaf that is none, a beam without a place.
func (j *job) judgeable(r batch.Reading) error {
	if r.Withdrawn {
		return nil
	}
	_, _, err := j.evaluate(append(j.readings[:len(j.readings):len(j.readings)], r))
	if err == nil {
		return nil
	}
	if _, _, before := j.evaluate(j.readings); before != nil {
		return nil // it was so before: this reading may be what mends it
	}
	var faults inspect.Faults
	if errors.As(err, &faults) {
		err = fmt.Errorf("with it there would be %s; allowed is %s", faults[0].Found, faults[0].Allowed)
	}
	return fmt.Errorf("%s was not used: %w. Measure it again, or choose the point that is wrong on the drawing", r.Point.Words(), err)
}
