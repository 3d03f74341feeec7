// Package filestest invents specifications for tests of what reads, writes and shows them.
package filestest

import (
	"fmt"
	"math"
	"math/rand/v2"

	"sagitta/inspect"
)

// RandomSpec is an invented specification that is right: whatever may be left out sometimes is, numbers have all their digits.
func RandomSpec(r *rand.Rand) *inspect.Spec {
	g := generator{r}
	s := &inspect.Spec{Name: g.text(), Revision: g.text()}
	s.Neck = inspect.NeckSpec{
		ScaleMM: g.number(300, 900), Frets: 12 + r.IntN(20), NutRadiusMM: one(g, 0, g.number(190, 500)), LastFretRadiusMM: one(g, 0, g.number(190, 900)),
		Rod: one(g, "single", "double", "none"), RodTurnsLeft: g.maybe(0, 20),
	}
	s.Neck.JointFret = 10 + r.IntN(s.Neck.Frets-9)
	strings := 1 + r.IntN(12)
	if g.yes() {
		s.Neck.ScaleMM, s.Neck.ScaleIN = 0, g.number(12, 35)
	} else if strings > 1 && g.yes() {
		s.Neck.ScaleMM, s.Neck.ScaleBassMM, s.Neck.ScaleTrebleMM = 0, g.number(640, 670), g.number(620, 640)
		if g.yes() {
			s.Neck.PerpendicularFret = new(g.number(0, 9))
		}
	}
	s.Neck.Kind, s.Neck.Joint, s.Neck.Bridge, s.Neck.ZeroFret = one(g, append(inspect.InstrumentKinds(), "")...), one(g, append(inspect.Joints(), "")...), one(g, append(inspect.Bridges(), "")...), g.yes()
	s.Neck.RodEnd = one(g, append(inspect.RodEnds(), "")...)
	for i := range strings {
		y := g.number(0, 1) + 20*float64(strings-i)
		t := inspect.String{Number: i + 1, Name: g.text(), PitchHz: g.number(20, 900), YNutMM: y / 2, YSaddleMM: y / 1.5, DiameterMM: g.number(0.1, 3), MassGPerM: g.maybe(0.1, 20)}
		t.PlainString, t.Material = g.yes(), one(g, append(inspect.Materials(), "")...)
		if t.MassGPerM == nil {
			t.Material = inspect.Steel // nylon needs its mass
		}
		s.Strings = append(s.Strings, t)
	}
	for i := range r.IntN(3) {
		s.Tracks = append(s.Tracks, inspect.TrackSpec{Name: fmt.Sprintf("line %d %s", i, g.text()), YNutMM: g.number(-20, 20), YSaddleMM: g.number(-30, 30)})
	}
	if g.yes() {
		s.Datum = inspect.Datum{FirstFret: r.IntN(3), SecondFret: one(g, 0, 9+r.IntN(4)), ReliefFret: one(g, 0, 4+r.IntN(4))}
	}
	if g.yes() {
		s.Decision = inspect.Decision{Rule: one(g, "", "simple", "guarded_acceptance", "guarded_rejection"), GuardFactor: g.maybe(0, 3)}
	}
	if g.yes() {
		s.Uncertainty = inspect.UncertaintySpec{ResolutionMM: g.number(0.0001, 0.1), CalibrationMM: g.number(0, 0.01), RepeatabilityMM: g.number(0, 0.01)}
	}
	if g.yes() {
		s.Pluck = &inspect.Pluck{ForceN: g.number(0, 2), DistanceMM: g.number(1, 200)}
	}
	g.limits(s)
	g.routine(s)
	g.watched(s)
	return s
}

func (g generator) routine(s *inspect.Spec) {
	if !g.yes() {
		return
	}
	n := &inspect.Routine{Profile: one(g, "", "each fret", "sweep", "beam", "leaves", "none"), Pitch: one(g, "", "measured", "declared"), Posture: one(g, "", "playing", "flat")}
	n.Tracks = one(g, nil, []string{}, []string{"bass", "treble"}, []string{"treble", "centre", "bass"})
	n.ActionFrets = one(g, nil, []int{}, []int{12}, []int{12, 7, 5})
	n.Strings = one(g, inspect.StringList{}, inspect.StringList{Each: true}, inspect.StringList{Numbers: []int{}}, inspect.StringList{Numbers: []int{len(s.Strings)}})
	if g.yes() {
		n.Closing = new(g.yes())
	}
	if g.yes() {
		n.LeavesMM = one(g, []float64{}, []float64{0.05, 0.1, g.number(0.1, 1)})
	}
	n.Whole, n.TwoSign, n.Repairs, n.TaktS = g.yes(), g.yes(), one(g, append(inspect.Repairs(), "")...), g.maybe(1, 3600)
	s.Routine = n
}

// limits puts limits on some of the characteristics, each once.
func (g generator) limits(s *inspect.Spec) {
	for _, k := range inspect.Catalogue() {
		if !k.Limited || g.IntN(3) == 0 {
			continue
		}
		l := inspect.Limit{Characteristic: k.Name}
		if k.Track {
			l.Track = one(g, "each", "bass", "centre", "treble")
		}
		if k.String {
			l.String = one(g, inspect.EachIndex(), inspect.NumberIndex(1+g.IntN(len(s.Strings))))
		}
		if k.Fret {
			l.Fret = one(g, inspect.EachIndex(), inspect.NumberIndex(2+g.IntN(6)))
		}
		if k.HeldFret && l.Fret.Each {
			l.HeldFret = g.IntN(3)
		}
		from := g.number(-2, 2)
		bounds := [3]*float64{&from, new(from + 0.5), new(from + 1)}
		for _, i := range []int{0, 2} {
			if g.IntN(4) == 0 {
				bounds[i] = nil
				break
			}
		}
		if g.yes() {
			bounds[1] = nil
		}
		switch k.Unit {
		case "mm":
			l.LowerMM, l.TargetMM, l.UpperMM = bounds[0], bounds[1], bounds[2]
		case "deg":
			l.LowerDeg, l.TargetDeg, l.UpperDeg = bounds[0], bounds[1], bounds[2]
		case "cents":
			l.LowerCents, l.TargetCents, l.UpperCents = bounds[0], bounds[1], bounds[2]
		}
		s.Limits = append(s.Limits, l)
	}
}

// watched plans yields and says what is watched.
func (g generator) watched(s *inspect.Spec) {
	var limited []string
	for _, l := range s.Limits {
		limited = append(limited, l.Characteristic)
	}
	if g.yes() {
		s.Plan = &inspect.Plan{FirstPassPercent: g.maybe(0, 100), FinalPercent: g.maybe(0, 100)}
		for _, name := range limited[:g.IntN(len(limited)+1)] {
			s.Plan.Reasons = append(s.Plan.Reasons, inspect.PlannedReason{Characteristic: name, MostPercent: g.number(0, 100)})
		}
	}
	if g.yes() {
		s.Alarms = &inspect.Alarms{Characteristics: one(g, nil, []string{}, limited), Tests: one(g, nil, []int{}, []int{1}, []int{1, 2, 5})}
		if g.yes() {
			s.Alarms.EWMA = new(g.yes())
		}
		if g.yes() {
			s.Alarms.LeastNecks = new(1 + g.IntN(100))
		}
	}
}

type generator struct{ *rand.Rand }

func (g generator) yes() bool { return g.IntN(2) == 0 }

// number is one between two, sometimes short as people write them, sometimes with all its digits.
func (g generator) number(low, high float64) float64 {
	v := low + g.Float64()*(high-low)
	if g.yes() {
		if short := math.Round(v*100) / 100; short >= low && short <= high {
			return short
		}
	}
	return v
}

func (g generator) maybe(low, high float64) *float64 {
	if g.yes() {
		return nil
	}
	return new(g.number(low, high))
}

// text is a name, sometimes with what has to be written in a roundabout way.
func (g generator) text() string {
	return one(g, "Model 7", "Flat \"top\"", "back\\slash", "ä, 長", "a\ttab", "# no remark", "[not a table]", "'single'", "x = 1") + fmt.Sprint(g.IntN(1000))
}

func one[T any](g generator, all ...T) T { return all[g.IntN(len(all))] }
