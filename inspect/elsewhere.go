package inspect

import (
	"fmt"
	"math"
)

// JudgeElsewhere gives a characteristic that was measured elsewhere (Name, its indices, Value and perhaps U) its unit, limits,
// zone and conformance probability by the specification's decision rule; without U the uncertainty counts as 0. Without a
// Value the zone is NotMeasured, without a limit NoLimit. Errors: a characteristic that does not exist, an index that the
// specification does not have or that is missing, a value that is not finite.
func (s *Spec) JudgeElsewhere(c Characteristic) (Characteristic, error) {
	k := kindOf(c.Name)
	if k.Name == "" {
		return c, fmt.Errorf("characteristic %q is unknown: use one of %q", c.Name, CharacteristicNames())
	}
	c.Unit = k.Unit
	given := *s
	given.fillDatum()
	given.place(&c)
	if k.UsualFret != 0 && c.Fret == 0 {
		c.Fret = k.UsualFret
	}
	if err := s.checkIndices(&c, k); err != nil {
		return c, err
	}
	c.Zone = NoLimit
	if k.absent != nil && k.absent(s) {
		return c, nil
	}
	l := limits{all: s.Limits}.find(c.key())
	if l == nil {
		return c, nil
	}
	c.Lower, c.Target, c.Upper = l.Bounds()
	if c.Value == nil {
		c.Zone = NotMeasured
		return c, nil
	}
	var u float64
	if c.U != nil {
		u = *c.U
		p := ConformProbability(*c.Value, u, c.Lower, c.Upper)
		c.PConform = &p
	}
	zone, err := Judge(given.Decision.Rule, given.Decision.Guard(), *c.Value, u, c.Lower, c.Upper)
	if err != nil {
		return c, fmt.Errorf("%s: %w", Words(s, c), err)
	}
	c.Zone = zone
	return c, nil
}

// checkIndices refuses an index that the characteristic or the specification does not have.
func (s *Spec) checkIndices(c *Characteristic, k *Kind) error {
	bad := func(what string, found any, allowed string) error {
		return fmt.Errorf("%s of %s: found %v, allowed: %s", what, c.Name, found, allowed)
	}
	switch {
	case c.Value != nil && (math.IsNaN(*c.Value) || math.IsInf(*c.Value, 0)):
		return bad("value", *c.Value, "a finite number")
	case k.Track && c.Track == "":
		return bad("track", `""`, "a track's name, e.g. bass")
	case !k.Track && c.Track != "":
		return bad("track", c.Track, "none")
	case k.String && !s.hasString(c.String):
		return bad("string", c.String, "a string of the specification")
	case !k.String && c.String != 0:
		return bad("string", c.String, "none")
	case c.Fret < 0 || c.Fret > s.Neck.Frets:
		return bad("fret", c.Fret, fmt.Sprintf("1 to %d", s.Neck.Frets))
	case k.Fret && c.Fret == 0:
		return bad("fret", c.Fret, fmt.Sprintf("1 to %d", s.Neck.Frets))
	case !k.Fret && c.Fret != 0 && !k.ReliefFret:
		return bad("fret", c.Fret, "none")
	case c.HeldFret != 0 && !k.HeldFret:
		return bad("held fret", c.HeldFret, "none")
	}
	return nil
}

func (s *Spec) hasString(number int) bool {
	for i := range s.Strings {
		if s.Strings[i].Number == number {
			return true
		}
	}
	return false
}

// DispositionElsewhere is the disposition that judged characteristics give without the readings under them: repair for a hump
// or twist that is nonconforming, rework for anything else nonconforming, remeasure for something undecided or not measured,
// else pass. What only the rod's state tells, a repair for relief, is not among them.
func DispositionElsewhere(all []Characteristic) Disposition {
	d := Pass
	for i := range all {
		switch c := &all[i]; {
		case c.Zone == Nonconforming && kindOf(c.Name).Step == StepRepairer:
			return Repair
		case c.Zone == Nonconforming:
			d = Rework
		case d == Pass && (c.Zone == Undecided || c.Zone == NotMeasured):
			d = Remeasure
		}
	}
	return d
}
