package show

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
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
	Like  string // how far it is from the rest, like with like
	Apart string // sentence part: it differs from the rest by more than chance, or would seem to; "" otherwise
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
	Strata(ctx context.Context, s batch.Scope) (batch.Strata, error)
}

// Breakdowns are how a scope's first inspections went by every dimension, and how groups are compared.
type Breakdowns struct {
	All  []Breakdown
	Note string // sentence
}

// BreakdownsOf reads them; link leads to the necks behind a row. A dimension with a single value says nothing and is left out.
func BreakdownsOf(ctx context.Context, rec breakdownRecord, scope batch.Scope, link func(d batch.Dimension, value string) string) (Breakdowns, error) {
	names, err := GaugeNames(ctx, rec)
	if err != nil {
		return Breakdowns{}, err
	}
	strata, err := rec.Strata(ctx, scope)
	if err != nil {
		return Breakdowns{}, err
	}
	var out Breakdowns
	groups := 0
	for _, d := range dimensions {
		if n := strata.Values(d.Of); n > 1 {
			groups += n
		}
	}
	strict := (1 - Confidence) / float64(max(1, groups))
	for _, d := range dimensions {
		if n := strata.Values(d.Of); n == 0 || n == 1 && d.Of != batch.ByInspector {
			continue
		}
		one := Breakdown{Title: d.Title, Head: d.Head}
		for _, c := range strata.Contrasts(d.Of, 1-strict) {
			one.Rows = append(one.Rows, BreakdownRow{Name: DimensionWords(d.Of, c.Value, names), First: YieldOf(d.Title, "", c.Passed, c.Of), Link: link(d.Of, c.Value), Like: tell.Points(c.Within),
				Apart: tell.Apart(c, strict, func(span int) string { return SpanWords(strata.Spans[span-1], names) })})
		}
		out.All = append(out.All, one)
	}
	out.Note = tell.LikeWithLike(groups, strict)
	return out, nil
}

// SpanWords names a time in which a gauge may have read wrong, to follow "the same days had".
func SpanWords(s batch.BadSpan, gauges map[string]string) string {
	return tell.BadSpan(s, cmp.Or(gauges[s.GaugeID], "gauge"))
}
