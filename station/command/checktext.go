package command

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// printResult prints one verdict for people: the answer and why, what to do, then every limited characteristic, the worst
// margin first, and the profile.
func printResult(out io.Writer, spec *inspect.Spec, res *inspect.Result, width int) {
	fmt.Fprintf(out, "%s, %s revision %s: %s\n", res.Serial, res.Spec, res.Revision, strings.ToUpper(string(res.Disposition)))
	fmt.Fprintln(out, wrapped("  "+res.Why+".", width, 2))
	if res.RodNote != "" {
		fmt.Fprintln(out, wrapped("  "+res.RodNote+".", width, 2))
	}
	printAdvice(out, spec, res, width)
	printCharacteristics(out, spec, res, width)
	for _, p := range res.Profile {
		drawProfile(out, spec, p, width)
	}
}

// printAdvice prints the steps of rework, each with its reason, what it will do and its cautions; then what may lie behind
// the defects, and who may do what about them.
func printAdvice(out io.Writer, spec *inspect.Spec, res *inspect.Result, width int) {
	person := false
	for _, a := range res.Advice {
		fmt.Fprintln(out, wrapped(fmt.Sprintf("  %d. %s", a.Order, inspect.AdviceWords(spec, a)), width, 5))
		if a.Why != "" {
			fmt.Fprintln(out, wrapped("     Why: "+a.Why+".", width, 5))
		}
		printEffect(out, spec, &a, width)
		for _, c := range a.Cautions {
			if c == inspect.CautionPerson {
				person = true
				continue
			}
			fmt.Fprintln(out, wrapped("     Caution: "+c, width, 5))
		}
	}
	if person {
		fmt.Fprintln(out, "  "+inspect.CautionPerson)
	}
	for _, r := range inspect.Remedies(spec, res) {
		fmt.Fprintln(out, wrapped(fmt.Sprintf("  %s (common practice): likely %s; helps, by the %s: %s.", r.Defect, strings.Join(r.Causes, ", or "), r.Who,
			strings.Join(r.Remedies, "; ")), width, 4))
	}
}

// printEffect prints what a step is predicted to do to what is out of its limits before it or not inside them after it.
func printEffect(out io.Writer, spec *inspect.Spec, a *inspect.Advice, width int) {
	head := "predicted"
	switch {
	case a.What == inspect.StepRepairer:
		head = "to be reached"
	case a.Waits:
		head = "predicted, once the steps before it are done"
	}
	t := table{indent: 5, head: []string{head, "before", "after", "interval", "its limits"}}
	others := 0
	for _, p := range a.Predicted {
		if p.ZoneBefore == inspect.Conforming && p.Zone == inspect.Conforming {
			others++
			continue
		}
		c := inspect.Characteristic{Name: p.Name, Track: p.Track, String: p.String, Fret: p.Fret, HeldFret: p.HeldFret, Unit: p.Unit,
			Value: &p.Value, Lower: p.Lower, Upper: p.Upper}
		r, signed := c.Rounded(spec.Uncertainty.ResolutionMM, 1), inspect.KindOf(p.Name).Signed
		before := ""
		if p.Before != nil {
			c.Value = p.Before
			r.Digits = max(r.Digits, c.Rounded(spec.Uncertainty.ResolutionMM, 1).Digits)
			before = r.Value(*p.Before, signed)
		}
		t.rows = append(t.rows, []string{inspect.Words(spec, c), before, r.Value(p.Value, signed) + " " + p.Unit,
			r.Value(p.Interval[0], signed) + " to " + r.Value(p.Interval[1], signed), sides[p.Zone]})
	}
	t.print(out, width)
	switch others {
	case 0:
	case 1:
		fmt.Fprintln(out, "     1 more value changes and stays inside its limits.")
	default:
		fmt.Fprintf(out, "     %d more values change and stay inside their limits.\n", others)
	}
}

// sides says shortly where a predicted value lies.
var sides = map[inspect.Zone]string{inspect.Conforming: "inside", inspect.Nonconforming: "outside", inspect.Undecided: "undecided",
	inspect.NotMeasured: "not measured"}

// limitsOf writes a pair of limits, either of which may be absent.
func limitsOf(r inspect.Rounding, lower, upper *float64) string {
	return tell.Between(lower, upper, r.Limit)
}

// zoneHeads says what stands in each part of the table of characteristics.
var zoneHeads = []struct {
	zone inspect.Zone
	head string
}{
	{inspect.Nonconforming, "nonconforming, farthest outside first"}, {inspect.Undecided, "undecided, too close to a limit"},
	{inspect.NotMeasured, "not measured, or not all of it"}, {inspect.Conforming, "conforming, nearest to a limit first"},
}

// printCharacteristics lists what is limited, a part to a zone, the worst margin first. Of the values that stand at every fret
// only those that do not conform and each track's worst are listed.
func printCharacteristics(out io.Writer, spec *inspect.Spec, res *inspect.Result, width int) {
	t := table{indent: 2, head: []string{"", "value", "U", "limits", "margin"}}
	left := 0
	for _, part := range zoneHeads {
		rows := inZone(res, part.zone)
		if len(rows) > 0 {
			t.rows = append(t.rows, []string{part.head})
		}
		seen := map[string]bool{}
		for _, c := range rows {
			words := inspect.Words(spec, c)
			if inspect.KindOf(c.Name).AtEveryFret() && (c.Zone == inspect.Conforming || c.Value == nil) {
				if seen[c.Name+c.Track] {
					left += map[bool]int{true: 1}[c.Zone == inspect.Conforming]
					continue
				}
				seen[c.Name+c.Track] = true
				if c.Value == nil {
					words = unmeasuredWords(spec, c, rows)
				}
			}
			t.rows = append(t.rows, characteristicCells(spec, c, words))
		}
	}
	if len(t.rows) == 0 {
		return // the reason above says that nothing was judged
	}
	fmt.Fprintln(out)
	t.print(out, width)
	if left > 0 {
		fmt.Fprintln(out, wrapped(fmt.Sprintf("  %s at single frets; of each track the one nearest to a limit is listed.", tell.Count(left, "more conforming value")), width, 2))
	}
}

// inZone returns the characteristics of a zone, the worst margin first.
func inZone(res *inspect.Result, zone inspect.Zone) []inspect.Characteristic {
	var rows []inspect.Characteristic
	for _, c := range inspect.BassFirst(res.Characteristics) {
		if c.Zone == zone {
			rows = append(rows, c)
		}
	}
	slices.SortStableFunc(rows, func(a, b inspect.Characteristic) int {
		return cmp.Compare(inspect.RelativeMargin(a), inspect.RelativeMargin(b))
	})
	return rows
}

// characteristicCells is a characteristic's row: its words, value, U, limits and margin.
func characteristicCells(spec *inspect.Spec, c inspect.Characteristic, words string) []string {
	r := c.Rounded(spec.Uncertainty.ResolutionMM, 1)
	value, u, margin := "", "", ""
	if c.Value != nil {
		value = r.Value(*c.Value, inspect.KindOf(c.Name).Signed) + " " + c.Unit
	}
	if c.U != nil && *c.U > 0 {
		u = r.U(*c.U)
	}
	if m, ok := inspect.WorstMargin(c); ok {
		margin = r.Value(m, true)
	}
	return []string{words, value, u, limitsOf(r, c.Lower, c.Upper), margin}
}

// unmeasuredWords names a characteristic with all the frets of its track at which it was not measured.
func unmeasuredWords(spec *inspect.Spec, c inspect.Characteristic, rows []inspect.Characteristic) string {
	var frets []int
	for _, o := range rows {
		if o.Name == c.Name && o.Track == c.Track && o.Value == nil {
			frets = append(frets, o.Fret)
		}
	}
	words := inspect.Words(spec, c)
	if len(frets) == 1 {
		return words
	}
	slices.Sort(frets)
	runs := ""
	for i := 0; i < len(frets); {
		j := i
		for j+1 < len(frets) && frets[j+1] == frets[j]+1 {
			j++
		}
		if runs != "" {
			runs += ", "
		}
		runs += strconv.Itoa(frets[i])
		if j > i {
			runs += "–" + strconv.Itoa(frets[j])
		}
		i = j + 1
	}
	return strings.TrimSuffix(words, fmt.Sprintf(" fret %d", c.Fret)) + " frets " + runs
}

// table is text in columns: the first wraps where the page is too narrow, numbers stand with their decimal points under each
// other. A row of one cell heads those after it.
type table struct {
	indent int
	head   []string
	rows   [][]string
}

// print prints the table, nothing where it has no rows.
func (t *table) print(out io.Writer, width int) {
	if len(t.rows) == 0 {
		return
	}
	before, wide := make([]int, len(t.head)), make([]int, len(t.head))
	for _, row := range t.rows {
		for i := 1; i < len(row); i++ {
			before[i] = max(before[i], beforePoint(row[i]))
		}
	}
	rows := make([][]string, len(t.rows))
	for k, row := range t.rows {
		rows[k] = slices.Clone(row)
		for i := 1; i < len(row); i++ {
			if c := row[i]; c != "" && beforePoint(c) > 0 {
				rows[k][i] = strings.Repeat(" ", before[i]-beforePoint(c)) + c
			}
			wide[i] = max(wide[i], utf8.RuneCountInString(rows[k][i]))
		}
		if len(row) > 1 {
			rows[k][0] = "  " + row[0]
			wide[0] = max(wide[0], utf8.RuneCountInString(rows[k][0]))
		}
	}
	const gap = 2
	rest := 0
	for i := 1; i < len(wide); i++ {
		wide[i] = max(wide[i], utf8.RuneCountInString(t.head[i]))
		rest += gap + wide[i]
	}
	const narrowest = 20
	wide[0] = max(min(max(wide[0], utf8.RuneCountInString(t.head[0])), width-t.indent-rest), narrowest)
	margin := strings.Repeat(" ", t.indent)
	line := func(cells []string) {
		names := strings.Split(wrapped(cells[0], wide[0], 4), "\n")
		text := margin + names[0] + strings.Repeat(" ", wide[0]-min(wide[0], utf8.RuneCountInString(names[0])))
		for i := 1; i < len(cells); i++ {
			text += strings.Repeat(" ", gap) + cells[i] + strings.Repeat(" ", wide[i]-utf8.RuneCountInString(cells[i]))
		}
		fmt.Fprintln(out, strings.TrimRight(text, " "))
		for _, name := range names[1:] {
			fmt.Fprintln(out, margin+name)
		}
	}
	line(t.head)
	for _, row := range rows {
		if len(row) == 1 {
			fmt.Fprintln(out, margin+row[0])
			continue
		}
		line(row)
	}
}

// beforePoint is how many characters stand left of a cell's (first) decimal point; of words none are aligned.
func beforePoint(cell string) int {
	if cell == "" || cell[0] >= 'A' && cell[0] <= 'z' {
		return 0
	}
	if i := strings.IndexAny(cell, ". "); i >= 0 {
		cell = cell[:i]
	}
	return utf8.RuneCountInString(cell)
}
