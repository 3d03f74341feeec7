package zone

import (
	"cmp"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// exactZone returns the zone that the contacts prove, in rational arithmetic: half is the balanced mean of the heights.
func exactZone(t *testing.T, m Minimum, rows [][]float64, z []float64) float64 {
	t.Helper()
	// Solve sum w_k row_k = 0, sum side_k w_k = 1 over the contacts exactly; the value is 2 sum w_k z_k.
	n, p := len(m.Contacts), len(rows[0])
	system := make([][]*big.Rat, p+1)
	for j := range system {
		system[j] = make([]*big.Rat, n+1)
		for k, c := range m.Contacts {
			if j < p {
				system[j][k] = new(big.Rat).SetFloat64(rows[c.Index][j])
			} else {
				system[j][k] = big.NewRat(int64(c.Side), 1)
			}
		}
		system[j][n] = big.NewRat(int64(j/p), 1)
	}
	rank := 0
	for k := 0; k < n; k++ {
		pivot := -1
		for j := rank; j <= p; j++ {
			if system[j][k].Sign() != 0 {
				pivot = j
				break
			}
		}
		if pivot < 0 {
			t.Fatalf("contacts %v are not a basis", m.Contacts)
		}
		system[rank], system[pivot] = system[pivot], system[rank]
		for j := range system {
			if j == rank || system[j][k].Sign() == 0 {
				continue
			}
			f := new(big.Rat).Quo(system[j][k], system[rank][k])
			for l := k; l <= n; l++ {
				system[j][l] = new(big.Rat).Sub(system[j][l], new(big.Rat).Mul(f, system[rank][l]))
			}
		}
		rank++
	}
	value := new(big.Rat)
	for k, c := range m.Contacts {
		w := new(big.Rat).Quo(system[k][n], system[k][k])
		if w.Sign()*c.Side < 0 {
			t.Errorf("contact %+v: exact multiplier has the other sign", c)
		}
		value.Add(value, new(big.Rat).Mul(w, new(big.Rat).SetFloat64(z[c.Index])))
	}
	half, _ := value.Float64()
	return 2 * half
}

// hullWidth is an independent referee for straightness: the widest gap, along z, between the upper and the lower
// convex hull (A. M. Andrew's monotone chain) lies over a vertex of one of them.
func hullWidth(x, z []float64) float64 {
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		if x[a] != x[b] {
			return cmp.Compare(x[a], x[b])
		}
		return cmp.Compare(z[a], z[b])
	})
	chain := func(sign float64) (hx, hz []float64) {
		for _, i := range order {
			px, pz := x[i], sign*z[i]
			if n := len(hx); n > 0 && hx[n-1] == px {
				if hz[n-1] <= pz {
					continue
				}
				hx, hz = hx[:n-1], hz[:n-1]
			}
			for n := len(hx); n >= 2 && (hx[n-1]-hx[n-2])*(pz-hz[n-2]) <= (hz[n-1]-hz[n-2])*(px-hx[n-2]); n = len(hx) {
				hx, hz = hx[:n-1], hz[:n-1]
			}
			hx, hz = append(hx, px), append(hz, pz)
		}
		return hx, hz
	}
	lx, lz := chain(1)
	ux, uz := chain(-1)
	at := func(hx, hz []float64, v float64) float64 {
		k, found := slices.BinarySearch(hx, v)
		if found {
			return hz[k]
		}
		return hz[k-1] + (hz[k]-hz[k-1])*((v-hx[k-1])/(hx[k]-hx[k-1]))
	}
	var widest float64
	for k, v := range lx {
		widest = math.Max(widest, -at(ux, uz, v)-lz[k])
	}
	for k, v := range ux {
		widest = math.Max(widest, -uz[k]-at(lx, lz, v))
	}
	return widest
}

// TestMinimumZoneReferee compares with gonum's simplex on the dual: maximise sum z (w+ - w-) with sum rows (w+ - w-) = 0
// and sum (w+ + w-) = 1.
func TestMinimumZoneReferee(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	compared := 0
	var worst float64
	for range 400 {
		n := 8 + r.IntN(40)
		p := 2 + r.IntN(2)
		rows, z := make([][]float64, n), make([]float64, n)
		for i := range rows {
			rows[i] = []float64{1, 2*r.Float64() - 1, 2*r.Float64() - 1}[:p]
			z[i] = r.NormFloat64()
		}
		a := mat.NewDense(p+1, 2*n, nil)
		c, b := make([]float64, 2*n), make([]float64, p+1)
		b[p] = 1
		for i := range rows {
			for j, v := range rows[i] {
				a.Set(j, i, v)
				a.Set(j, n+i, -v)
			}
			a.Set(p, i, 1)
			a.Set(p, n+i, 1)
			c[i], c[n+i] = -z[i], z[i]
		}
		value, _, err := lp.Simplex(c, a, b, 1e-12, nil)
		if err != nil {
			continue
		}
		m, err := minimumZoneOf(rows, z)
		if err != nil {
			t.Fatal(err)
		}
		compared++
		worst = math.Max(worst, math.Abs(m.Zone+2*value))
		if math.Abs(m.Zone+2*value) > 1e-9 {
			t.Errorf("zone %v, gonum %v", m.Zone, -2*value)
		}
	}
	if compared < 300 {
		t.Errorf("gonum solved only %d of 400", compared)
	}
	t.Logf("gonum v0.17 lp.Simplex: %d problems, largest difference %.1e", compared, worst)
}

func TestStraightnessIsHullWidth(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var worst float64
	for range 3000 {
		n := 2 + r.IntN(60)
		x, z := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], z[i] = float64(r.IntN(40)), r.NormFloat64()
			if r.IntN(3) == 0 {
				z[i] = math.Round(z[i])
			}
		}
		m, _, err := Straightness(x, z)
		if err != nil {
			t.Fatal(err)
		}
		d := math.Abs(m.Zone - hullWidth(x, z))
		worst = math.Max(worst, d)
		if d > 1e-13 {
			t.Fatalf("x %v z %v: zone %v, hull %v", x, z, m.Zone, hullWidth(x, z))
		}
	}
	t.Logf("3000 sets against the convex hull: largest difference %.1e", worst)
}
