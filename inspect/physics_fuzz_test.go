package inspect

import (
	"encoding/json"
	"math"
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

// FuzzPhysics: strings, beams and leaves of any numbers give finite values where the arguments are a neck's, and never a
// panic.
func FuzzPhysics(f *testing.F) {
	f.Add(648.0, 0.4, 329.6, 0.25, 130.0, 72.0, 12)
	f.Add(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0)
	f.Add(math.NaN(), math.Inf(1), math.Inf(-1), 1e308, -1e308, 5e-324, -1)
	f.Add(1e6, 1e-6, 1e6, 1e6, 1.0, 1e-6, 48)
	f.Fuzz(func(t *testing.T, scale, mass, hz, force, distance, tension float64, fret int) {
		s := &Spec{Neck: NeckSpec{ScaleMM: scale, Frets: 22, JointFret: 17}}
		fret = ((fret % 49) + 49) % 49
		mustNotPanic := []float64{
			Tension(mass, scale, hz), PlainSteelMass(mass), Cents(hz, force), IntonationCents(hz, force, fret),
			PluckAmplitude(force, distance, scale, tension), PluckEnvelope(force, distance, scale, tension, mass),
			saddleMove(scale, mass, fret+1), reliefToAction(scale, 1, 17, 7, fret), reliefOver(scale, []float64{mass, hz, force}, 1, 2, fret),
			beamReliefOver(s, BeamReading{FeetMM: [2]float64{mass, hz}, PlungerMM: force, ReadingMM: distance}),
		}
		LeafZone(&mass, &hz, &force, nil)
		WorstMargin(Characteristic{Value: &mass, IntervalMM: &[2]*float64{&hz, nil}, Lower: &force, Upper: &distance})
		if TurnsWords(mass) == "" {
			t.Fatal("turns without words")
		}
		UpdateRod(mass, hz, []RodStep{{Turns: force, ReliefBeforeMM: distance, UMM: &tension}})
		for _, v := range []float64{scale, mass, hz, force, distance, tension} {
			if !(v >= 1e-6 && v <= 1e6) {
				return
			}
		}
		kerneltest.MustBeFinite(t, nil, mustNotPanic[:len(mustNotPanic)-2]...) // a relief of frets that are not there is NaN, a beam's plunger may stand on a foot
		if a := PluckAmplitude(force, distance, scale, tension); a < 0 || PluckEnvelope(force, distance, scale, tension, mass) > a*(1+1e-12) {
			t.Fatalf("an envelope deeper than the pluck, %v", a)
		}
	})
}

// FuzzWords: indexes, lists of strings and notes are read back as they are written, or refused.
func FuzzWords(f *testing.F) {
	for _, text := range []string{"each", "6", "", "0", "-1", "1,2,3", "99999999999999999999", "E2", "Bb4", "H1", `"each"`, `[1,2]`, `null`, `{}`, "é"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var i Index
		if i.UnmarshalText([]byte(text)) == nil {
			var again Index
			if out, err := i.MarshalText(); err != nil || again.UnmarshalText(out) != nil || again != i {
				t.Fatalf("%q: %v written as %q", text, i, out)
			}
		}
		var l StringList
		if l.UnmarshalText([]byte(text)) == nil {
			out, err := l.MarshalText()
			var again StringList
			if err != nil || again.UnmarshalText(out) != nil || again.Each != l.Each || len(again.Numbers) != len(l.Numbers) {
				t.Fatalf("%q: %v written as %q", text, l, out)
			}
		}
		for _, v := range []any{&i, &l} {
			if json.Unmarshal([]byte(text), v) == nil {
				if _, err := json.Marshal(v); err != nil {
					t.Fatal(err)
				}
			}
		}
		if hz, err := noteHz(text); err == nil && !(hz > 1 && hz < 20000) {
			t.Fatalf("%q sounds at %v Hz", text, hz)
		}
	})
}
