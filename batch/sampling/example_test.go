package sampling_test

import (
	"fmt"

	"sagitta/batch/sampling"
)

// A lot of 500 necks at AQL 0.65: letter H has an arrow there, to letter J and its larger sample.
func ExampleLookup() {
	p, err := sampling.Lookup(500, 0.65, "II", sampling.Normal)
	if err != nil {
		fmt.Println(err)
		return
	}
	accepted, err := p.Acceptance(0.02)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("letter %s: check %d, accept with %d, reject with %d\n", p.Code, p.N, p.Accept, p.Reject)
	fmt.Printf("2 %% nonconforming passes %.0f times in 100\n", 100*accepted)
	// Output:
	// letter H: check 80, accept with 1, reject with 2
	// 2 % nonconforming passes 52 times in 100
}
