package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// ClearanceGrid is the clearance map for the page: one row a string, one column a held fret (0 is the nut).
type ClearanceGrid struct {
	Held  []int
	Rows  []clearanceRow
	Buzz  string // sentence on the predicted buzz
	Least string // sentence on the least gap
}

// clearanceRow is one string.
type clearanceRow struct {
	String int
	Name   string
	Cells  []clearanceCell
}

// clearanceCell is one string pressed at one fret.
type clearanceCell struct {
	Has, HasMargin bool
	Gap, Margin    string
	MarginAt       int
	Touches        bool // the margin is negative: predicted buzz
	Tight          int  // 0 to 4: how little margin (or gap, without margins) is left, for the shade
	Words          string
}

// ClearanceMap lays a result's clearances out; cells are shaded by where they lie between the widest and the
// tightest fretted note, negative margins carry a shape besides.
func ClearanceMap(spec *inspect.Spec, clearance []inspect.Clearance, lengths unit.Unit) *ClearanceGrid {
	if len(clearance) == 0 {
		return nil
	}
	g := &ClearanceGrid{}
	var strs []int
	tightest, widest := math.Inf(1), math.Inf(-1) // over the fretted notes: open strings have far more room
	for _, c := range clearance {
		if !slices.Contains(g.Held, c.HeldFret) {
			g.Held = append(g.Held, c.HeldFret)
		}
		if !slices.Contains(strs, c.String) {
			strs = append(strs, c.String)
		}
		if v := left(c); v != nil && c.HeldFret > 0 {
			tightest, widest = min(tightest, *v), max(widest, *v)
		}
	}
	slices.Sort(g.Held)
	slices.SortFunc(strs, func(a, b int) int { return b - a }) // bass to treble
	for _, n := range strs {
		g.Rows = append(g.Rows, clearanceRow{String: n, Name: stringName(spec, n), Cells: make([]clearanceCell, len(g.Held))})
	}
	clearance = slices.Clone(clearance)
	slices.SortStableFunc(clearance, func(a, b inspect.Clearance) int { return b.String - a.String })
	for i := range clearance {
		c := &clearance[i]
		g.Rows[slices.Index(strs, c.String)].Cells[slices.Index(g.Held, c.HeldFret)] = cellOf(c, tightest, widest, lengths)
	}
	g.Least, g.Buzz = clearanceSentences(clearance, lengths)
	return g
}

// clearanceSentences say where the least gap is and where buzz is predicted, "" for what is not known.
func clearanceSentences(clearance []inspect.Clearance, lengths unit.Unit) (gap, buzz string) {
	var least, worst *inspect.Clearance
	var places []string
	plucked := false
	for i := range clearance {
		c := &clearance[i]
		plucked = plucked || c.MarginMM != nil
		if c.LeastMM != nil && (least == nil || *c.LeastMM < *least.LeastMM) {
			least = c
		}
		if c.MarginMM == nil || *c.MarginMM >= 0 {
			continue
		}
		places = append(places, buzzWords(c))
		if worst == nil || *c.MarginMM < *worst.MarginMM {
			worst = c
		}
	}
	if least != nil {
		gap = fmt.Sprintf("The least gap is %s: string %d %s, over fret %d.", show.Length(*least.LeastMM, lengths), least.String, inspect.Pressed(least.HeldFret), least.AtFret)
	}
	switch {
	case len(places) > 3:
		buzz = fmt.Sprintf("Buzz is predicted at %d places, marked in the table; the worst is %s.", len(places), buzzWords(worst))
	case len(places) > 0:
		buzz = "Buzz is predicted: " + strings.Join(places, "; ") + "."
	case plucked:
		buzz = "No buzz is predicted."
	}
	return gap, buzz
}

// buzzWords names one place of predicted buzz: "string 6 pressed at fret 3, touches 9".
func buzzWords(c *inspect.Clearance) string {
	return fmt.Sprintf("string %d %s, touches %d", c.String, inspect.Pressed(c.HeldFret), c.MarginAtFret)
}

// left is what a clearance leaves: its margin, without a pluck its gap.
func left(c inspect.Clearance) *float64 {
	if c.MarginMM != nil {
		return c.MarginMM
	}
	return c.LeastMM
}

// cellOf is one cell; tightest and widest are the ends of what is left at the fretted notes, mm.
func cellOf(c *inspect.Clearance, tightest, widest float64, lengths unit.Unit) clearanceCell {
	cell := clearanceCell{MarginAt: c.MarginAtFret}
	cell.Words = fmt.Sprintf("string %d %s: not measured", c.String, inspect.Pressed(c.HeldFret))
	if c.LeastMM != nil {
		cell.Has, cell.Gap = true, show.Number(*c.LeastMM, lengths)
		cell.Words = fmt.Sprintf("string %d %s: gap %s over fret %d", c.String, inspect.Pressed(c.HeldFret), show.Length(*c.LeastMM, lengths), c.AtFret)
	}
	if c.MarginMM != nil {
		cell.HasMargin, cell.Margin = true, show.Signed(*c.MarginMM, lengths)
		cell.Touches = *c.MarginMM < 0
		cell.Words += fmt.Sprintf(", margin %s over fret %d", show.Signed(*c.MarginMM, lengths), c.MarginAtFret)
		if cell.Touches {
			cell.Words += ": touches"
		}
	}
	if v := left(*c); v != nil && widest > tightest {
		cell.Tight = 4 - int(min(1, max(0, (*v-tightest)/(widest-tightest)))*4.999)
	}
	return cell
}

// stringName is a string's note name from the specification.
func stringName(spec *inspect.Spec, number int) string {
	for _, s := range spec.Strings {
		if s.Number == number {
			return s.Name
		}
	}
	return ""
}
