package spc

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// planRow is how the test against a plan does on batches of up to 1000 necks that is looked at after every neck from the tenth on.
type planRow struct {
	Plan     float64            `json:"plan"`
	Yield    float64            `json:"yield"` // the true one
	Alarms   float64            `json:"alarms"`
	SE       float64            `json:"alarms_se"`
	MeanNeck float64            `json:"mean_neck"` // of the alarm, where there is one
	By       map[string]float64 `json:"by"`        // share of batches with an alarm by so many necks
}

var byNecks = []int{20, 50, 100, 200, 500}

func simulatePlans(seed uint64, batches int) (rows []planRow) {
	for _, plan := range []float64{0.8, 0.9, 0.95} {
		for _, yield := range []float64{plan, plan - 0.05, plan - 0.1, plan - 0.2, plan / 2} {
			r := rand.New(rand.NewPCG(seed, uint64(1e4*plan+1e8*yield)))
			row := planRow{Plan: plan, Yield: math.Round(1e6*yield) / 1e6, By: map[string]float64{}}
			for range batches {
				passed := 0
				for n := 1; n <= horizon; n++ {
					if r.Float64() < yield {
						passed++
					}
					if n < 10 || !BelowPlan(passed, n-passed, plan, Alpha) {
						continue
					}
					row.Alarms++
					row.MeanNeck += float64(n)
					for _, by := range byNecks {
						if n <= by {
							row.By[fmt.Sprint(by)] += 1 / float64(batches)
						}
					}
					break
				}
			}
			for by, share := range row.By {
				row.By[by] = math.Round(1e5*share) / 1e5
			}
			row.MeanNeck /= max(1, row.Alarms)
			row.Alarms /= float64(batches)
			row.SE = math.Sqrt(row.Alarms * (1 - row.Alarms) / float64(batches))
			rows = append(rows, row)
		}
	}
	return rows
}

// A yield at its plan raises an alarm in no more than 1 % of batches, however often it is looked at; half of the plan raises one in
// nearly all, soon.
func TestBelowPlanHoldsAtEveryNeck(t *testing.T) {
	if *update {
		keep(t, "plans.json", "Batches with an alarm by the test against a plan (alpha 0.01), looked at after every neck from the 10th to the 1000th.", map[string]any{"plans": simulatePlans(seed, *bases)})
	}
	var file struct{ Plans []planRow }
	kept(t, "plans.json", &file)
	got := simulatePlans(seed+1, *bases)
	if len(got) != len(file.Plans) || len(got) == 0 {
		t.Fatalf("%d rows, %d in the file", len(got), len(file.Plans))
	}
	for i, want := range file.Plans {
		least := math.Sqrt(max(want.Alarms*(1-want.Alarms), 0.003) / float64(*bases))
		if math.Abs(got[i].Alarms-want.Alarms) > 4*math.Hypot(max(got[i].SE, least), want.SE) {
			t.Errorf("plan %v, yield %v: alarms in %.4f, the file has %.4f ± %.4f", want.Plan, want.Yield, got[i].Alarms, want.Alarms, want.SE)
		}
		if want.Yield == want.Plan && want.Alarms-2*want.SE > Alpha {
			t.Errorf("plan %v met: alarms in %.4f ± %.4f of batches, allowed %v", want.Plan, want.Alarms, want.SE, Alpha)
		}
		if want.Yield == want.Plan/2 && (want.By["50"] < 0.99 || got[i].By["50"] < 0.9) {
			t.Errorf("half of plan %v: found by 50 necks in %.3f", want.Plan, want.By["50"])
		}
		t.Logf("plan %v, yield %v: alarms in %.4f ± %.4f, at neck %.0f on the average; by necks %v", want.Plan, want.Yield, want.Alarms, want.SE, want.MeanNeck, want.By)
	}
}

// Where the yield is better than planned the chance of an alarm is smaller still: the bound is for every share from the plan up.
func TestBelowPlanIsOneSided(t *testing.T) {
	for n := 1; n <= 2000; n++ {
		if passed := (9*n + 9) / 10; BelowPlan(passed, n-passed, 0.9, Alpha) {
			t.Fatalf("%d of %d passed, the plan is 0.9: below", passed, n)
		}
	}
	if BelowPlan(5, 5, 0.9, Alpha) || !BelowPlan(4, 6, 0.9, Alpha) {
		t.Error("of ten, 4 passes show less than 0.9 and 5 do not (733 and 68 to 1, by numerical integration)")
	}
}
