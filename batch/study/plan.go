package study

import (
	"fmt"
	"math/rand/v2"
	"strconv"
)

// Step is one reading to take in a crossed study: who measures which part, and at which place of the trial. The appraiser may
// see the place, not which part it is.
type Step struct {
	Appraiser, Part, Trial string
	Place                  int // in the appraiser's trial, from 1
	Places                 int // parts in a trial
}

// Plan is the order of a crossed study: in every trial each appraiser in turn measures all parts in a random order. Between
// two trials of one appraiser lie those of the others; a single appraiser never meets the same part twice in succession.
// The same seed gives the same order.
// Errors: fewer than two parts or trials, no appraiser, an empty name or one given twice.
// Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010), chapter III section B, conducting the study.
func Plan(parts, appraisers []string, trials int, seed uint64) ([]Step, error) {
	if len(parts) < 2 || len(appraisers) < 1 || trials < 2 {
		return nil, fmt.Errorf("a crossed study needs at least 2 parts, 1 appraiser and 2 trials; found %d, %d and %d",
			len(parts), len(appraisers), trials)
	}
	if err := checkNames("part", parts); err != nil {
		return nil, err
	}
	if err := checkNames("appraiser", appraisers); err != nil {
		return nil, err
	}
	random := rand.New(rand.NewPCG(seed, uint64(len(parts))))
	steps := make([]Step, 0, len(parts)*len(appraisers)*trials)
	for trial := 1; trial <= trials; trial++ {
		for _, appraiser := range appraisers {
			order := random.Perm(len(parts))
			for len(appraisers) == 1 && trial > 1 && parts[order[0]] == steps[len(steps)-1].Part {
				order = random.Perm(len(parts))
			}
			for place, p := range order {
				steps = append(steps, Step{appraiser, parts[p], strconv.Itoa(trial), place + 1, len(parts)})
			}
		}
	}
	return steps, nil
}

// checkNames refuses an empty name and one given twice.
func checkNames(noun string, names []string) error {
	seen := make(map[string]bool, len(names))
	for i, name := range names {
		if name == "" || seen[name] {
			return fmt.Errorf("%s %d: found %q; needed: names that differ", noun, i+1, name)
		}
		seen[name] = true
	}
	return nil
}
