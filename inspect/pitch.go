package inspect

import "math"

// cents returns a string's deviation from its target pitch; ok is false when it was not measured.
func (n *neck) cents(number int) (v float64, ok bool) {
	for i := range n.readings.Pitch {
		p := &n.readings.Pitch[i]
		switch {
		case p.String != number:
		case p.Cents != nil:
			return *p.Cents, true
		default:
			return Cents(*p.Hz, n.spec.FindString(number).PitchHz), true
		}
	}
	return 0, false
}

// pitchDeclared reports that the routine lets the inspector declare the instrument at pitch.
func (s *Spec) pitchDeclared() bool { return s.Routine != nil && s.Routine.Pitch == "declared" }

// atPitch reports that the instrument is at pitch, and otherwise the strings that are off it and those without a reading:
// every string needs a reading inside its pitch limit, 5 cents either way without one. Where the routine lets the
// inspector declare it, the declaration is enough.
func (n *neck) atPitch(limits limits) (ok bool, off, unread []int) {
	if n.spec.pitchDeclared() && n.readings.PitchDeclared {
		return true, nil, nil
	}
	for _, number := range n.spec.StringNumbers() {
		v, measured := n.cents(number)
		if !measured {
			unread = append(unread, number)
			continue
		}
		lo, hi := -DefaultPitchCents, DefaultPitchCents
		if l := limits.find(rowKey{name: Pitch, string: number}); l != nil {
			lower, _, upper := l.Bounds()
			lo, hi = math.Inf(-1), math.Inf(1)
			if lower != nil {
				lo = *lower
			}
			if upper != nil {
				hi = *upper
			}
		}
		if v < lo || v > hi {
			off = append(off, number)
		}
	}
	return len(off)+len(unread) == 0, off, unread
}

// pitches adds the pitch of every string that has a reading.
func (e *evaluation) pitches() error {
	for _, number := range e.spec.StringNumbers() {
		if v, ok := e.cents(number); ok {
			e.add(Characteristic{Name: Pitch, String: number}, v, 0)
		}
	}
	return nil
}

func (p *points) pitch(c *Characteristic) {
	p.add(PointRef{Kind: PointPitch, String: c.String})
}

func (n *neck) workPitch(w *workings, c *Characteristic) error {
	w.add("Hz", n.spec.FindString(c.String).PitchHz, "target pitch")
	for i := range n.readings.Pitch {
		if p := &n.readings.Pitch[i]; p.String == c.String && p.Hz != nil {
			w.add("Hz", *p.Hz, "pitch as read")
		} else if p.String == c.String {
			w.add("cents", *p.Cents, "deviation as read")
		}
	}
	return nil
}
