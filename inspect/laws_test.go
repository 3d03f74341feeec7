package inspect

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// lawNecks are the necks that the laws are tried on: worked ones, with and without missing crowns, and seeded ones.
func lawNecks(t *testing.T) (specs []*Spec, readings []*Readings) {
	for _, name := range neckNames {
		s, r := readNeck(t, name)
		if len(r.Profile) == 0 {
			continue
		}
		specs, readings = append(specs, s), append(readings, r)
	}
	for seed := uint64(2); seed < 5; seed++ {
		s, r := fullNeck(seed)
		fan, fanned := fullFan(seed)
		specs, readings = append(specs, s, fan), append(readings, r, fanned)
	}
	return specs, readings
}

// change returns readings whose crowns went through f(x, y, z).
func change(s *Spec, r *Readings, f func(x, y, z float64) float64) *Readings {
	c := r.clone()
	fan := s.Fan()
	for i := range c.Profile {
		t := &c.Profile[i]
		l := fan.Line(t.YNutMM, t.YSaddleMM)
		for j, z := range t.ZMM {
			if z != nil {
				*z = f(l.X[j], l.Y[j], *z)
			}
		}
	}
	return c
}

func mustEvaluate(t testing.TB, s *Spec, r *Readings, opt Options) *Result {
	t.Helper()
	res, err := Evaluate(s, r, opt)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// sameValues compares two results row by row; scale is what values must have been multiplied by.
func sameValues(t *testing.T, what string, got, want *Result, tolerance float64, skip ...string) {
	t.Helper()
	if len(got.Characteristics) != len(want.Characteristics) {
		t.Fatalf("%s: %d rows, want %d", what, len(got.Characteristics), len(want.Characteristics))
	}
rows:
	for i := range got.Characteristics {
		g, w := &got.Characteristics[i], &want.Characteristics[i]
		for _, name := range skip {
			if g.Name == name {
				continue rows
			}
		}
		if g.key() != w.key() || (g.Value == nil) != (w.Value == nil) {
			t.Errorf("%s: row %v, want %v", what, g.key(), w.key())
			continue
		}
		if g.Value == nil {
			continue
		}
		limit := tolerance
		if g.Name == BoardRadius {
			limit *= *w.Value // a radius carries its height's rounding some hundredfold
		}
		if !(math.Abs(*g.Value-*w.Value) <= limit) || g.U != nil && !(math.Abs(*g.U-*w.U) <= limit) {
			t.Errorf("%s: %v: %v (u %v), want %v (u %v)", what, g.key(), *g.Value, show(g.U), *w.Value, show(w.U))
		}
	}
}

// TestOffsetAndTiltChangeNothing: a common offset and a common tilt along the neck cancel out of every characteristic, and so
// does a common slope across it out of all but the circle's height (definition: only differences matter).
func TestOffsetAndTiltChangeNothing(t *testing.T) {
	specs, readings := lawNecks(t)
	for i, s := range specs {
		before := mustEvaluate(t, s, readings[i], Options{})
		moved := change(s, readings[i], func(x, _, z float64) float64 { return z + 3.7 + 0.0021*x })
		sameValues(t, readings[i].Serial+" moved and tilted", mustEvaluate(t, s, moved, Options{}), before, 2e-9)
	}
	t.Logf("definition: %d necks, offset 3.7 mm and tilt 0.0021 change no value or uncertainty beyond 2e-9", len(specs))
}

// TestReliefIsLinear: relief and twist's height difference are linear in z, and everything that is a height scales with it on a
// flat board once the bend curve's threshold does not bite.
func TestReliefIsLinear(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 200 {
		z1, z2, sum := make([]float64, 22), make([]float64, 22), make([]float64, 22)
		p, q := r.NormFloat64(), r.NormFloat64()
		for i := range z1 {
			z1[i], z2[i] = r.NormFloat64(), r.NormFloat64()
			sum[i] = p*z1[i] + q*z2[i]
		}
		k := 2 + r.IntN(14)
		got := reliefOver(648, sum, 1, k, 17)
		if want := p*reliefOver(648, z1, 1, k, 17) + q*reliefOver(648, z2, 1, k, 17); math.Abs(got-want) > 1e-12 {
			t.Fatalf("relief of a sum %v, sum of reliefs %v", got, want)
		}
	}
	s, readings := fullNeck(9)
	s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM = 0, 0
	before := mustEvaluate(t, s, readings, Options{SkipUncertainty: true})
	after := mustEvaluate(t, s, change(s, readings, func(_, _, z float64) float64 { return 0.5 * z }), Options{SkipUncertainty: true})
	n := 0
	for i := range before.Characteristics {
		b, a := &before.Characteristics[i], &after.Characteristics[i]
		switch b.Name {
		case Relief, ReliefMax, SideDifference, Straightness, Flatness, LevelZone:
			n++
			if math.Abs(*a.Value-*b.Value/2) > 1e-12 {
				t.Errorf("%v: half the heights give %v, half the value is %v", b.key(), *a.Value, *b.Value/2)
			}
		}
	}
	t.Logf("definition: 200 sums and %d halved characteristics agree", n)
}

// turnsWhenMirrored are the characteristics whose sign turns where the sides are exchanged; the test of a single one may add it.
var turnsWhenMirrored = map[string]bool{Twist: true, SideDifference: true}

// mirror returns a neck's mirror image: what was on the bass side is on the treble side. Its strings are numbered from the new treble
// side, and it has no limits.
func mirror(s *Spec, r *Readings) (*Spec, *Readings) {
	c, m := *s, r.clone()
	c.Limits, c.Routine = nil, nil
	c.Neck.ScaleBassMM, c.Neck.ScaleTrebleMM = s.Neck.ScaleTrebleMM, s.Neck.ScaleBassMM
	c.Strings, c.Tracks = slices.Clone(s.Strings), slices.Clone(s.Tracks)
	turn := func(number *int) { *number = len(c.Strings) + 1 - *number }
	for i := range c.Strings {
		t := &c.Strings[i]
		t.YNutMM, t.YSaddleMM = -t.YNutMM, -t.YSaddleMM
		turn(&t.Number)
	}
	for i := range c.Tracks {
		t := &c.Tracks[i]
		t.Name, t.YNutMM, t.YSaddleMM = otherSide(t.Name), -t.YNutMM, -t.YSaddleMM
	}
	for i := range m.Profile {
		t := &m.Profile[i]
		t.Track, t.YNutMM, t.YSaddleMM = otherSide(t.Track), -t.YNutMM, -t.YSaddleMM
	}
	for i := range m.Action {
		turn(&m.Action[i].String)
	}
	for i := range m.NutHeight {
		turn(&m.NutHeight[i].String)
	}
	for i := range m.Pitch {
		turn(&m.Pitch[i].String)
	}
	return &c, m
}

// otherSide names the track on the other side.
func otherSide(track string) string {
	switch track {
	case bass:
		return treble
	case treble:
		return bass
	}
	return track
}

// TestMirroredNeck: a neck's mirror image has the opposite twist and side difference, and each side's and string's values on the
// other side.
func TestMirroredNeck(t *testing.T) {
	specs, readings := lawNecks(t)
	for i, s := range specs {
		plain := *s
		plain.Limits, plain.Routine = nil, nil
		before := mustEvaluate(t, &plain, readings[i], Options{})
		c, m := mirror(s, readings[i])
		after := mustEvaluate(t, c, m, Options{})
		n := 0
		for j := range before.Characteristics {
			b := &before.Characteristics[j]
			if b.Value == nil {
				continue
			}
			k := b.key()
			k.track = otherSide(b.Track)
			if k.string != 0 {
				k.string = len(s.Strings) + 1 - k.string
			}
			a, want := row(t, after, k), *b.Value
			if turnsWhenMirrored[b.Name] {
				want = -want
			}
			if a == nil || math.Abs(*a.Value-want) > 1e-9*math.Max(1, math.Abs(want)) || math.Abs(*a.U-*b.U) > 1e-7*math.Max(1, math.Abs(want)) {
				t.Errorf("%s: %v mirrored: got %+v, want %v (u %v)", m.Serial, k, a, want, *b.U)
			}
			n++
		}
		if n < 20 {
			t.Errorf("%s: only %d rows compared", m.Serial, n)
		}
	}
}

// TestLeftHanded: a left-handed instrument read with its treble side at the smaller y gives what the same neck gives in
// the neck's own coordinates; without saying so, the order of its sides is refused.
func TestLeftHanded(t *testing.T) {
	for _, name := range []string{"W3-high-fret-guarded", "W7-fan-good", "W8-fan-square-at-the-nut-twisted"} {
		t.Run(name, func(t *testing.T) { leftHanded(t, name) })
	}
}

func leftHanded(t *testing.T, name string) {
	s, r := readNeck(t, name)
	before := mustEvaluate(t, s, r, Options{})
	left := r.clone()
	for i := range left.Profile {
		left.Profile[i].YNutMM *= -1
		left.Profile[i].YSaddleMM *= -1
	}
	if _, err := Evaluate(s, left, Options{}); err == nil {
		t.Error("sides in the wrong order were accepted")
	}
	left.Handed = "left"
	sameValues(t, "left-handed", mustEvaluate(t, s, left, Options{}), before, 0)
	for _, only := range []int{0, len(left.Profile) - 1} { // one side alone
		one, seen := r.clone(), left.clone()
		one.Profile, seen.Profile = one.Profile[only:only+1], seen.Profile[only:only+1]
		sameValues(t, "left-handed, one side", mustEvaluate(t, s, seen, Options{}), mustEvaluate(t, s, one, Options{}), 0)
	}
	named := *s // tracks under names of the specification's own
	for i := range left.Profile {
		p := &left.Profile[i]
		own := TrackSpec{"under " + p.Track, -p.YNutMM, -p.YSaddleMM}
		p.Track = own.Name
		named.Tracks = append(named.Tracks, own)
	}
	if c := row(t, mustEvaluate(t, &named, left, Options{}), rowKey{name: Twist}); *c.Value != *row(t, before, rowKey{name: Twist}).Value {
		t.Errorf("left-handed, tracks of other names: twist %v", *c.Value)
	}
	r.Handed = "left"
	sameValues(t, "left-handed in its own coordinates", mustEvaluate(t, s, r, Options{}), before, 0)
}

// TestEvaluateLeavesItsArguments: the readings and the specification are as they were.
func TestEvaluateLeavesItsArguments(t *testing.T) {
	s, r := readNeck(t, "W4-low-with-missing-crowns")
	s2, r2 := readNeck(t, "W4-low-with-missing-crowns")
	first := mustEvaluate(t, s, r, Options{})
	second := mustEvaluate(t, s, r, Options{})
	sameValues(t, "twice", second, first, 0)
	if a, b := mustJSON(t, r), mustJSON(t, r2); a != b {
		t.Error("the readings were changed")
	}
	if a, b := mustJSON(t, s), mustJSON(t, s2); a != b {
		t.Error("the specification was changed")
	}
}

// TestScaledNeck: a neck made twice as large in every length has every length doubled, angles and cents as they were; so its
// values in another unit of length are the same lengths. The bend curve's threshold is a length that does not grow with it:
// crowns inside it, as here, are fitted alike.
func TestScaledNeck(t *testing.T) {
	for seed := uint64(2); seed < 6; seed++ {
		s, r := fullNeck(seed)
		s.Pluck = nil // a force does not scale with the neck
		s.Limits = nil
		for i := range r.Profile {
			for j, z := range r.Profile[i].ZMM { // an even bow, a little uneven, on a board with a radius
				x := FretX(648, j+1)
				y := TrackY(r.Profile[i].YNutMM, r.Profile[i].YSaddleMM, 648, x)
				*z = 1.8e-5*(405-x)*(405-x)/2 + 0.0004*math.Sin(float64(seed)*x) - Sagitta(NominalRadius(254, 406, FretX(648, 24), x), 2*y)
			}
		}
		big := *s
		big.Strings = slices.Clone(s.Strings)
		big.Neck.ScaleMM, big.Neck.NutRadiusMM, big.Neck.LastFretRadiusMM = 2*648, 2*254, 2*406
		for i := range big.Strings {
			big.Strings[i].YNutMM *= 2
			big.Strings[i].YSaddleMM *= 2
		}
		double := r.clone()
		for i := range double.Profile {
			p := &double.Profile[i]
			p.YNutMM *= 2
			p.YSaddleMM *= 2
			for _, z := range p.ZMM {
				*z *= 2
			}
		}
		for i := range double.Action {
			double.Action[i].HeightMM *= 2
			double.NutHeight[i].HeightMM *= 2
		}
		before, after := mustEvaluate(t, s, r, Options{SkipUncertainty: true}), mustEvaluate(t, &big, double, Options{SkipUncertainty: true})
		if len(before.Characteristics) != len(after.Characteristics) {
			t.Fatalf("%d values, doubled %d", len(before.Characteristics), len(after.Characteristics))
		}
		n := 0
		for i := range before.Characteristics {
			b, a := &before.Characteristics[i], &after.Characteristics[i]
			want, limit := *b.Value, 1e-9
			if b.Unit == "mm" {
				want *= 2
			}
			if b.Name == BoardRadius {
				limit = 1e-9 * want
			}
			n++
			if math.Abs(*a.Value-want) > limit {
				t.Errorf("%v: %v, doubled %v", b.key(), *b.Value, *a.Value)
			}
		}
		if n < 150 {
			t.Errorf("only %d values compared", n)
		}
	}
}

// TestRandomNecks: 120 seeded necks, good and bad, with crowns missing, tracks missing and pitches off, give finite results with
// or without uncertainties, and advice that keeps its rules: steps in order, the first on what was measured and every later one
// waiting, never more than a quarter turn, in sixteenths, a predicted value in its interval.
func TestRandomNecks(t *testing.T) {
	advised, predicted := map[string]int{}, 0
	for seed := uint64(1); seed <= 120; seed++ {
		s, r := fullNeck(seed)
		g := rand.New(rand.NewPCG(seed, 5))
		noise, bow := []float64{0, 0.01, 0.05}[seed%3], 0.2*g.NormFloat64()
		for i := range r.Profile {
			for j, z := range r.Profile[i].ZMM {
				u := float64(j) / 24
				*z += noise*g.NormFloat64() + bow*u*u
				if seed%4 == 1 && g.IntN(12) == 0 {
					r.Profile[i].ZMM[j] = nil
				}
			}
		}
		if seed%5 == 1 {
			r.Profile = r.Profile[:g.IntN(3)]
		}
		for i := range 6 {
			r.Action[i].HeightMM += 0.4 * g.NormFloat64()
			r.NutHeight[i].HeightMM += 0.1 * g.NormFloat64()
			if seed%6 == 2 {
				*r.Pitch[i].Cents *= 4
			}
		}
		for _, quick := range []bool{false, true} {
			res := mustEvaluate(t, s, r, Options{SkipUncertainty: quick})
			soundResult(t, res)
			for i, a := range res.Advice {
				advised[a.What]++
				predicted += len(a.Predicted)
				if a.Order != i+1 || a.Waits != (i > 0) || a.Why == "" || len(a.Cautions) == 0 {
					t.Errorf("neck %d: step %+v", seed, a)
				}
				if a.Turns != nil && (*a.Turns < 0 || *a.Turns > 0.25 || *a.Turns*16 != math.Round(*a.Turns*16)) {
					t.Errorf("neck %d: %v turns", seed, *a.Turns)
				}
				for _, p := range a.Predicted {
					if !(p.Interval[0] <= p.Value && p.Value <= p.Interval[1]) || p.Before == nil || p.Zone == "" || p.Zone == NoLimit {
						t.Errorf("neck %d, %s: %+v", seed, a.What, p)
					}
				}
			}
		}
	}
	for _, step := range Steps() {
		if advised[step] == 0 {
			t.Errorf("no neck was advised %s: %v", step, advised)
		}
	}
	t.Logf("definition: steps advised %v with %d predictions", advised, predicted)
}
