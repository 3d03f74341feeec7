package fit

import (
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

func FuzzBendCurve(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Split(kerneltest.Numbers(data), 2)
		b, err := BendCurve(v[0], v[1])
		kerneltest.MustBeFinite(t, err, b.C[:]...)
		kerneltest.MustBeFinite(t, err, b.Cost, b.Gradient)
	})
}

func FuzzCircleRadius(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Split(kerneltest.Numbers(data), 2)
		radius, err := CircleRadius(v[0], v[1])
		kerneltest.MustBeFinite(t, err, radius)
		if err == nil && radius == 0 {
			t.Fatal("radius 0")
		}
	})
}

func FuzzPropagateAndSample(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Split(kerneltest.Numbers(data), 2)
		product := func(q []float64) (float64, error) {
			p := 1.0
			for _, x := range q {
				p *= x
			}
			return p, nil
		}
		u, err := Propagate(product, v[0], v[1])
		kerneltest.MustBeFinite(t, err, u)
		mean, sd, low, high, err := sample(product, v[0], v[1], 100, uint64(len(data)))
		kerneltest.MustBeFinite(t, err, mean, sd, low, high)
	})
}
