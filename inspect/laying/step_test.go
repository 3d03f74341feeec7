package laying

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

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
