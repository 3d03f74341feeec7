package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// Contribution is the part that one reading, or a string's estimated mass, has in a characteristic's uncertainty.
type Contribution struct {
	Point  PointRef
	Laying int     // of a crown that others rest on too, 0 otherwise: it may be read in several
	Value  float64 // of the reading, mm; of a mass g/m
	U      float64 // its standard uncertainty, likewise
	Part   float64 // signed half difference of the characteristic, in its unit
}

// Budget returns the parts of a characteristic's standard uncertainty, the largest first, and their root sum of squares:
// the readings that can matter are moved by their own uncertainty either way and everything is computed again (JCGM
// 100:2008, 5.1.3, note 2). It shares no shortcut with Evaluate, so it also checks it. Readings that change nothing are left
// out. Errors: Evaluate's, and an error when the readings do not give the characteristic.
func Budget(s *Spec, r *Readings, c Characteristic) (parts []Contribution, u float64, err error) {
	given := *s
	given.fillDatum()
	if faults := s.Check(); len(faults) > 0 {
		return nil, 0, Faults(faults)
	}
	if faults := r.Check(s); len(faults) > 0 {
		return nil, 0, Faults(faults)
	}
	work := r.clone()
	value := func() (float64, error) {
		res, err := evaluateChecked(&given, work, Options{SkipUncertainty: true})
		if err != nil {
			return 0, err
		}
		for i := range res.Characteristics {
			if o := &res.Characteristics[i]; o.key() == c.key() && o.Value != nil {
				return *o.Value, nil
			}
		}
		return 0, noValue(s, c)
	}
	if _, err := value(); err != nil {
		return nil, 0, err
	}
	var sum fit.SumOfSquares
	for _, in := range append(work.inputs(&given), given.masses()...) {
		if in.u == 0 || !in.matters(&c) {
			continue
		}
		in.move(in.u)
		up, err := value()
		if err != nil {
			return nil, 0, err
		}
		in.move(-in.u)
		down, err := value()
		in.move(0)
		if err != nil {
			return nil, 0, err
		}
		if up != down {
			sum.Add(up, down)
			parts = append(parts, Contribution{in.point, in.laying, in.value, in.u, (up - down) / 2})
		}
	}
	slices.SortStableFunc(parts, func(a, b Contribution) int { return cmp.Compare(math.Abs(b.Part), math.Abs(a.Part)) })
	return parts, sum.U(), nil
}

// noValue is the error for a characteristic that the readings do not give.
func noValue(s *Spec, c Characteristic) error {
	return fmt.Errorf("%s: the readings give no value", Words(s, c))
}

// input is one reading with its uncertainty.
type input struct {
	point  PointRef
	laying int
	value  float64 // as read
	u      float64
	rests  []resting // what rests on it: itself, or the crowns carried by it
}

// resting is a height that rests on a reading.
type resting struct {
	at     *float64
	kept   float64
	weight float64
	track  string // of a crown
}

// single is a reading that nothing else rests on.
func single(point PointRef, at *float64, u float64) input {
	return input{point: point, value: *at, u: u, rests: []resting{{at, *at, 1, point.Track}}}
}

// move sets what rests on the input to what it is where the input is mm more than it was read.
func (in *input) move(mm float64) {
	for _, r := range in.rests {
		*r.at = r.kept + r.weight*mm
	}
}

// matters reports whether an input can move a characteristic: only its own track's and string's points of the kinds that it
// is computed from.
func (in *input) matters(c *Characteristic) bool {
	p := &in.point
	onTrack := func(r resting) bool { return r.track == "" || r.track == c.Track }
	if p.Kind == PointMass {
		return kindOf(c.Name).Pluck && p.String == c.String
	}
	return slices.Contains(kindOf(c.Name).Points, p.Kind) && (c.Track == "" || slices.ContainsFunc(in.rests, onTrack)) &&
		(p.String == 0 || p.String == c.String)
}

// inputs lists every reading of length that has an uncertainty. Leaves are not among them: an interval is no reading.
func (r *Readings) inputs(s *Spec) []input {
	var all []input
	own := func(u *float64) float64 {
		if u != nil {
			return *u
		}
		return s.ReadingU()
	}
	for i := range r.Profile {
		t := &r.Profile[i]
		for j, z := range t.ZMM {
			if z == nil {
				continue
			}
			u := s.ReadingU()
			if len(t.UMM) > 0 {
				u = own(t.UMM[j])
			}
			if len(t.OwnUMM) > 0 {
				u = t.OwnUMM[j]
			}
			all = append(all, single(PointRef{Kind: PointCrown, Track: t.Track, Fret: j + 1}, z, u))
		}
	}
	for i := range r.Carried {
		c := &r.Carried[i]
		in := input{point: c.Point, laying: c.Laying, value: c.ValueMM, u: c.UMM}
		for _, p := range c.Parts {
			at := r.Profile[p.Track].ZMM[p.Fret-1]
			in.rests = append(in.rests, resting{at, *at, p.Weight, r.Profile[p.Track].Track})
		}
		all = append(all, in)
	}
	for i := range r.Beam {
		b := &r.Beam[i]
		all = append(all, single(PointRef{Kind: PointBeam, Track: b.Track, Fret: s.Datum.ReliefFret}, &b.ReadingMM, own(b.UMM)))
	}
	for i := range r.Action {
		h := &r.Action[i]
		all = append(all, single(PointRef{Kind: PointAction, String: h.String, Fret: h.Fret, HeldFret: h.HeldFret}, &h.HeightMM, own(h.UMM)))
	}
	for i := range r.NutHeight {
		h := &r.NutHeight[i]
		all = append(all, single(PointRef{Kind: PointNutHeight, String: h.String}, &h.HeightMM, own(h.UMM)))
	}
	return all
}

// masses lists the strings' estimated masses, each given from now on so that it can be moved. The strings become the specification's own.
func (s *Spec) masses() []input {
	var all []input
	s.Strings = slices.Clone(s.Strings)
	for i := range s.Strings {
		t := &s.Strings[i]
		if mass, u := t.Mass(); u > 0 {
			t.MassGPerM = &mass
			all = append(all, single(PointRef{Kind: PointMass, String: t.Number}, t.MassGPerM, u))
		}
	}
	return all
}

// clone copies what inputs points into, and what a step of rework changes.
func (r *Readings) clone() *Readings {
	c := *r
	c.Profile = slices.Clone(r.Profile)
	for i := range c.Profile {
		t := &c.Profile[i]
		t.ZMM = slices.Clone(t.ZMM)
		for j, z := range t.ZMM {
			if z != nil {
				v := *z
				t.ZMM[j] = &v
			}
		}
	}
	c.Beam, c.Action, c.NutHeight = slices.Clone(r.Beam), slices.Clone(r.Action), slices.Clone(r.NutHeight)
	c.Pitch, c.Leaves = slices.Clone(r.Pitch), slices.Clone(r.Leaves)
	for i := range c.Leaves {
		for _, leaf := range []**float64{&c.Leaves[i].PassesMM, &c.Leaves[i].StopsMM} {
			if *leaf != nil {
				v := **leaf
				*leaf = &v
			}
		}
	}
	return &c
}
