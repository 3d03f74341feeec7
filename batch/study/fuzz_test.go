package study

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"
)

// FuzzCrossed: any readings either are refused or give a result that JSON can hold, with shares within 0 to 100 and the
// variances adding up.
func FuzzCrossed(f *testing.F) {
	f.Add(uint8(3), uint8(2), uint8(2), []byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}, 0.01)
	f.Add(uint8(2), uint8(1), uint8(2), []byte{7, 7, 7, 7}, 1e-200)
	f.Add(uint8(2), uint8(2), uint8(3), []byte{0, 255}, 1e160)
	f.Fuzz(func(t *testing.T, parts, appraisers, trials uint8, data []byte, unit float64) {
		p, o, n := int(parts%12), int(appraisers%5), int(trials%6)
		if len(data) == 0 {
			return
		}
		var m []Measurement
		for i := range p * o * n {
			m = append(m, Measurement{fmt.Sprint(i % p), fmt.Sprint(i / p % o), fmt.Sprint(i / p / o), unit * float64(data[i%len(data)])})
		}
		for _, method := range []Method{ANOVA, AverageAndRange} {
			r, err := Crossed(m, Options{Method: method, Tolerance: 1})
			if err != nil {
				continue
			}
			if _, err := json.Marshal(r); err != nil {
				t.Fatalf("%s: %v", method, err)
			}
			if r.PercentGRR != nil && !(*r.PercentGRR >= 0 && *r.PercentGRR <= 100.000001) {
				t.Errorf("%s: percent %v", method, *r.PercentGRR)
			}
			if math.Abs(math.Hypot(r.GRR, r.PV)-r.TV) > 1e-12*r.TV {
				t.Errorf("%s: %v and %v do not make %v", method, r.GRR, r.PV, r.TV)
			}
			r.Verdict()
		}
	})
}

// FuzzReadings: readings of a master and of references either are refused or give results that JSON can hold.
func FuzzReadings(f *testing.F) {
	f.Add(0.1, 0.1, 0.2, 0.3)
	f.Add(1e155, -1e155, 0.0, 1e300)
	f.Add(5e-324, 0.0, 1e-160, math.Inf(1))
	f.Fuzz(func(t *testing.T, a, b, c, d float64) {
		if r, err := TypeOne([]float64{a, b, c}, TypeOneOptions{Reference: d, Tolerance: math.Abs(d)}); err == nil {
			if _, err := json.Marshal(r); err != nil {
				t.Errorf("type 1: %v", err)
			}
		}
		if r, err := Linearity([]Comparison{{a, b}, {c, d}, {a, d}, {d, a}}); err == nil {
			if _, err := json.Marshal(r); err != nil {
				t.Errorf("linearity: %v of %+v", err, r)
			}
		}
	})
}

// FuzzAgreement: any ratings either are refused or give kappas of at most 1.
func FuzzAgreement(f *testing.F) {
	f.Add("good", "bad", "good", "good", "")
	f.Add("1", "2", "NaN", "Inf", "1")
	f.Fuzz(func(t *testing.T, a, b, c, d, truth string) {
		ratings := []Rating{{"1", "A", "1", a, truth}, {"1", "B", "1", b, truth}, {"2", "A", "1", c, truth}, {"2", "B", "1", d, truth}}
		for _, w := range []Weights{Unweighted, Linear, Quadratic} {
			r, err := Agreement(ratings, w)
			if err != nil {
				continue
			}
			if _, err := json.Marshal(r); err != nil {
				t.Fatal(err)
			}
			for _, k := range append([]*float64{r.FleissKappa}, r.Between[0].Kappa) {
				if k != nil && !(*k <= 1+1e-12) {
					t.Errorf("%q: kappa %v", w, *k)
				}
			}
		}
	})
}

// A study of 10 parts, 3 appraisers and 3 trials by both methods.
func BenchmarkCrossed(b *testing.B) {
	var m []Measurement
	for i := range 90 {
		m = append(m, Measurement{fmt.Sprint(i % 10), fmt.Sprint(i / 10 % 3), fmt.Sprint(i / 30), float64(i*i%17) / 100})
	}
	for _, method := range []Method{ANOVA, AverageAndRange} {
		b.Run(string(method), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Crossed(m, Options{Method: method}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
