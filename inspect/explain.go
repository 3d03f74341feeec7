package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// Explanation says how a characteristic comes about.
type Explanation struct {
	Formula string // in words and signs
	Source  string
}

const definition = "definition"

// explanations by characteristic.
var explanations = map[string]Explanation{
	relief:         {"height of the chord between the datum frets above the crown of the relief fret: z_a + (z_b - z_a)(x_k - x_a)/(x_b - x_a) - z_k; positive is a forward bow", definition},
	reliefMax:      {"the largest relief between the datum frets", definition},
	sideDifference: {"relief on the bass side less relief on the treble side, both from profiles", definition},
	straightness:   {"width of the narrowest pair of parallel lines that holds every crown of the track (minimum zone); beside it the parameters about the least-squares line", "ISO 12780-1: STRt, STRp, STRv, STRq"},
	flatness:       {"width of the narrowest pair of parallel planes that holds every crown once the board's radius is taken out (minimum zone); beside it the parameters about the least-squares plane", "ISO 12781-1: FLTt, FLTp, FLTv, FLTq"},
	levelZone:      {"the minimum zone of the crowns of frets 1 to b about c0 + c1 x + c2 y + c3 u^2 + c4 u^3 + c5 u y, u = x/L: what bow and twist leave", definition + "; minimum zone as in ISO 12781-1"},
	levelDeviation: {"height of a crown above the bend curve, the cubic with the least sum of Huber losses over frets 1 to b, threshold 0.010 mm", definition + "; P. J. Huber, Annals of Mathematical Statistics 35 (1964)"},
	rocker:         {"height of a crown above the line through its two neighbours, less what the bend curve contributes before fret b", definition},
	hump:           {"greatest height of a crown beyond fret b above the bend curve's tangent at fret b produced, 0 when all lie below", definition},
	fallAway:       {"depth of the last crown below the bend curve's tangent at fret b produced", definition},
	twist:          {"cross-slope at fret b less that at fret a between the outer tracks, developed heights: atan((z_T - z_B)/(y_T - y_B)); right-handed about the direction from nut to saddle", definition},
	boardRadius:    {"radius of the circle with the least sum of squared distances to the crowns of one fret", "geometric least squares; N. Chernov and C. Lesort, Journal of Mathematical Imaging and Vision 23 (2005)"},
	action:         {"height of the string's underside over the crown, as read", definition},
	nutHeight:      {"height of the open string's underside over fret 1, as read", definition},
	clearance:      {"least height of the string above a crown, held at every fret in turn: the straight line from the held crown to the saddle", definition},
	margin:         {"least clearance once the plucked string's envelope is taken off: a triangle of depth F (p/l)(1 - p/l) l/T that peaks at distance p from the held end; below 0 buzz is predicted", "d'Alembert's solution for the ideal string; tension by Mersenne's law"},
	pitch:          {"1200 log2(f/f_target)", "ISO 16:1975 for A4 = 440 Hz; the cent by definition"},
	intonation:     {"1200 log2(f_fretted / (f_open 2^(n/12)))", definition},
	fretPosition:   {"measured distance from the nut less L (1 - 2^(-n/12))", "twelve-tone equal temperament"},
}

// Explain returns how a characteristic of the given name comes about; ok is false for an unknown one.
func Explain(name string) (e Explanation, ok bool) {
	e, ok = explanations[name]
	return e, ok
}

// Contribution is one reading's part in a characteristic's uncertainty.
type Contribution struct {
	Point PointRef
	Value float64 // of the reading, mm
	U     float64 // its standard uncertainty, mm
	Part  float64 // signed half difference of the characteristic, in its unit
}

// Budget returns the parts of a characteristic's standard uncertainty, the largest first, and their root sum of squares:
// the readings that can matter are moved by their own uncertainty either way and everything is computed again (JCGM
// 100:2008, 5.1.3, note 2). It shares no shortcut with Evaluate, so it also checks it. Readings that change nothing are left
// out. Errors: Evaluate's, and an error when the readings do not give the characteristic.
func Budget(s *Spec, r *Readings, c Characteristic) (parts []Contribution, u float64, err error) {
	given := *s
	given.fillDatum()
	if faults := slices.Concat(s.Check(), r.Check(s)); len(faults) > 0 {
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
	for _, in := range work.inputs(&given) {
		if in.u == 0 || !in.matters(&c) {
			continue
		}
		kept := *in.value
		*in.value = kept + in.u
		up, err := value()
		if err != nil {
			return nil, 0, err
		}
		*in.value = kept - in.u
		down, err := value()
		*in.value = kept
		if err != nil {
			return nil, 0, err
		}
		if up != down {
			sum.Add(up, down)
			parts = append(parts, Contribution{in.point, kept, in.u, (up - down) / 2})
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
	point PointRef
	value *float64
	u     float64
}

// matters reports whether an input can move a characteristic: only its own track's crowns for one of a single track.
func (in *input) matters(c *Characteristic) bool {
	switch kinds[c.Name].step {
	case stepNut, stepPitch, "":
		return in.point.String == c.String && in.point.Kind != PointCrown
	case stepAction:
		return in.point.Kind == PointCrown || in.point.String == c.String
	}
	return in.point.String == 0 && (c.Track == "" || in.point.Track == c.Track)
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
			all = append(all, input{PointRef{Kind: PointCrown, Track: t.Track, Fret: j + 1}, z, u})
		}
	}
	for i := range r.Beam {
		b := &r.Beam[i]
		all = append(all, input{PointRef{Kind: PointBeam, Track: b.Track, Fret: s.Datum.ReliefFret}, &b.ReadingMM, own(b.UMM)})
	}
	for i := range r.Action {
		h := &r.Action[i]
		all = append(all, input{PointRef{Kind: PointAction, String: h.String, Fret: h.Fret, HeldFret: h.HeldFret}, &h.HeightMM, own(h.UMM)})
	}
	for i := range r.NutHeight {
		h := &r.NutHeight[i]
		all = append(all, input{PointRef{Kind: PointNutHeight, String: h.String}, &h.HeightMM, own(h.UMM)})
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
