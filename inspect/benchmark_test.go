package inspect

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// fullNeck is a neck with three tracks, 24 frets, six strings and every limit: crowns of a slightly uneven bow, seeded.
func fullNeck(seed uint64) (*Spec, *Readings) { return fullNeckOf(NeckSpec{ScaleMM: 648}, seed) }

// fullFan is fullNeck with scales of 686 and 648 mm under the outer strings.
func fullFan(seed uint64) (*Spec, *Readings) {
	return fullNeckOf(NeckSpec{ScaleBassMM: 686, ScaleTrebleMM: 648}, seed)
}

// fullNeckOf is fullNeck on a neck of the given scale or scales.
func fullNeckOf(scales NeckSpec, seed uint64) (*Spec, *Readings) {
	r := rand.New(rand.NewPCG(seed, 1))
	number := func(v float64) *float64 { return &v }
	s := &Spec{
		Name: "QM Test 648", Revision: "A",
		Neck:        scales,
		Uncertainty: UncertaintySpec{ResolutionMM: 0.01, CalibrationMM: 0.002, RepeatabilityMM: 0.003, ReferenceMM: 0.002},
		Pluck:       &Pluck{ForceN: 0.25, DistanceMM: 130},
	}
	s.Neck.Frets, s.Neck.JointFret, s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM, s.Neck.Rod, s.Neck.RodTurnsLeft = 24, 17, 254, 406, "double", number(2)
	for i, hz := range []float64{329.6276, 246.9417, 195.9977, 146.8324, 110, 82.4069} {
		y := 17.5 - 7*float64(i)
		s.Strings = append(s.Strings, String{
			Number: i + 1, Name: fmt.Sprint(i + 1), PitchHz: hz, YNutMM: y, YSaddleMM: y * 26 / 17.5, DiameterMM: 0.254 + 0.18*float64(i),
			PlainString: true,
		})
	}
	s.Limits = []Limit{
		{Characteristic: Relief, Track: each, LowerMM: number(0.2), TargetMM: number(0.3), UpperMM: number(0.36)},
		{Characteristic: ReliefMax, Track: each, UpperMM: number(0.5)},
		{Characteristic: SideDifference, LowerMM: number(-0.08), UpperMM: number(0.08)},
		{Characteristic: LevelZone, UpperMM: number(0.12)},
		{Characteristic: Rocker, Track: each, Fret: EachIndex(), LowerMM: number(-0.04), UpperMM: number(0.04)},
		{Characteristic: Hump, Track: each, UpperMM: number(0.03)},
		{Characteristic: FallAway, Track: each, LowerMM: number(-0.05), UpperMM: number(0.4)},
		{Characteristic: Twist, LowerDeg: number(-0.5), UpperDeg: number(0.5)},
		{Characteristic: Action, String: EachIndex(), Fret: NumberIndex(12), LowerMM: number(1.3), UpperMM: number(2.3)},
		{Characteristic: NutHeight, String: EachIndex(), LowerMM: number(0.35), UpperMM: number(0.62)},
		{Characteristic: ClearanceMargin, String: EachIndex(), LowerMM: number(0)},
		{Characteristic: Pitch, String: EachIndex(), LowerCents: number(-5), UpperCents: number(5)},
	}
	readings := &Readings{Serial: fmt.Sprintf("QM-T-%04d", seed)}
	f := s.Fan()
	xb := f.Centre.At(17)
	for i, name := range []string{bass, centre, treble} {
		t := TrackReading{Track: name, YNutMM: 17.5 * float64(i-1), YSaddleMM: 26 * float64(i-1)}
		l := f.Line(t.YNutMM, t.YSaddleMM)
		for n := 1; n <= 24; n++ {
			x := l.At(n)
			z := -Sagitta(f.Radius(x), 2*l.Y[n-1]) + r.NormFloat64()*0.004
			if x < xb {
				z += 1.765e-5 * (xb - x) * (xb - x) / 2
			} else {
				z -= 0.0005 * (x - xb)
			}
			t.ZMM = append(t.ZMM, &z)
		}
		readings.Profile = append(readings.Profile, t)
	}
	for i := 1; i <= 6; i++ {
		readings.Action = append(readings.Action, HeightReading{String: i, Fret: 12, HeightMM: 1.5 + 0.08*float64(i)})
		readings.NutHeight = append(readings.NutHeight, HeightReading{String: i, HeightMM: 0.42 + 0.02*float64(i)})
		readings.Pitch = append(readings.Pitch, PitchReading{String: i, Cents: number(r.NormFloat64())})
	}
	return s, readings
}

// BenchmarkEvaluate: a full neck, three tracks by 24 frets by six strings, with every uncertainty.
func BenchmarkEvaluate(b *testing.B) {
	s, r := fullNeck(1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Evaluate(s, r, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkEvaluateValues: the same without uncertainties, as a live display asks for it.
func BenchmarkEvaluateValues(b *testing.B) {
	s, r := fullNeck(1)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Evaluate(s, r, Options{SkipUncertainty: true}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestFullNeckIsSound keeps the benchmarks honest: the neck evaluates to something with every characteristic in it.
func TestFullNeckIsSound(t *testing.T) {
	s, r := fullNeck(1)
	res, err := Evaluate(s, r, Options{})
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]bool{}
	for _, c := range res.Characteristics {
		found[c.Name] = true
		if c.Value == nil || c.U == nil || math.IsNaN(*c.U) {
			t.Errorf("%s has no value or uncertainty", Words(s, c))
		}
	}
	if len(found) != len(CharacteristicNames()) {
		t.Errorf("found %d kinds of characteristics of %d: %v", len(found), len(CharacteristicNames()), found)
	}
	if res.Disposition != Pass {
		t.Errorf("disposition %s: %s", res.Disposition, res.Why)
	}
}
