package show

import (
	"fmt"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Breakdown is how first inspections went by one dimension.
type Breakdown struct {
	Title string // "By inspector"
	Head  string // of its first column
	Rows  []BreakdownRow
}

// BreakdownRow is one value of a dimension with its first-pass yield.
type BreakdownRow struct {
	Name  string
	Link  string // the necks behind it, "" where they cannot be picked
	First Yield
	Apart string // sentence part: it differs from the rest by more than chance; "" otherwise
}

// Dimensions are those of the breakdowns, with their words.
var Dimensions = []struct {
	Of          batch.Dimension
	Title, Head string
}{
	{batch.ByInspector, "By inspector", "Inspector"},
	{batch.ByStation, "By station", "Station"},
	{batch.ByGauge, "By gauge", "Gauge"},
	{batch.ByHour, "By hour", "Hour"},
	{batch.ByWeekday, "By weekday", "Weekday"},
	{batch.ByHumidity, "By humidity", "Humidity"},
}

// DimensionWords is a value of a dimension for people.
func DimensionWords(d batch.Dimension, value string, gauges map[string]string) string {
	switch {
	case d == batch.ByGauge && gauges[value] != "":
		return gauges[value]
	case value == "":
		return "not noted"
	case d == batch.ByReason || d == batch.ByFailing:
		return inspect.Name(value)
	case d == batch.ByHour:
		return value + ":00 to " + value + ":59"
	case d == batch.ByHumidity:
		return humidityWords(value)
	case d == batch.ByWeekday:
		if n, err := strconv.Atoi(value); err == nil {
			return time.Weekday(n % 7).String()
		}
	}
	return value
}

// humidityWords is a humidity band of ten percent by its lower end.
func humidityWords(lower string) string {
	n, err := strconv.Atoi(lower)
	if err != nil || n >= 100 {
		return lower + " %"
	}
	return fmt.Sprintf("%d to %d %%", n, n+10)
}

// ApartWords says when a share's interval does not meet that of the others together. A gauge's necks overlap with those of
// the other gauges, so that no such comparison holds there.
func ApartWords(one batch.Share, all []batch.Share, d batch.Dimension) string {
	if d == batch.ByGauge || len(all) < 2 {
		return ""
	}
	passed, of := 0, 0
	for _, sh := range all {
		if sh.Value != one.Value {
			passed, of = passed+sh.FirstPass, of+sh.Inspected
		}
	}
	if of == 0 || one.Inspected == 0 {
		return ""
	}
	lo, hi := batch.Wilson(one.FirstPass, one.Inspected, Confidence)
	restLo, restHi := batch.Wilson(passed, of, Confidence)
	switch {
	case hi < restLo:
		return "passes less often than the rest, beyond chance"
	case lo > restHi:
		return "passes more often than the rest, beyond chance"
	}
	return ""
}
