package laying

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// fanned returns a neck with unequal outer scales, fret 7 square to the centre line, and three tracks under strings that keep their
// share of the way across.
func fanned() Neck {
	n := ordinary(660, 24, 16, usual(3)...)
	square := 1 - math.Exp2(-7.0/12)
	for i := range n.Tracks {
		own := 648 + 12*float64(2-i)
		for fret := range n.Tracks[i].X {
			n.Tracks[i].X[fret] = 660*square - own*(square-(1-math.Exp2(-float64(fret)/12)))
		}
	}
	return n
}

// simulated returns every crown of a neck in the order of its tracks, each scattering.
func simulated(r *rand.Rand, neck Neck, scatter float64) (crowns []Crown) {
	for t := range neck.Tracks {
		offset, tilt, bow := r.NormFloat64(), 0.002*r.NormFloat64(), 0.2+0.1*r.NormFloat64()
		for fret := 1; fret <= neck.Last; fret++ {
			columns, unit := shape(&neck, Crown{Track: t, Fret: fret}, 0)
			z := offset + tilt*neck.Tracks[t].X[fret] + bow*unit + 0.3*columns[4] - 0.5*columns[6] + scatter*r.NormFloat64()
			crowns = append(crowns, Crown{t, fret, z})
		}
	}
	return crowns
}

// lay returns crowns in another laying: c0 + c1 x + c2 y higher.
func lay(neck Neck, crowns []Crown, c0, c1, c2 float64) []Crown {
	moved := slices.Clone(crowns)
	for i, c := range moved {
		moved[i].Z += c0 + c1*neck.Tracks[c.Track].X[c.Fret] + c2*neck.Tracks[c.Track].Y[c.Fret]
	}
	return moved
}

// mirror returns the neck as its mirror image, its tracks in their order from bass to treble.
func mirror(neck Neck, crowns []Crown) (Neck, []Crown) {
	m := neck
	m.Tracks = nil
	for _, t := range slices.Backward(neck.Tracks) {
		y := slices.Clone(t.Y)
		for i := range y {
			y[i] = -y[i]
		}
		m.Tracks = append(m.Tracks, Track{X: t.X, Y: y})
	}
	image := slices.Clone(crowns)
	for i := range image {
		image[i].Track = len(neck.Tracks) - 1 - image[i].Track
	}
	return m, image
}

func lawNecks() []Neck {
	return []Neck{ordinary(648, 22, 17, usual(1)...), ordinary(628, 21, 14, usual(2)...), ordinary(864, 24, 18, usual(3)...), fanned()}
}

const uReading = 0.004

func mustFindStep(t testing.TB, neck Neck, crowns []Crown) Shape {
	t.Helper()
	s, err := FindStep(neck, crowns, uReading)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func mustQuestion(t testing.TB, neck Neck, taken []Crown) Look {
	t.Helper()
	l, err := Question(neck, taken, uReading)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// sameShape compares two shapes; offsets of differences of two tracks may have turned their sign.
func sameShape(t *testing.T, got, want Shape, track func(Series) int, tolerance float64) {
	t.Helper()
	if got.Moved != want.Moved || len(got.Series) != len(want.Series) {
		t.Fatalf("moved %v with %d series, want %v with %d", got.Moved, len(got.Series), want.Moved, len(want.Series))
	}
	for _, w := range want.Series {
		i := slices.IndexFunc(got.Series, func(g Series) bool { return g.Difference == w.Difference && g.Track == track(w) })
		if i < 0 {
			t.Fatalf("no series for %+v in %+v", w, got.Series)
		}
		g := got.Series[i]
		if g.Tested != w.Tested || g.IsStep != w.IsStep || g.Strongest.After != w.Strongest.After || g.Step.After != w.Step.After ||
			math.Abs(math.Abs(g.Strongest.Offset)-math.Abs(w.Strongest.Offset)) > tolerance ||
			math.Abs(g.Strongest.Least-w.Strongest.Least) > tolerance ||
			math.Abs(g.Strongest.Statistic-w.Strongest.Statistic) > tolerance*1000*(1+w.Strongest.Statistic) {
			t.Errorf("series %+v, want %+v", g, w)
		}
	}
}

// TestLayingsPlaneChangesNothing: an offset and tilts of the whole laying are its own affair. The model behind the question knows
// that a laying is not metres off or on its side, so it gives way by micrometres.
func TestLayingsPlaneChangesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 12))
	worst := 0.0
	for _, neck := range lawNecks() {
		for range 20 {
			crowns := simulated(r, neck, 0.006)
			from := r.IntN(len(crowns))
			for i := from; i < len(crowns); i++ {
				crowns[i].Z += 0.3
			}
			other := lay(neck, crowns, 2*r.NormFloat64(), 0.003*r.NormFloat64(), 0.01*r.NormFloat64())
			sameShape(t, mustFindStep(t, neck, other), mustFindStep(t, neck, crowns), func(s Series) int { return s.Track }, 1e-9)
			n := 3 + r.IntN(len(crowns)-2)
			a, b := mustQuestion(t, neck, crowns[:n]), mustQuestion(t, neck, other[:n])
			for i := range a.Last {
				if a.Last[i].SD < 0.1 { // others say enough
					worst = max(worst, math.Abs(a.Last[i].Deviation-b.Last[i].Deviation))
				}
			}
		}
	}
	if worst > 0.01 {
		t.Errorf("deviations of crowns change by %.4f mm with the plane of their laying", worst)
	}
	t.Logf("definition: offset and tilts of the laying; shape steps unchanged, deviations of questions within %.2g mm", worst)
}

// TestMirroredNeck: the mirror image has the same steps and questions, its tracks in the other order.
func TestMirroredNeck(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 12))
	for _, neck := range lawNecks() {
		for range 20 {
			crowns := simulated(r, neck, 0.006)
			for i := r.IntN(len(crowns)); i < len(crowns); i++ {
				crowns[i].Z += 0.25
			}
			m, image := mirror(neck, crowns)
			tracks := len(neck.Tracks)
			sameShape(t, mustFindStep(t, m, image), mustFindStep(t, neck, crowns), func(s Series) int {
				if s.Difference && tracks == 2 {
					return 0
				}
				return tracks - 1 - s.Track
			}, 1e-9)
			n := 3 + r.IntN(len(crowns)-2)
			a, b := mustQuestion(t, neck, crowns[:n]), mustQuestion(t, m, image[:n])
			if a.Asked != b.Asked || a.About != b.About {
				t.Errorf("asked %v about %d, the mirror image %v about %d", a.Asked, a.About, b.Asked, b.About)
			}
			for i := range a.Last {
				if math.Abs(a.Last[i].Deviation-b.Last[i].Deviation) > 1e-7 || math.Abs(a.Last[i].SD-b.Last[i].SD) > 1e-7 {
					t.Errorf("crown %+v, in the mirror image %+v", a.Last[i], b.Last[i])
				}
			}
			some := crowns[:tracks*neck.Last-7]
			links := mustLinks(t, neck, some)
			_, old := mirror(neck, some)
			if got, want := byPlace(mustLinks(t, m, old), tracks-1), byPlace(links, -1); !slices.Equal(got, want) {
				t.Errorf("links of the mirror image %v, want %v", got, want)
			}
		}
	}
}

// byPlace sorts crowns by track and fret; with a last track of 0 or more the tracks are counted from it.
func byPlace(crowns []Crown, last int) []Crown {
	crowns = slices.Clone(crowns)
	for i := range crowns {
		if last >= 0 {
			crowns[i].Track = last - crowns[i].Track
		}
	}
	slices.SortFunc(crowns, func(a, b Crown) int { return 1000*(a.Track-b.Track) + a.Fret - b.Fret })
	return crowns
}

func mustLinks(t testing.TB, neck Neck, old []Crown) []Crown {
	t.Helper()
	links, err := Links(neck, old)
	if err != nil {
		t.Fatal(err)
	}
	return links
}

func TestUnusableInputs(t *testing.T) {
	good := ordinary(648, 22, 17, usual(2)...)
	crowns := simulated(rand.New(rand.NewPCG(9, 12)), good, 0.01)
	change := func(f func(n *Neck)) Neck {
		n := ordinary(648, 22, 17, usual(2)...)
		f(&n)
		return n
	}
	with := func(c Crown) []Crown { return append(slices.Clone(crowns[:20]), c) }
	for _, c := range []struct {
		what   string
		neck   Neck
		crowns []Crown
		u      float64
		want   error
	}{
		{"scale", change(func(n *Neck) { n.Scale = 0 }), crowns, uReading, ErrNeck},
		{"joint before relief", change(func(n *Neck) { n.Joint = 7 }), crowns, uReading, ErrNeck},
		{"places that fall", change(func(n *Neck) { n.Tracks[1].X[5] = 0 }), crowns, uReading, ErrNeck},
		{"too few places", change(func(n *Neck) { n.Centre = n.Centre[:22] }), crowns, uReading, ErrNeck},
		{"a place that is no number", change(func(n *Neck) { n.Tracks[0].Y[3] = math.NaN() }), crowns, uReading, ErrNeck},
		{"uncertainty 0", good, crowns, 0, ErrCrown},
		{"height that is no number", good, with(Crown{1, 1, math.Inf(1)}), uReading, ErrCrown},
		{"track", good, with(Crown{2, 1, 0}), uReading, ErrCrown},
		{"fret", good, with(Crown{1, 23, 0}), uReading, ErrCrown},
		{"twice", good, with(crowns[3]), uReading, ErrCrown},
	} {
		_, step := FindStep(c.neck, c.crowns, c.u)
		_, question := Question(c.neck, c.crowns, c.u)
		_, carry := Carry(c.neck, c.crowns, nil, c.u)
		for i, err := range []error{step, question, carry} {
			if !errors.Is(err, c.want) {
				t.Errorf("%s, function %d: %v, want %v", c.what, i, err, c.want)
			}
		}
	}
}
