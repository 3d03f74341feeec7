package tell

import "testing"

func TestTurn(t *testing.T) {
	for turns, want := range map[float64]string{1.0 / 16: "a sixteenth turn", 0.125: "an eighth turn", 3.0 / 16: "three sixteenths of a turn", 0.25: "a quarter turn", 0.5: "1/2 turn"} {
		if got := Turn(turns); got != want {
			t.Errorf("%g: %q, want %q", turns, got, want)
		}
	}
}
