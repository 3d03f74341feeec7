package inspect

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"
)

func mustJSON(t testing.TB, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// TestSamplingAgrees: the uncertainties of a whole neck, propagated by central differences, against the spread of 3,000
// seeded draws of all its readings (JCGM 101:2008): within 5 % for smooth characteristics. Straightness, zones, maxima and
// clearances have kinks; there most agree within 10 %, which is counted. The sampling itself is good to about 1.3 %.
func TestSamplingAgrees(t *testing.T) {
	t.Run("one scale", func(t *testing.T) {
		s, r := fullNeck(6)
		samplingAgrees(t, s, r)
	})
	t.Run("multi-scale", func(t *testing.T) {
		s, r := fullFan(6)
		samplingAgrees(t, s, r)
	})
}

func samplingAgrees(t *testing.T, s *Spec, r *Readings) {
	res := mustEvaluate(t, s, r, Options{})
	const draws = 3000
	source := rand.New(rand.NewPCG(20, 26))
	work := r.clone()
	inputs := work.inputs(s)
	sum, squares := make([]float64, len(res.Characteristics)), make([]float64, len(res.Characteristics))
	for range draws {
		for i := range inputs {
			inputs[i].move(inputs[i].u * source.NormFloat64())
		}
		one := mustEvaluate(t, s, work, Options{SkipUncertainty: true})
		for i := range one.Characteristics {
			d := *one.Characteristics[i].Value - *res.Characteristics[i].Value
			sum[i] += d
			squares[i] += d * d
		}
	}
	smooth, kinked, near := 0, 0, 0
	var worstSmooth, worstKinked float64
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		mean := sum[i] / draws
		sd := math.Sqrt((squares[i] - draws*mean*mean) / (draws - 1))
		if *c.U == 0 && (sd == 0 || c.Name == Hump) {
			continue // pitch, and a hump that is nowhere near
		}
		ratio := math.Abs(sd / *c.U - 1)
		switch c.Name {
		case Relief, SideDifference, Twist, BoardRadius, Action, NutHeight, Rocker:
			smooth++
			worstSmooth = math.Max(worstSmooth, ratio)
			if ratio > 0.05 {
				t.Errorf("%s: propagated %.5f, sampled %.5f", Words(s, *c), *c.U, sd)
			}
		case FallAway:
			// The bend curve's loss has kinks, but few crowns lie near them.
			smooth++
			worstSmooth = math.Max(worstSmooth, ratio)
			if ratio > 0.10 {
				t.Errorf("%s: propagated %.5f, sampled %.5f", Words(s, *c), *c.U, sd)
			}
		default:
			kinked++
			worstKinked = math.Max(worstKinked, ratio)
			if ratio <= 0.10 {
				near++
			}
		}
	}
	if smooth < 60 || near < kinked/2 {
		t.Errorf("%d smooth rows; %d of %d with kinks within 10 %%", smooth, near, kinked)
	}
	t.Logf("JCGM 101, %d draws: %d smooth characteristics within %.1f %%; %d of %d with kinks within 10 %% (worst %.0f %%)",
		draws, smooth, 100*worstSmooth, near, kinked, 100*worstKinked)
}

// TestBudgetAgrees: the budget, which computes everything again for each reading, gives the same uncertainties as the fast
// propagation, kinks or not.
func TestBudgetAgrees(t *testing.T) {
	for _, name := range []string{"W4-low-with-missing-crowns", "W8-fan-square-at-the-nut-twisted"} {
		s, r := readNeck(t, name)
		res := mustEvaluate(t, s, r, Options{})
		seen := map[string]int{}
		var worst float64
		for _, c := range res.Characteristics {
			if c.Value == nil || c.Name == Pitch || seen[c.Name] >= 1 {
				continue
			}
			seen[c.Name]++
			parts, u, err := Budget(s, r, c)
			if err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, math.Abs(u-*c.U))
			if math.Abs(u-*c.U) > 1e-9*math.Max(1, *c.U) {
				t.Errorf("%s: budget %v, propagated %v", Words(s, c), u, *c.U)
			}
			for i := 1; i < len(parts); i++ {
				if math.Abs(parts[i].Part) > math.Abs(parts[i-1].Part) {
					t.Errorf("%s: parts are not in order", Words(s, c))
				}
			}
		}
		t.Logf("%s: budgets of %d kinds agree with the propagation to %.1g", name, len(seen), worst)
	}
	s, r := readNeck(t, "W6-leaves-and-beam-only")
	if _, _, err := Budget(s, r, Characteristic{Name: Twist}); err == nil {
		t.Error("a budget of what was not measured")
	}
	// A string that all but lies on a crown: its uncertainty reaches below, where no reading may be.
	s, r = readNeck(t, "W1-good-neck")
	r.NutHeight[0].HeightMM = 0.001
	if _, u, err := Budget(s, r, Characteristic{Name: NutHeight, String: r.NutHeight[0].String}); err != nil || u <= 0 {
		t.Errorf("u %v, error %v", u, err)
	}
}
