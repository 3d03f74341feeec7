package show

import "testing"

// The interval of 81 of 263 is the worked example of Newcombe, "Two-sided confidence intervals for the single
// proportion", Statistics in Medicine 17 (1998), table I: score method without continuity correction, 0.2553 to 0.3662.
func TestYieldShowsTheWilsonInterval(t *testing.T) {
	y := YieldOf("Yield", "", 81, 263)
	if lo, hi := Fixed(y.Lo, 2, false), Fixed(y.Hi, 2, false); lo != "25.53" || hi != "36.62" {
		t.Errorf("the interval is %s to %s %%", lo, hi)
	}
}
