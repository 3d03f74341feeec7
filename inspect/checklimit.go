package inspect

import (
	"fmt"
	"math"
	"slices"
)

// limit checks one limit.
func (c *checker) limit(s *Spec, l *Limit) {
	if l.Characteristic == "" {
		c.missing(".characteristic", quoted(CharacteristicNames()))
		return
	}
	k := kindOf(l.Characteristic)
	if !k.Limited {
		c.fault(".characteristic", fmt.Sprintf("%q", l.Characteristic), quoted(CharacteristicNames()))
		return
	}
	c.indexes(s, l, k)
	c.suffixes(l, k.Unit)
	lower, target, upper := l.Bounds()
	for _, b := range []struct {
		name string
		v    *float64
	}{{"lower_", lower}, {"target_", target}, {"upper_", upper}} {
		if b.v != nil && !(math.Abs(*b.v) <= 1e6) {
			c.fault("."+b.name+k.Unit, fmt.Sprint(*b.v), "a finite number from -1000000 to 1000000")
		}
	}
	switch {
	case lower == nil && upper == nil:
		c.fault("", "no bound", "lower_"+k.Unit+", upper_"+k.Unit+" or both")
	case lower != nil && upper != nil && *lower > *upper:
		c.fault(".upper_"+k.Unit, fmt.Sprint(*upper), fmt.Sprintf("at least the lower bound, %v", *lower))
	case target != nil && (lower != nil && *target < *lower || upper != nil && *target > *upper):
		c.fault(".target_"+k.Unit, fmt.Sprint(*target), "a target within the bounds")
	}
}

// suffixes checks that bounds are given in the characteristic's unit only.
func (c *checker) suffixes(l *Limit, unit string) {
	for _, b := range []struct {
		unit, name string
		v          *float64
	}{
		{"mm", "lower_mm", l.LowerMM}, {"mm", "target_mm", l.TargetMM}, {"mm", "upper_mm", l.UpperMM},
		{"deg", "lower_deg", l.LowerDeg}, {"deg", "target_deg", l.TargetDeg}, {"deg", "upper_deg", l.UpperDeg},
		{"cents", "lower_cents", l.LowerCents}, {"cents", "target_cents", l.TargetCents}, {"cents", "upper_cents", l.UpperCents},
	} {
		if b.v != nil && b.unit != unit {
			c.fault("."+b.name, "a bound in "+b.unit, l.Characteristic+" is limited in "+unit)
		}
	}
}

// indexes checks that a limit has the indexes of its characteristic and no others, each within range.
func (c *checker) indexes(s *Spec, l *Limit, k *Kind) {
	absent := "no " + "%s: " + l.Characteristic + " is not indexed by it"
	if !k.Track && l.Track != "" {
		c.fault(".track", fmt.Sprintf("%q", l.Track), fmt.Sprintf(absent, "track"))
	}
	if k.Track && l.Track == "" {
		c.missing(".track", quoted(append(s.knownTracks(), each)))
	} else if k.Track && l.Track != each {
		if names := s.knownTracks(); !slices.Contains(names, l.Track) {
			c.fault(".track", fmt.Sprintf("%q", l.Track), quoted(append(names, each)))
		}
	}
	switch {
	case !k.String && !l.String.IsZero():
		c.fault(".string", l.String.String(), fmt.Sprintf(absent, "string"))
	case k.String && l.String.IsZero():
		c.missing(".string", fmt.Sprintf("\"each\" or a string's number from 1 to %d", len(s.Strings)))
	case k.String && !l.String.Each && (l.String.Number < 1 || l.String.Number > len(s.Strings)):
		c.fault(".string", fmt.Sprint(l.String.Number), fmt.Sprintf("\"each\" or a string's number from 1 to %d", len(s.Strings)))
	}
	first, last := k.fretRange(s)
	switch {
	case !k.Fret && !l.Fret.IsZero():
		c.fault(".fret", l.Fret.String(), fmt.Sprintf(absent, "fret"))
	case k.Fret && l.Fret.IsZero() && k.UsualFret == 0:
		c.missing(".fret", fmt.Sprintf("\"each\" or a fret from %d to %d", first, last))
	case k.Fret && !l.Fret.IsZero() && !l.Fret.Each && (l.Fret.Number < first || l.Fret.Number > last):
		c.fault(".fret", fmt.Sprint(l.Fret.Number), fmt.Sprintf("\"each\" or a fret from %d to %d", first, last))
	case k.UsualFret > last && l.Fret.IsZero():
		c.fault(".fret", "none", fmt.Sprintf("a fret from %d to %d: fret %d is not there", first, last, k.UsualFret))
	}
	switch {
	case !k.HeldFret && l.HeldFret != 0:
		c.fault(".held_fret", fmt.Sprint(l.HeldFret), "only on action")
	case l.HeldFret < 0 || l.HeldFret != 0 && l.HeldFret >= max(l.fret(), 1) && !l.Fret.Each:
		c.fault(".held_fret", fmt.Sprint(l.HeldFret), "0 for an open string, or a fret before the one it is measured over")
	}
}
