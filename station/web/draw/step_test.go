package draw

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// hourOf is where the hour hand stands, in hours after 12, at what words say: "to half past 1".
func hourOf(t *testing.T, words string) float64 {
	t.Helper()
	m := regexp.MustCompile(`from 12 (?:back )?to (half past |a quarter past |a quarter to )?(\d+)`).FindStringSubmatch(words)
	if m == nil {
		t.Fatalf("%q says no hour", words)
	}
	hour, err := strconv.ParseFloat(m[2], 64)
	if err != nil {
		t.Fatal(err)
	}
	return math.Mod(hour+map[string]float64{"": 0, "half past ": 0.5, "a quarter past ": 0.25, "a quarter to ": -0.25}[m[1]], 12)
}

// TestClockTellsTheTurn: the arrow over the rod's nut ends where the advised turn ends, the way that it goes, and the words say the same place.
func TestClockTellsTheTurn(t *testing.T) {
	arrow := regexp.MustCompile(`class="arrow" d="M80 18A62 62 0 0 ([01]) ([\d.]+) ([\d.]+)"`)
	for sixteenths := 1.0; sixteenths <= 4; sixteenths++ {
		for direction, way := range map[string]float64{"tighten": 1, "loosen": -1} {
			turns := sixteenths / 16
			svg := string(Step(inspect.Advice{What: inspect.StepRod, Direction: direction, Turns: &turns}))
			m := arrow.FindStringSubmatch(svg)
			if m == nil {
				t.Fatalf("%s %g: no arrow in %s", direction, turns, svg)
			}
			x, _ := strconv.ParseFloat(m[2], 64)
			y, _ := strconv.ParseFloat(m[3], 64)
			drawn := math.Atan2(x-80, 80-y) / (2 * math.Pi) // clockwise from above
			if math.Abs(drawn-way*turns) > 0.001 || (m[1] == "1") != (way > 0) {
				t.Errorf("%s %g turns is drawn as %g, sweep %s", direction, turns, drawn, m[1])
			}
			words := tell.Clock(direction, turns)
			if hour, want := hourOf(t, words), math.Mod(12+way*turns*12, 12); math.Abs(hour-want) > 1e-9 || strings.Contains(words, "back") != (way < 0) || (tell.Way(direction) == "clockwise") != (way > 0) {
				t.Errorf("%s %g turns is told as %q, %g hours after 12; want %g", direction, turns, words, hour, want)
			}
			if !strings.Contains(svg, fmt.Sprintf(`aria-label="Turn the nut %s %s as you face it, %s"`, tell.Turn(turns), tell.Way(direction), strings.ReplaceAll(words, "'", "&#39;"))) {
				t.Errorf("%s %g: who does not see it is told otherwise: %.200s", direction, turns, svg)
			}
		}
	}
}
