package study_test

import (
	"fmt"

	"sagitta/batch/study"
)

// Two people measure three necks' relief twice, in the order of a plan.
func ExampleCrossed() {
	relief := map[string]float64{"QM-1": 0.21, "QM-2": 0.30, "QM-3": 0.38}
	off := []float64{0.001, -0.002, 0.003, 0, -0.001, 0.002} // what the gauge adds, reading by reading
	plan, err := study.Plan([]string{"QM-1", "QM-2", "QM-3"}, []string{"Ada", "Ben"}, 2, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	var m []study.Measurement
	for i, s := range plan {
		m = append(m, study.Measurement{Part: s.Part, Appraiser: s.Appraiser, Trial: s.Trial, Value: relief[s.Part] + off[i%6]})
	}
	r, err := study.Crossed(m, study.Options{Tolerance: 0.16})
	if err != nil {
		fmt.Println(err)
		return
	}
	fitness, _ := r.Verdict()
	fmt.Printf("%s: %.1f %% of the total variation, %.1f %% of the tolerance\n", fitness, *r.PercentGRR, *r.PercentToleranceGRR)
	// Output: acceptable: 2.5 % of the total variation, 8.0 % of the tolerance
}
