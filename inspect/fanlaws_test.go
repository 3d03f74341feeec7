package inspect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// randomNeck is fullNeck made uneven: noise, another bow, crowns missing, other places of frets and strings.
func randomNeck(scales NeckSpec, seed uint64) (*Spec, *Readings) {
	s, r := fullNeckOf(scales, seed)
	g := rand.New(rand.NewPCG(seed, 31))
	s.Datum = Datum{1 + g.IntN(2), 15 + g.IntN(4), 5 + g.IntN(4)}
	for i := range s.Strings {
		s.Strings[i].YNutMM += 0.3 * g.NormFloat64()
		s.Strings[i].YSaddleMM += 0.3 * g.NormFloat64()
	}
	bow := 0.2 * g.NormFloat64()
	for i := range r.Profile {
		for j, z := range r.Profile[i].ZMM {
			u := float64(j) / 24
			*z += 0.01*g.NormFloat64() + bow*u*u
			if seed%3 == 1 && g.IntN(12) == 0 {
				r.Profile[i].ZMM[j] = nil
			}
		}
	}
	return s, r
}

// TestEqualScales: a multi-scale neck with two equal scales is the ordinary neck, whatever its perpendicular fret, in every value,
// uncertainty, step of rework and place; one with nearly equal scales is nearly that.
func TestEqualScales(t *testing.T) {
	near := 0.0
	for seed := uint64(1); seed <= 40; seed++ {
		s, r := randomNeck(NeckSpec{ScaleMM: 648}, seed)
		want := mustEvaluate(t, s, r, Options{})
		square := float64(seed%25) + 0.25*float64(seed%4)
		pair := *s
		pair.Neck.ScaleMM, pair.Neck.ScaleBassMM, pair.Neck.ScaleTrebleMM, pair.Neck.PerpendicularFret = 0, 648, 648, new(min(square, 24))
		got := mustEvaluate(t, &pair, r, Options{})
		sameValues(t, "equal scales", got, want, 1e-12)
		if a, b := mustJSON(t, got), mustJSON(t, want); a != b {
			t.Errorf("neck %d: equal scales give another result", seed)
		}
		const by = 1e-7 // mm
		pair.Neck.ScaleBassMM, pair.Neck.ScaleTrebleMM = 648+by, 648-by
		got = mustEvaluate(t, &pair, r, Options{})
		for i := range want.Characteristics {
			g, w := &got.Characteristics[i], &want.Characteristics[i]
			if g.key() != w.key() || w.Value == nil || w.Name == BoardRadius {
				continue
			}
			near = max(near, math.Abs(*g.Value-*w.Value))
			if w.U != nil {
				near = max(near, math.Abs(*g.U-*w.U))
			}
		}
	}
	if near > 1e-7 {
		t.Errorf("scales that differ by 2e-7 mm change a value or uncertainty by %v", near)
	}
	t.Logf("definition: 40 necks with equal scales give the ordinary result to the digit; scales 2e-7 mm apart change it by %.1e", near)
}

// TestPerpendicularFret: another perpendicular fret shifts each side along the neck and nothing else: what is taken along a track or
// a string that keeps its share of the way across is as before.
func TestPerpendicularFret(t *testing.T) {
	along := []string{Relief, ReliefMax, SideDifference, Straightness, LevelDeviation, Rocker, Hump, FallAway, Action, NutHeight, LeastClearance, ClearanceMargin, Pitch}
	for seed := uint64(1); seed <= 10; seed++ {
		s, r := fullFan(seed)
		s.Neck.LastFretRadiusMM = s.Neck.NutRadiusMM // one radius: it does not differ with x
		before := s.Fan()
		want := mustEvaluate(t, s, r, Options{})
		for _, square := range []float64{0, 3.5, 12, 24} {
			moved := *s
			moved.Neck.PerpendicularFret = &square
			f := moved.Fan()
			shift := (648 - 686) / 2.0 * (fretX(1, square) - fretX(1, DefaultPerpendicularFret))
			for i, y := range []float64{-17.5, 17.5} {
				was, now := before.Line(y, y*26/17.5), f.Line(y, y*26/17.5)
				by := shift * float64(1-2*i)
				for n := 0; n <= 24; n++ {
					if math.Abs(now.At(n)-was.At(n)-by) > 1e-10 || n > 0 && math.Abs(now.Y[n-1]-was.Y[n-1]) > 1e-10 {
						t.Fatalf("square at %v, y %v, fret %d: moved by %v, want %v", square, y, n, now.At(n)-was.At(n), by)
					}
				}
			}
			got := mustEvaluate(t, &moved, r, Options{})
			for i := range want.Characteristics {
				g, w := &got.Characteristics[i], &want.Characteristics[i]
				if w.Value == nil || !slices.Contains(along, w.Name) {
					continue
				}
				if g.key() != w.key() || math.Abs(*g.Value-*w.Value) > 1e-9 || math.Abs(*g.U-*w.U) > 1e-7 {
					t.Errorf("square at %v: %v is %v (u %v), want %v (u %v)", square, w.key(), *g.Value, *g.U, *w.Value, *w.U)
				}
			}
		}
	}
}

// TestEvenBowIsNoTwist: a neck bent evenly along its centre line has no twist and the board's own radius, wherever its frets slant;
// the longer side shows more relief, as the square of its scale. Taken along the slanted frets it would pass for twist.
func TestEvenBowIsNoTwist(t *testing.T) {
	const curvature, radius = 2e-5, 305.0 // per mm, mm
	for _, square := range []float64{0, 7, 12.5} {
		s, r := fullFan(1)
		s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM, s.Neck.PerpendicularFret = radius, radius, &square
		f := s.Fan()
		for i := range r.Profile {
			p := &r.Profile[i]
			l := f.Line(p.YNutMM, p.YSaddleMM)
			for j := range p.ZMM {
				p.ZMM[j] = new(curvature*l.X[j]*l.X[j]/2 - Sagitta(radius, 2*l.Y[j]))
			}
		}
		res := mustEvaluate(t, s, r, Options{})
		if v := *row(t, res, rowKey{name: Twist}).Value; math.Abs(v) > 2e-3 { // the tangent at the joint fret leaves the bow by c/2 times the square of the way on
			t.Errorf("square at %v: an even bow gives a twist of %v degrees", square, v)
		}
		for n := 1; n <= 17; n++ { // beyond, the tangent does not follow this bow
			if v := *row(t, res, rowKey{name: BoardRadius, fret: n}).Value; math.Abs(v-radius) > 0.5 {
				t.Errorf("square at %v: board radius %v at fret %d, the board has %v", square, v, n, radius)
			}
		}
		low, high := row(t, res, rowKey{name: Relief, track: bass}), row(t, res, rowKey{name: Relief, track: treble})
		bend := func(l Line) float64 { // of a spreading track on a round board besides
			x, y := func(n int) float64 { return l.At(n) }, func(n int) float64 { return -Sagitta(radius, 2*l.Y[n-1]) }
			return curvature*s.with(t).reliefPerCurvature(l, 7) + reliefAt(x(1), x(7), x(17), y(1), y(7), y(17))
		}
		for c, l := range map[*Characteristic]Line{low: f.Line(-17.5, -26), high: f.Line(17.5, 26)} {
			if math.Abs(*c.Value-bend(l)) > 1e-12 {
				t.Errorf("square at %v: relief %v of the %s, want %v", square, *c.Value, Side(c.Track), bend(l))
			}
		}
		left, right := f.Line(-17.5, -26), f.Line(17.5, 26)
		slope := curvature * (right.At(17)*right.At(17) - left.At(17)*left.At(17)) / 2 / (right.Y[16] - left.Y[16])
		slanted := math.Atan(slope) * 180 / math.Pi
		t.Logf("square at %v: twist %.1e degrees; crowns of slanted frets side by side would slope by %.2f at the joint", square, *row(t, res, rowKey{name: Twist}).Value, slanted)
	}
}

// with is the specification with its datum.
func (s *Spec) with(t *testing.T) *Spec {
	t.Helper()
	c := *s
	c.fillDatum()
	return &c
}
