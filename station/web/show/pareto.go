package show

import (
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// ParetoChart draws reasons from the commonest with the cumulative line over them.
func ParetoChart(id string, rows []ReasonRow, what string) *Chart {
	if len(rows) == 0 {
		return nil
	}
	c := Chart{
		ID: id, Caption: fmt.Sprintf("Bars: %s. Line: running sum of all of them. A bar leads to its necks.", what),
		Spoken: fmt.Sprintf("Pareto diagram of %d characteristics; the table has the numbers.", len(rows)),
		Y:      Axis{Title: "necks", Whole: true, Min: Y(0)},
		Right:  &Axis{Title: "running sum, %", Min: Y(0), Max: Y(100)},
	}
	bars, line := Series{Name: "necks", Kind: "bars"}, Series{Name: "running sum", Kind: "both", Right: true}
	for i, r := range rows {
		c.X.Names = append(c.X.Names, r.Name)
		b := Point{X: float64(i), Y: Y(float64(r.Necks)), Words: fmt.Sprintf("%s: %s, %.1f %%", r.Name, tell.Counted(r.Necks, "neck", "necks"), r.Share), Link: r.Link}
		if i < leaders(rows) {
			b.State = "nonconforming"
		}
		bars.Points = append(bars.Points, b)
		line.Points = append(line.Points, Point{X: float64(i), Y: Y(r.Cumulative), Words: fmt.Sprintf("up to %s: %.1f %%", r.Name, r.Cumulative)})
	}
	c.Series = []Series{bars, line}
	return &c
}

// Commonest says in a sentence what leads a Pareto table; of names what is counted, in the plural.
func Commonest(rows []ReasonRow, of string) string {
	total := 0
	for _, r := range rows {
		total += r.Necks
	}
	if total == 0 {
		return ""
	}
	names := tell.Upper(rows[0].Name)
	if n := leaders(rows); n > 1 {
		for i, r := range rows[1:n] {
			names += Pick(i == n-2, " and ", ", ") + r.Name
		}
		return fmt.Sprintf("%s stand first with %d each of %d %s (%.1f %% each).", names, rows[0].Necks, total, of, rows[0].Share)
	}
	return fmt.Sprintf("%s stands first: %d of %d %s (%.1f %%).", names, rows[0].Necks, total, of, rows[0].Share)
}

// leaders is how many rows stand first together.
func leaders(rows []ReasonRow) int {
	if n := slices.IndexFunc(rows, func(r ReasonRow) bool { return r.Necks < rows[0].Necks }); n >= 0 {
		return n
	}
	return len(rows)
}

// ReasonRow is one bar of the Pareto diagram.
type ReasonRow struct {
	Key, Name         string // the characteristic's name in files, and in words
	Necks             int
	Share, Cumulative float64 // percent of all of them
	Link              string  // to the necks behind it
}

// ParetoOf orders the reasons from the commonest, each with its share, the running sum, and the link to its necks, by its
// name in files; nil for none.
func ParetoOf(reasons []batch.Reason, link func(name string) string) []ReasonRow {
	sorted := tell.Commonest(reasons)
	total := 0
	for _, r := range sorted {
		total += r.Necks
	}
	if total == 0 {
		return nil
	}
	rows := make([]ReasonRow, len(sorted))
	sum := 0
	for i, r := range sorted {
		sum += r.Necks
		rows[i] = ReasonRow{
			Key: r.Name, Name: inspect.Name(r.Name), Necks: r.Necks, Share: 100 * float64(r.Necks) / float64(total),
			Cumulative: 100 * float64(sum) / float64(total),
		}
		if link != nil {
			rows[i].Link = link(r.Name)
		}
	}
	return rows
}
