package inspect

import (
	"fmt"
	"math"
)

// reliefToAction returns how much the action over fret f changes for each mm that relief at fret k over frets a to b
// changes, for a neck clamped at fret b and bent with uniform curvature before it, the nut carried along and the saddle
// fixed: [x_b^2/2 (1 - x_f/L) - (x_b - x_f)^2/2] / [(x_k - x_a)(x_b - x_k)/2], the second term only before fret b
// (small deflections of a beam: J. M. Gere and B. J. Goodno, Mechanics of Materials, tables of deflections).
func reliefToAction(scaleMM float64, a, b, k, f int) float64 {
	x := func(n int) float64 { return FretX(scaleMM, n) }
	xb, xf := x(b), x(f)
	lift := xb * xb / 2 * (1 - xf/scaleMM)
	if xf < xb {
		lift -= (xb - xf) * (xb - xf) / 2
	}
	return lift / ((x(k) - x(a)) * (xb - x(k)) / 2)
}

// reliefOver returns the relief, mm, at fret k of the crown heights z (entry i is fret i+1; NaN where not measured) over the
// chord between frets a and b of a neck of the given scale: z_a + (z_b - z_a)(x_k - x_a)/(x_b - x_a) - z_k, positive for a
// forward bow (definition). NaN when one of the three was not measured or is not between 1 and len(z), or a = b.
func reliefOver(scaleMM float64, z []float64, a, k, b int) float64 {
	for _, n := range [3]int{a, k, b} {
		if n < 1 || n > len(z) {
			return math.NaN()
		}
	}
	if a == b {
		return math.NaN()
	}
	return reliefAt(FretX(scaleMM, a), FretX(scaleMM, k), FretX(scaleMM, b), z[a-1], z[k-1], z[b-1])
}

// saddleMove returns how far the saddle, mm, must rise for an open string to rise by dh over fret f: dh L / x_f (similar
// triangles; twice dh at fret 12). f is 1 or more.
func saddleMove(scaleMM, dh float64, fret int) float64 {
	return dh * scaleMM / FretX(scaleMM, fret)
}

// noteHz returns the frequency of a note of equal temperament, A4 = 440 Hz (ISO 16:1975), named by its letter, an
// optional # or b, and its octave: "E2", "F#3", "Bb4".
func noteHz(name string) (float64, error) {
	wrong := fmt.Errorf("note %q: give a letter A to G, # or b if need be, and an octave from 0 to 9, as in E2 or F#3", name)
	if len(name) < 2 || len(name) > 3 {
		return 0, wrong
	}
	semitone, ok := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}[name[0]]
	octave := int(name[len(name)-1]) - '0'
	if !ok || octave < 0 || octave > 9 {
		return 0, wrong
	}
	if len(name) == 3 {
		switch name[1] {
		case '#':
			semitone++
		case 'b':
			semitone--
		default:
			return 0, wrong
		}
	}
	return 440 * math.Exp2(float64(12*(octave+1)+semitone-69)/12), nil
}

// beamReliefOver converts a beam on two feet's reading, the sagitta over its own feet, to relief over the specification's
// datum for the same uniform curvature: s (x_k - x_a)(x_b - x_k) / ((m - p)(q - m)), mm (definition). It is converted, not
// measured. A plunger that is not between its feet gives a number that is not finite or has the wrong sign: Check first.
func beamReliefOver(s *Spec, b BeamReading) float64 {
	given := *s
	given.fillDatum()
	return b.ReadingMM * given.beamFactor(given.Fan().Centre, &b)
}
