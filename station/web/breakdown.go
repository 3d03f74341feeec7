package web

import (
	"context"
	"fmt"
	"net/url"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// breakdown is how first inspections went by one dimension.
type breakdown struct {
	Title string // "By inspector"
	Head  string // of its first column
	Rows  []breakdownRow
}

// breakdownRow is one value of a dimension with its first-pass yield.
type breakdownRow struct {
	Name  string
	Link  string // the necks behind it, "" where they cannot be picked
	First yield
	Apart string // sentence part: it differs from the rest by more than chance; "" otherwise
}

// dimensions are those of the breakdowns, with their words.
var dimensions = []struct {
	of          batch.Dimension
	title, head string
}{
	{batch.ByInspector, "By inspector", "Inspector"},
	{batch.ByStation, "By station", "Station"},
	{batch.ByGauge, "By gauge", "Gauge"},
	{batch.ByHour, "By hour", "Hour"},
	{batch.ByWeekday, "By weekday", "Weekday"},
	{batch.ByHumidity, "By humidity", "Humidity"},
}

// dimensionWords is a value of a dimension for people.
func dimensionWords(d batch.Dimension, value string, gauges map[string]string) string {
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

// gaugeNames are the names of all gauges by ID.
func (s *server) gaugeNames(ctx context.Context) (map[string]string, error) {
	gauges, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, g := range gauges {
		names[g.ID] = g.Name
	}
	return names, nil
}

// breakdowns reads how a scope's first inspections went by every dimension; link leads to the necks behind a row. A
// dimension with a single value says nothing and is left out.
func (s *server) breakdowns(ctx context.Context, scope batch.Scope, link func(d batch.Dimension, value string) string) ([]breakdown, error) {
	names, err := s.gaugeNames(ctx)
	if err != nil {
		return nil, err
	}
	var all []breakdown
	for _, d := range dimensions {
		shares, err := s.opt.Record.Breakdown(ctx, scope, d.of)
		if err != nil {
			return nil, err
		}
		if len(shares) == 0 || (len(shares) == 1 && d.of != batch.ByInspector) {
			continue
		}
		out := breakdown{Title: d.title, Head: d.head}
		for _, sh := range shares {
			row := breakdownRow{Name: dimensionWords(d.of, sh.Value, names), First: yieldOf(d.title, "", sh.FirstPass, sh.Inspected)}
			row.Link = link(d.of, sh.Value)
			row.Apart = apartWords(sh, shares, d.of)
			out.Rows = append(out.Rows, row)
		}
		all = append(all, out)
	}
	return all, nil
}

// apartWords says when a share's interval does not meet that of the others together. A gauge's necks overlap with those of
// the other gauges, so that no such comparison holds there.
func apartWords(one batch.Share, all []batch.Share, d batch.Dimension) string {
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
	lo, hi := batch.Wilson(one.FirstPass, one.Inspected, confidence)
	restLo, restHi := batch.Wilson(passed, of, confidence)
	switch {
	case hi < restLo:
		return "passes less often than the rest, beyond chance"
	case lo > restHi:
		return "passes more often than the rest, beyond chance"
	}
	return ""
}

// necksLink is the part of the batch's page that lists the necks of one value of a dimension, "" where it lists none.
func necksLink(number string, d batch.Dimension, value string) string {
	if !pickedFor(d, value) {
		return ""
	}
	return batchPath(number) + "?" + url.Values{string(d): {value}}.Encode() + "#necks"
}
