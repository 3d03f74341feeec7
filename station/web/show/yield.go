package show

import (
	"fmt"

	"sagitta/batch"
)

// Confidence is that of the intervals beside every rate.
const Confidence = 0.95

// Yield is a rate with its Wilson interval, all in percent for the page.
type Yield struct {
	Title         string
	Of            int
	Count         int
	Rate, Lo, Hi  float64 // percent
	Words         string  // what is counted
	HasRate       bool
	Left, Across  float64 // of the interval's bar, in hundredths of its width
	MarkX         float64
	SpokenSummary string
}

// YieldOf builds one; without any neck there is no rate.
func YieldOf(title, words string, k, n int) Yield {
	y := Yield{Title: title, Words: words, Count: k, Of: n, HasRate: n > 0}
	if n == 0 {
		return y
	}
	lo, hi := batch.Wilson(k, n, Confidence)
	y.Rate, y.Lo, y.Hi = 100*float64(k)/float64(n), 100*lo, 100*hi
	y.Left, y.Across, y.MarkX = y.Lo, y.Hi-y.Lo, y.Rate
	y.SpokenSummary = fmt.Sprintf("%s %.1f percent, interval %.1f to %.1f percent", title, y.Rate, y.Lo, y.Hi)
	return y
}

// YieldsOf are a batch's first-pass and final yield. A neck released by concession does not conform and counts in neither.
func YieldsOf(c batch.Counts) []Yield {
	return []Yield{
		YieldOf("First-pass yield", "passed at the first inspection", c.FirstPass, c.Inspected),
		YieldOf("Final yield", "passed, at whichever inspection", c.Passed, c.Inspected),
	}
}
