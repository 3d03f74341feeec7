package laying

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

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
