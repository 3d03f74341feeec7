package laying

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
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

// TestRigidMoveIsRestored: crowns carried after a rigid move are those of the new laying, to rounding.
func TestRigidMoveIsRestored(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 12))
	worst := 0.0
	for _, neck := range lawNecks() {
		for n := FewestCarried; n <= len(neck.Tracks)*neck.Last; n++ {
			old := simulated(r, neck, 0.02)[:n]
			c2 := 0.0
			if n > neck.Last {
				c2 = 0.01 * r.NormFloat64()
			}
			laid := lay(neck, old, r.NormFloat64(), 0.003*r.NormFloat64(), c2)
			var links []Crown
			for _, l := range mustLinks(t, neck, old) {
				i := slices.Index(old, l)
				links = append(links, laid[i])
			}
			got, err := Carry(neck, old, links, uReading)
			if err != nil {
				t.Fatal(err)
			}
			if !got.Agree {
				t.Errorf("%d crowns: links of a rigid move do not agree: %+v", n, got.Links)
			}
			for i := range laid {
				worst = max(worst, math.Abs(got.Crowns[i].Z-laid[i].Z))
			}
		}
	}
	if worst > 1e-12 {
		t.Errorf("carried crowns differ by up to %.2g mm from those of the new laying", worst)
	}
	t.Logf("definition: rigid moves restored within %.1e mm", worst)
}

// TestWeightsOfCarrying: carried heights are the weighted sums they are said to be, each weight is what the height changes by with its
// reading, and a common offset goes through whole.
func TestWeightsOfCarrying(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 12))
	for _, neck := range lawNecks() {
		for _, n := range []int{8, neck.Last, len(neck.Tracks) * neck.Last} {
			old := simulated(r, neck, 0.02)[:n]
			links := lay(neck, mustLinks(t, neck, old), 0.3, 0.001, 0)
			for i := range links {
				links[i].Z += 0.01 * r.NormFloat64()
			}
			carry := func() Carried {
				c, err := Carry(neck, old, links, uReading)
				if err != nil {
					t.Fatal(err)
				}
				return c
			}
			got := carry()
			for j := range old {
				sum, weights := 0.0, 0.0
				for i, w := range got.Old[j] {
					sum, weights = sum+w*old[i].Z, weights+w
				}
				for i, w := range got.New[j] {
					sum, weights = sum+w*links[i].Z, weights+w
				}
				if math.Abs(sum-got.Crowns[j].Z) > 1e-12 || math.Abs(weights-1) > 1e-12 {
					t.Errorf("crown %+v: weighted sum %.12f of weights %.12f", got.Crowns[j], sum, weights)
				}
			}
			differ := func(input []Crown, weights [][]float64) {
				for i := range input {
					before := input[i].Z
					input[i].Z = before + 1
					up := carry()
					input[i].Z = before
					for j := range old {
						if d := up.Crowns[j].Z - got.Crowns[j].Z; math.Abs(d-weights[j][i]) > 1e-12 {
							t.Errorf("crown %d changes by %.12f with input %d, weight %.12f", j, d, i, weights[j][i])
						}
					}
				}
			}
			differ(old, got.Old)
			differ(links, got.New)
		}
	}
}

// TestStepAgainstPlainFits compares every series with fits of the whole matrix by gonum's singular values, which share no code or
// arrangement with the package: each place, each crown and pair left out, one by one.
func TestStepAgainstPlainFits(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 12))
	worst, series := 0.0, 0
	// A joint at fret 3 makes columns of the difference depend on each other.
	early := ordinary(648, 16, 3, usual(2)...)
	early.Datum, early.Relief = 1, 2
	for _, neck := range append(lawNecks()[:3:3], early) {
		crowns := simulated(r, neck, 0.01)
		for i := 5 + r.IntN(10); i < len(crowns); i++ {
			crowns[i].Z += 0.15
		}
		gap := r.IntN(neck.Last)
		crowns = slices.Delete(crowns, gap, gap+1)
		got := mustFindStep(t, neck, crowns)
		for _, s := range got.Series {
			var frets []int
			var w, z []float64
			for fret := 1; fret <= neck.Last; fret++ {
				sum, own, others := 0.0, math.NaN(), 0
				for _, c := range crowns {
					if c.Fret == fret && c.Track == s.Track {
						own = c.Z
					} else if c.Fret == fret {
						sum, others = sum+c.Z, others+1
					}
				}
				if math.IsNaN(own) || !s.Difference && fret > neck.Joint || s.Difference && others < len(neck.Tracks)-1 {
					continue
				}
				if s.Difference {
					own -= sum / float64(others)
				}
				frets, w, z = append(frets, fret), append(w, (neck.Centre[fret]-neck.Centre[neck.Joint])/neck.Scale), append(z, own)
			}
			want := plainStep(s.Difference, frets, w, z)
			if s.Tested != (want != Place{}) {
				t.Errorf("neck with joint %d, %+v: tested %v, plain fits %+v", neck.Joint, s, s.Tested, want)
				continue
			}
			if !s.Tested {
				continue
			}
			series++
			if s.Strongest.After != want.After || s.Strongest.Before != want.Before {
				t.Errorf("strongest %+v, want %+v", s.Strongest, want)
			}
			for _, d := range []float64{s.Strongest.Offset - want.Offset, s.Strongest.Least - want.Least, s.Strongest.Statistic - want.Statistic} {
				worst = max(worst, math.Abs(d))
			}
		}
	}
	if worst > 1e-7 || series < 8 {
		t.Errorf("%d series compared, largest difference %.2g", series, worst)
	}
	t.Logf("gonum mat.SVD: %d series, largest difference of offsets and statistics %.1e", series, worst)
}

// plainStep returns the strongest place of a series, as the definition reads.
func plainStep(difference bool, frets []int, w, z []float64) (strongest Place) {
	n := len(z)
	u := uReading
	if difference {
		u *= math.Sqrt2
	}
	if n < 12 {
		return Place{}
	}
	for p := 4; p <= n-4; p++ {
		place := Place{After: frets[p-1], Before: frets[p], Least: math.Inf(1), Statistic: math.Inf(1)}
		sign, all := 0.0, true
		for out := 0; out <= 2; out++ {
			for from := 0; from+out <= n && (out > 0 || from == 0); from++ {
				var rows []float64
				var heights []float64
				columns := 5
				for i := range n {
					if i >= from && i < from+out {
						continue
					}
					b, h := min(w[i], 0), 0.0
					if i >= p {
						h = 1
					}
					row := []float64{h, 1, w[i], b * b, b * b * b}
					if difference {
						row = append(row, max(w[i], 0))
					}
					columns = len(row)
					rows, heights = append(rows, row...), append(heights, z[i])
				}
				delta, c, rss, rank := plainFit(rows, columns, heights)
				free := len(heights) - rank
				if c > 10000 || free < 2 {
					all = false
					continue
				}
				if out == 0 {
					sign, place.Offset = math.Copysign(1, delta), delta
				}
				s := max(math.Sqrt(rss/float64(free)), u)
				place.Least = min(place.Least, sign*delta)
				place.Statistic = min(place.Statistic, sign*delta/(s*math.Sqrt(c)))
			}
		}
		if all && (strongest == Place{} || place.Statistic > strongest.Statistic) {
			strongest = place
		}
	}
	return strongest
}

// plainFit returns the first column's coefficient, its C (infinite where it depends on the other columns), the sum of squares left and
// the rank.
func plainFit(rows []float64, columns int, z []float64) (delta, c, rss float64, rank int) {
	n := len(z)
	a := mat.NewDense(n, columns, rows)
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return 0, math.Inf(1), 0, columns
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	values := svd.Values(nil)
	rest := slices.Clone(z)
	for k, s := range values {
		if s < 1e-10*values[0] {
			if math.Abs(v.At(0, k)) > 1e-6 { // the offset takes part in the dependence
				c = math.Inf(1)
			}
			continue
		}
		rank++
		part := 0.0
		for i := range n {
			part += u.At(i, k) * z[i]
		}
		for i := range n {
			rest[i] -= part * u.At(i, k)
		}
		delta += v.At(0, k) * part / s
		c += v.At(0, k) * v.At(0, k) / (s * s)
	}
	for _, e := range rest {
		rss += e * e
	}
	return delta, c, rss, rank
}

// TestQuestionAgainstPlainInverse compares with the whole inverse of the covariance by gonum, and with leaving the crown out: what the
// others say is their conditional mean.
func TestQuestionAgainstPlainInverse(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 12))
	worst := 0.0
	for _, neck := range lawNecks() {
		crowns := simulated(r, neck, 0.01)
		for _, n := range []int{3, 9, neck.Last, len(crowns)} {
			got := mustQuestion(t, neck, crowns[:n])
			m := newModel(neck, crowns[:n], uReading)
			k := mat.NewDense(n, n, nil)
			for i := range n {
				for j := range n {
					for l := range min(i, j) + 1 {
						k.Set(i, j, k.At(i, j)+m.factor[i][l]*m.factor[j][l])
					}
				}
			}
			for i, s := range got.Last {
				at := n - len(got.Last) + i
				others := mat.NewDense(n-1, n-1, nil)
				cross, v := mat.NewVecDense(n-1, nil), mat.NewVecDense(n-1, nil)
				index := func(i int) int {
					if i >= at {
						return i + 1
					}
					return i
				}
				for a := range n - 1 {
					for b := range n - 1 {
						others.Set(a, b, k.At(index(a), index(b)))
					}
					cross.SetVec(a, k.At(index(a), at))
					v.SetVec(a, m.v[index(a)])
				}
				var solved mat.VecDense
				if err := solved.SolveVec(others, cross); err != nil {
					if _, conditioned := err.(mat.Condition); !conditioned {
						t.Fatal(err)
					}
				}
				mean, variance := mat.Dot(&solved, v), k.At(at, at)-mat.Dot(&solved, cross)
				worst = max(worst, math.Abs(s.Deviation-(m.v[at]-mean)), math.Abs(s.SD-math.Sqrt(variance)))
			}
		}
	}
	if worst > 1e-7 {
		t.Errorf("differs by %.2g mm from the conditional mean of the others", worst)
	}
	t.Logf("gonum mat: conditional mean and deviation within %.1e mm", worst)
}

// TestLinksNamed: the rule's corners.
func TestLinksNamed(t *testing.T) {
	even := ordinary(648, 22, 17, usual(2)...)
	for fret := range even.Tracks[0].X {
		even.Tracks[0].X[fret] = 20 * float64(fret)
	}
	of := func(track int, frets ...int) (crowns []Crown) {
		for _, f := range frets {
			crowns = append(crowns, Crown{Track: track, Fret: f})
		}
		return crowns
	}
	for _, c := range []struct {
		what      string
		old, want []Crown
	}{
		{"none", nil, nil},
		{"three", of(0, 4, 2, 9), of(0, 2, 4, 9)},
		{"four, of two alike the lower fret", of(0, 1, 2, 3, 4), of(0, 1, 2, 4)},
		{"taken backwards, the middle missing", of(0, 9, 8, 7, 3, 2, 1), of(0, 1, 3, 9)},
		{"two tracks", append(of(1, 1, 2), of(0, 1, 2, 3, 4, 5)...), append(of(0, 1, 3, 5), of(1, 1, 2)...)},
	} {
		if got := mustLinks(t, even, c.old); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

// TestCarryingWithFewLinks: without links enough a track is refused by name; where every link is fitted exactly nothing is tested and
// the links do not agree.
func TestCarryingWithFewLinks(t *testing.T) {
	neck := ordinary(648, 22, 17, usual(2)...)
	r := rand.New(rand.NewPCG(7, 12))
	old := simulated(r, neck, 0.01)
	if _, err := Carry(neck, old, old[:1], uReading); !errors.Is(err, ErrUndetermined) {
		t.Errorf("one link: %v, want ErrUndetermined", err)
	}
	if _, err := Carry(neck, old[:22], append(old[:1:1], old[30]), uReading); !errors.Is(err, ErrCrown) {
		t.Errorf("a link that is no old crown: %v, want ErrCrown", err)
	}
	// Two on the first track and one on the second determine the plane and leave nothing to test.
	for _, links := range [][]Crown{{old[0], old[15]}, {old[0], old[15], old[30]}} {
		got, err := Carry(neck, append(old[:16:16], links[2:]...), links, uReading)
		if err != nil {
			t.Fatal(err)
		}
		if got.Agree {
			t.Errorf("%d links agree where none is tested: %+v", len(links), got.Links)
		}
	}
	// Lines along each track where one link each cannot make a plane.
	got, err := Carry(neck, []Crown{old[0], old[30]}, []Crown{old[0], old[30]}, uReading)
	if err != nil || len(got.Shifts) != 2 || got.Agree {
		t.Errorf("one link on each of two tracks: %+v, %v; want a line each and no agreement", got, err)
	}
	// Agreement is lost just beyond 4 sqrt(2) u sqrt(1 - h).
	for _, c := range []struct {
		share float64
		agree bool
	}{{0.999, true}, {1.001, false}} {
		links := mustLinks(t, neck, old[:22])
		unmoved, err := Carry(neck, old[:22], links, uReading)
		if err != nil {
			t.Fatal(err)
		}
		// Of three links on a line each has the same standardised residual; moving one by d leaves it d (1 - h).
		h := unmoved.Links[1].Leverage
		links[1].Z += c.share * 4 * math.Sqrt2 * uReading / math.Sqrt(1-h)
		if got, err := Carry(neck, old[:22], links, uReading); err != nil || got.Agree != c.agree {
			t.Errorf("link off by %v of the bound: agree %v, %v", c.share, got.Agree, err)
		}
	}
}

func TestClosingAndPairs(t *testing.T) {
	taken := []Crown{{1, 22, 0.1}, {1, 17, 0.2}, {1, 1, 0.3}, {0, 17, 0.4}}
	if got := Closing(taken, 17); !slices.Equal(got, taken[:2]) {
		t.Errorf("closing %v, want the first crown and the joint's of its track", got)
	}
	if got := Closing(taken[1:], 17); !slices.Equal(got, taken[1:2]) {
		t.Errorf("closing %v, want one crown that is both", got)
	}
	if got := Closing(nil, 17); got != nil {
		t.Errorf("closing %v of nothing", got)
	}
	if a, b := Pair(taken, 2); a != taken[2] || b != taken[1] {
		t.Errorf("pair %v %v", a, b)
	}
	if a, b := Pair(taken, 0); a != taken[0] || b != taken[1] {
		t.Errorf("pair of the first %v %v", a, b)
	}
	bound := 4 * math.Sqrt2 * uReading
	for _, c := range []struct {
		crown, beside float64
		want          Answer
	}{
		{0, 0, ItIsSo}, {0.99 * bound, -0.99 * bound, ItIsSo}, {0.3, 0, Plunger}, {-1.01 * bound, 0, Plunger},
		{0.3, 0.3, Moved}, {0.3, 0.26, Moved}, {0, 0.3, Moved},
	} {
		if got := Judge(1, 1+c.crown, 2, 2+c.beside, uReading); got != c.want {
			t.Errorf("changes of %v and %v mm: %v, want %v", c.crown, c.beside, got, c.want)
		}
	}
}

func TestStepFoundAgain(t *testing.T) {
	neck := ordinary(648, 22, 17, usual(2)...)
	r := rand.New(rand.NewPCG(8, 12))
	profile := simulated(r, neck, 0.004)
	block := func(offset float64) Shape {
		again := slices.Clone(profile)
		for i, c := range again {
			again[i].Z += 0.003 * r.NormFloat64()
			if c.Track == 0 && c.Fret <= 9 {
				again[i].Z += offset
			}
		}
		return mustFindStep(t, neck, again)
	}
	first := block(-0.25)
	if !first.Moved || first.Of.Difference || first.Of.Track != 0 || first.Step.After != 9 || first.Step.Offset < 0.2 {
		t.Fatalf("block of frets lower by 0.25 mm: %+v", first)
	}
	if again := block(-0.25); !again.Again(first) {
		t.Errorf("the same block again is not the neck's own: %+v", again)
	}
	if other := block(-0.32); other.Again(first) {
		t.Errorf("another offset passes for the neck's own: %+v", other)
	}
	if none := block(0); none.Again(first) || none.Moved {
		t.Errorf("no step passes for the neck's own: %+v", none)
	}
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

func BenchmarkFindStep(b *testing.B) {
	for _, c := range []struct {
		name   string
		tracks int
	}{{"two tracks", 2}, {"three tracks", 3}} {
		b.Run(c.name, func(b *testing.B) {
			neck := ordinary(648, 22, 17, usual(c.tracks)...)
			crowns := simulated(rand.New(rand.NewPCG(10, 12)), neck, 0.01)
			b.ReportAllocs()
			for b.Loop() {
				mustFindStep(b, neck, crowns)
			}
		})
	}
}

func BenchmarkQuestion(b *testing.B) {
	neck := ordinary(648, 22, 17, usual(3)...)
	crowns := simulated(rand.New(rand.NewPCG(11, 12)), neck, 0.01)
	b.ReportAllocs()
	for b.Loop() {
		mustQuestion(b, neck, crowns)
	}
}

func BenchmarkCarry(b *testing.B) {
	neck := ordinary(648, 22, 17, usual(3)...)
	crowns := simulated(rand.New(rand.NewPCG(12, 12)), neck, 0.01)
	links := mustLinks(b, neck, crowns)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Carry(neck, crowns, links, uReading); err != nil {
			b.Fatal(err)
		}
	}
}
