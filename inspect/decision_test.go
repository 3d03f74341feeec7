package inspect

import (
	"strings"
	"testing"
)

// TestDecisionWords says which limits a rule moves, and by how much.
func TestDecisionWords(t *testing.T) {
	for rule, want := range map[string]string{
		"simple": "at or inside the limits", "guarded_acceptance": "drawn in by 2 times", "guarded_rejection": "moved out by 2 times",
	} {
		if got := (Decision{Rule: rule, GuardFactor: 2}).Words(); !strings.Contains(got, want) {
			t.Errorf("%s in words: %s", rule, got)
		}
	}
}
