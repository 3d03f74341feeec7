package inspect

import "math"

// steelDensity is that of plain steel strings, kg/m^3; a rounded handbook value, from memory.
const steelDensity = 7850

// PlainSteelMass returns the mass per length, g/m, of a plain steel string of a diameter in mm: pi/4 d^2 rho with rho =
// 7850 kg/m^3.
func PlainSteelMass(diameterMM float64) float64 {
	return math.Pi / 4 * diameterMM * diameterMM * steelDensity / 1000
}

// Tension returns the tension, N, that brings a string of mass per length massGPerM, g/m, and vibrating length lengthMM,
// mm, to a pitch in Hz: mu (2 L f)^2 (M. Mersenne, Harmonie universelle, 1636; the ideal string).
func Tension(massGPerM, lengthMM, hz float64) float64 {
	v := 2 * lengthMM / 1000 * hz
	return massGPerM / 1000 * v * v
}

// What is taken of a string wound on a steel core: its mass per length over the area of its outer circle, kg/m^3, and the standard
// uncertainty of that, relative. Worked out: a core of 0.35 to 0.55 of the diameter in one layer of round wire fills 81 to 85 % of the
// circle; with steel or nickel-plated steel (7850 to 8000 kg/m^3) 6350 to 6800, with bronze (8800) up to 7200, and wire drawn out
// in winding less. Flat-wound strings lie above.
const (
	woundDensity  = 6600
	woundRelative = 0.05
)

// WoundMass estimates the mass per length, g/m, of a string wound with one layer of round wire on a steel core, from its diameter
// in mm, with its standard uncertainty: pi/4 d^2 rho with rho = 6600 kg/m^3 within 5 %.
func WoundMass(diameterMM float64) (mass, u float64) {
	mass = math.Pi / 4 * diameterMM * diameterMM * woundDensity / 1000
	return mass, woundRelative * mass
}

// Mass returns the string's mass per length and its standard uncertainty, g/m: the one given and that of plain steel are taken as
// they are, that of a wound string is estimated from its diameter.
func (t *String) Mass() (mass, u float64) {
	switch {
	case t.MassGPerM != nil:
		return *t.MassGPerM, 0
	case t.PlainString:
		return PlainSteelMass(t.DiameterMM), 0
	}
	return WoundMass(t.DiameterMM)
}

// tension returns the string's tension at its target pitch over its own scale and what its mass makes uncertain of it, N.
func (t *String) tension(scaleMM float64) (tension, u float64) {
	mass, u := t.Mass()
	return Tension(mass, scaleMM, t.PitchHz), Tension(u, scaleMM, t.PitchHz)
}

// PullOf returns what all strings pull together at their target pitches, N, and its standard uncertainty. The estimated masses are
// taken to err alike, strings of one set being wound alike.
func (s *Spec) PullOf() (pull, u float64) {
	f := s.Fan()
	for i := range s.Strings {
		l := f.Line(s.Strings[i].YNutMM, s.Strings[i].YSaddleMM)
		t, ut := s.Strings[i].tension(l.Scale())
		pull, u = pull+t, u+ut
	}
	return pull, u
}

// Cents returns how far a pitch lies from its target, 1200 log2(hz/target); both above 0.
func Cents(hz, target float64) float64 { return 1200 * math.Log2(hz/target) }

// IntonationCents returns how far a string held at a fret sounds from equal temperament above its open pitch:
// 1200 log2(f_fretted / (f_open 2^(n/12))), both above 0 (definition).
func IntonationCents(openHz, frettedHz float64, fret int) float64 {
	return Cents(frettedHz, openHz) - 100*float64(fret)
}

// PluckAmplitude returns the displacement, mm, at which a string of vibrating length l under tension T is released when a
// force F pulls it aside at distance p from its end: F (p/l)(1 - p/l) l / T, lengths mm, forces N (statics of the
// triangle with small slopes). 0 where p is not within the length.
func PluckAmplitude(forceN, distanceMM, lengthMM, tensionN float64) float64 {
	if !(distanceMM > 0 && distanceMM < lengthMM) || tensionN <= 0 {
		return 0
	}
	p := distanceMM / lengthMM
	return forceN * p * (1 - p) * lengthMM / tensionN
}

// PluckEnvelope returns how far below its line of rest, mm, the string of PluckAmplitude comes at distance d from its
// held end: the mirror image of its first shape, a triangle of depth A peaking at distance p from the held end
// (d'Alembert's solution for the ideal string; N. H. Fletcher and T. D. Rossing, The Physics of Musical Instruments, 2nd
// ed., 1998, chapter 2, from memory). 0 outside the string and where p is not within the length.
func PluckEnvelope(forceN, distanceMM, lengthMM, tensionN, d float64) float64 {
	a := PluckAmplitude(forceN, distanceMM, lengthMM, tensionN)
	switch {
	case a == 0 || d <= 0 || d >= lengthMM:
		return 0
	case d <= distanceMM:
		return a * d / distanceMM
	}
	return a * (lengthMM - d) / (lengthMM - distanceMM)
}
