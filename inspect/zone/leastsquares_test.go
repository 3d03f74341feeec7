package zone

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

// TestLeastSquaresReferee compares with gonum v0.17: stat.LinearRegression for lines, QR for planes.
func TestLeastSquaresReferee(t *testing.T) {
	r := rand.New(rand.NewPCG(81, 82))
	for k := range 300 {
		n := 4 + r.IntN(30)
		x, z := make([]float64, n), make([]float64, n)
		lines, planes := make([][]float64, n), make([][]float64, n)
		a := mat.NewDense(n, 3, nil)
		for i := range x {
			x[i], z[i] = 648*r.Float64(), r.NormFloat64()
			lines[i], planes[i] = []float64{1, x[i]}, []float64{1, x[i], 50 * r.Float64()}
			a.SetRow(i, planes[i])
		}
		c, err := fit.LeastSquares(lines, z)
		if err != nil {
			t.Fatal(err)
		}
		alpha, beta := stat.LinearRegression(x, z, nil, false)
		if math.Abs(c[0]-alpha) > 1e-11 || math.Abs(c[1]-beta) > 1e-13 {
			t.Fatalf("case %d: line %v, gonum %v %v", k, c, alpha, beta)
		}
		c, err = fit.LeastSquares(planes, z)
		if err != nil {
			t.Fatal(err)
		}
		var qr mat.QR
		qr.Factorize(a)
		var want mat.VecDense
		if err := qr.SolveVecTo(&want, false, mat.NewVecDense(n, z)); err != nil {
			t.Fatal(err)
		}
		for j, v := range c {
			if math.Abs(v-want.AtVec(j)) > 1e-11 {
				t.Fatalf("case %d: plane %v, gonum %v", k, c, want.RawVector().Data)
			}
		}
		p := deviationsOf(planes, c, z)
		if p.Q > p.T || p.P < 0 || p.V < 0 || p.T != p.P+p.V {
			t.Fatalf("case %d: %+v", k, p)
		}
		m, ls, err := Flatness(column(planes, 1), column(planes, 2), z)
		if err != nil || ls.T < m.Zone*(1-1e-13) { // no plane has a zone below the minimum
			t.Fatalf("case %d: least-squares %v, minimum zone %v (%v)", k, ls.T, m.Zone, err)
		}
		checkParameters(t, "plane", ls, p, 1e-12)
	}
}

func column(rows [][]float64, j int) []float64 {
	c := make([]float64, len(rows))
	for i, row := range rows {
		c[i] = row[j]
	}
	return c
}

// TestLeastSquaresFarFromZero keeps its digits where places and heights stand on a million.
func TestLeastSquaresFarFromZero(t *testing.T) {
	r := rand.New(rand.NewPCG(83, 84))
	for range 100 {
		near, far := make([]float64, 22), make([]float64, 22)
		x, farX := make([]float64, 22), make([]float64, 22)
		for i := range near {
			x[i] = math.Round(1000*648*kerneltest.Place(i+1)) / 1024 // exact beside a million as well
			near[i] = math.Round(1e6*0.1*r.NormFloat64()) / (1 << 20)
			farX[i], far[i] = x[i]+1<<20, near[i]+1<<20
		}
		m, ls, err := Straightness(x, near)
		if err != nil {
			t.Fatal(err)
		}
		fm, fls, err := Straightness(farX, far)
		if err != nil || math.Abs(fm.Zone-m.Zone) > 1e-14 {
			t.Fatalf("zone %v, far from zero %v (%v)", m.Zone, fm.Zone, err)
		}
		checkParameters(t, "line", fls, ls, 1e-14)
	}
}

func TestDeviations(t *testing.T) {
	// Heights 0, 0, 3, 1 about the line z = 1: deviations -1, -1, 2, 0.
	rows := [][]float64{{1}, {1}, {1}, {1}}
	got := deviationsOf(rows, []float64{1}, []float64{0, 0, 3, 1})
	checkParameters(t, "by hand", got, fit.Parameters{T: 3, P: 2, V: 1, Q: math.Sqrt(1.5)}, 1e-15)
	if got := deviationsOf(nil, nil, nil); got != (fit.Parameters{}) {
		t.Errorf("no points: %+v", got)
	}
	dependent := [][]float64{{1, 2, 0}, {1, 2, 1}, {1, 2, 2}}
	c, err := fit.LeastSquares(dependent, []float64{1, 3, 5})
	if err != nil || c[1] != 0 || math.Abs(c[0]-1) > 1e-14 || math.Abs(c[2]-2) > 1e-14 {
		t.Errorf("dependent functions: %v, %v", c, err)
	}
}
