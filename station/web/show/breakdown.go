package show

import (
	"context"
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

// dimensions are those of the breakdowns, with their words.
var dimensions = []struct {
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
		return lower + " % RH"
	}
	return fmt.Sprintf("%d to %d %% RH", n, n+10)
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

// BehindWords says which necks of a dimension are meant, to follow "first inspected".
func BehindWords(d batch.Dimension, value, words string) (string, bool) {
	if value == "" && d != batch.ByAll {
		switch d {
		case batch.ByGauge:
			return "with no gauge on record", true
		case batch.ByHumidity:
			return "with no humidity noted", true
		}
	}
	switch d {
	case batch.ByAll:
		return "", true
	case batch.ByInspector:
		return "by " + words, true
	case batch.ByStation:
		return "at station " + words, true
	case batch.ByGauge:
		return "with the " + words, true
	case batch.ByHour:
		return "from " + words, true
	case batch.ByWeekday:
		return "on a " + words, true
	case batch.ByHumidity:
		return "at a humidity of " + words, true
	case batch.ByReason:
		return "and failing first by " + words, true
	case batch.ByFailing:
		return "and failing by " + words, true
	case batch.ByNear:
		return "with a verdict near a limit", true
	}
	return "", false
}

// breakdownRecord is what breakdowns are made of.
type breakdownRecord interface {
	gaugeRecord
	Breakdown(ctx context.Context, s batch.Scope, by batch.Dimension) ([]batch.Share, error)
}

// Breakdowns reads how a scope's first inspections went by every dimension; link leads to the necks behind a row. A
// dimension with a single value says nothing and is left out.
func Breakdowns(ctx context.Context, rec breakdownRecord, scope batch.Scope, link func(d batch.Dimension, value string) string) ([]Breakdown, error) {
	names, err := GaugeNames(ctx, rec)
	if err != nil {
		return nil, err
	}
	var all []Breakdown
	for _, d := range dimensions {
		shares, err := rec.Breakdown(ctx, scope, d.Of)
		if err != nil {
			return nil, err
		}
		if len(shares) == 0 || (len(shares) == 1 && d.Of != batch.ByInspector) {
			continue
		}
		out := Breakdown{Title: d.Title, Head: d.Head}
		for _, sh := range shares {
			row := BreakdownRow{Name: DimensionWords(d.Of, sh.Value, names), First: YieldOf(d.Title, "", sh.FirstPass, sh.Inspected)}
			row.Link = link(d.Of, sh.Value)
			row.Apart = ApartWords(sh, shares, d.Of)
			out.Rows = append(out.Rows, row)
		}
		all = append(all, out)
	}
	return all, nil
}
