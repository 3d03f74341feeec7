package inspect_test

import (
	"fmt"

	"sagitta/inspect"
)

func ExampleFretX() {
	fmt.Printf("%.3f mm\n", inspect.FretX(648, 12))
	fmt.Printf("%.3f mm\n", inspect.FretX(648, 7))
	// Output:
	// 324.000 mm
	// 215.512 mm
}

func ExampleSagitta() {
	// A board of 305 mm radius, 35 mm wide, is this much higher in the middle than at its edges.
	fmt.Printf("%.4f mm\n", inspect.Sagitta(305, 35))
	// Output: 0.5025 mm
}

func ExampleConformProbability() {
	lower, upper := 0.2, 0.36
	fmt.Printf("%.3f\n", inspect.ConformProbability(0.351, 0.0063, &lower, &upper))
	// Output: 0.923
}

func ExampleJudge() {
	lower, upper := 0.2, 0.36
	for _, rule := range []string{"simple", "guarded_acceptance", "guarded_rejection"} {
		zone, err := inspect.Judge(rule, 1.645, 0.351, 0.0063, &lower, &upper)
		fmt.Println(rule, zone, err)
	}
	// Output:
	// simple conforming <nil>
	// guarded_acceptance undecided <nil>
	// guarded_rejection conforming <nil>
}
