package web

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// characteristicRow is one line of the table of characteristics.
type characteristicRow struct {
	Name, About          string
	Value, U, Unit       string
	Lower, Target, Upper string
	Zone                 string
	P                    string
	PSort                float64
	of                   inspect.Characteristic
}

// characteristicRows lists a result's characteristics, what needs looking at first, those without a limit apart. Of the values that stand at every
// fret only those that do not conform, and the largest of each track, are listed; folded says how many are left out.
func characteristicRows(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit) (rows, free []characteristicRow, folded string) {
	worst := map[string]int{}
	for i, c := range res.Characteristics {
		if c.AtEveryFret() && c.Value != nil {
			key := c.Name + "/" + c.Track
			if j, seen := worst[key]; !seen || math.Abs(*c.Value) > math.Abs(*res.Characteristics[j].Value) {
				worst[key] = i
			}
		}
	}
	left := 0
	var kept []inspect.Characteristic
	for i, c := range res.Characteristics {
		j, isWorst := worst[c.Name+"/"+c.Track]
		if c.AtEveryFret() && c.Zone.Rank() < inspect.NotMeasured.Rank() && !(isWorst && i == j) {
			left++
			continue
		}
		kept = append(kept, c)
	}
	slices.SortStableFunc(kept, func(a, b inspect.Characteristic) int {
		return cmp.Compare(b.Zone.Rank(), a.Zone.Rank())
	})
	for _, c := range kept {
		if c.Zone == inspect.NoLimit {
			free = append(free, rowOf(spec, c, lengths))
		} else {
			rows = append(rows, rowOf(spec, c, lengths))
		}
	}
	if left > 0 {
		folded = fmt.Sprintf("%d further values at single frets (level deviation, rocker) conform or have no limit; each track's largest is listed, the profile shows them all.", left)
	}
	return rows, free, folded
}

// rowOf puts one characteristic in words and numbers.
func rowOf(spec *inspect.Spec, c inspect.Characteristic, lengths unit.Unit) characteristicRow {
	row := characteristicRow{Name: inspect.Words(spec, c), Zone: string(c.Zone), Unit: c.Unit, PSort: -1, of: c}
	if c.Unit == "mm" {
		row.Unit = lengths.String()
	}
	r := rounded(spec, &c, lengths)
	if c.Value != nil {
		row.Value = r.Value(*c.Value, signedByNature(c.Name))
	}
	if c.U != nil && *c.U > 0 {
		row.U = r.U(*c.U)
	}
	for _, limit := range []struct {
		v  *float64
		to *string
	}{{c.Lower, &row.Lower}, {c.Target, &row.Target}, {c.Upper, &row.Upper}} {
		if limit.v != nil {
			*limit.to = r.Limit(*limit.v)
		}
	}
	if iv := c.IntervalMM; iv != nil {
		lo, hi := "0", "open"
		if iv[0] != nil {
			lo = r.Value(*iv[0], false)
		}
		if iv[1] != nil {
			hi = r.Value(*iv[1], false)
		}
		row.About = "between " + lo + " and " + hi
	}
	if c.PConform != nil {
		row.P, row.PSort = probability(*c.PConform), *c.PConform
	}
	return row
}

// rounded is how a characteristic of a specification's neck is written in the page's unit: to the gauge's step.
func rounded(spec *inspect.Spec, c *inspect.Characteristic, lengths unit.Unit) inspect.Rounding {
	return c.Rounded(spec.Uncertainty.ResolutionMM, lengths.MM())
}

// Explain is the address part that asks how the value came about in an attempt, or what is missing for it; "" where the
// readings are not in the record.
func (r characteristicRow) Explain(attempt int) template.URL {
	if r.of.Name == "" {
		return ""
	}
	return template.URL(explainQuery(attempt, r.of)) // encoded already
}

// unexplained takes the way to how the values came about from rows whose readings are not in the record.
func unexplained(rows []characteristicRow) {
	for i := range rows {
		rows[i].of = inspect.Characteristic{}
	}
}

// signedByNature says whether a characteristic's sign tells something: which side, above or below.
func signedByNature(name string) bool {
	switch name {
	case "relief_side_difference", "level_deviation", "rocker", "hump", "fall_away", "twist", "clearance_margin", "pitch":
		return true
	}
	return false
}

// valueIn writes a value of a characteristic: lengths in the page's unit, degrees to 0.01, cents to 0.1.
func valueIn(v float64, in string, lengths unit.Unit, signed bool) string {
	switch in {
	case "deg":
		return fixed(v, 2, signed)
	case "cents":
		return fixed(v, 1, signed)
	}
	if signed {
		return signedIn(v, lengths)
	}
	return numberIn(v, lengths)
}

// fixed writes a number with its decimals, with a true minus; signed also with a plus.
func fixed(v float64, decimals int, signed bool) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	zero := strings.Trim(s, "0.") == ""
	switch {
	case v < 0 && !zero:
		return "−" + s
	case signed && !zero:
		return "+" + s
	}
	return s
}

// probability writes a conformance probability; near its ends it says only how near.
func probability(p float64) string {
	switch {
	case p < 0.001:
		return "< 0.001"
	case p > 0.999:
		return "> 0.999"
	}
	return strconv.FormatFloat(p, 'f', 3, 64)
}

// readingNumber writes a reading's value and U (twice its standard uncertainty) in the page's unit.
func readingNumber(r batch.Reading, lengths unit.Unit) (number, u, in string) {
	switch r.Point.Kind {
	case batch.PitchDeclared:
		return "yes", "", ""
	case batch.Sweep:
		return strconv.Itoa(int(r.Value)), "", "crowns"
	case batch.Pitch:
		if r.U > 0 {
			u = fixed(2*r.U, 1, false)
		}
		return fixed(r.Value, 1, true), u, "cents"
	}
	if r.U > 0 {
		u = numberIn(2*r.U, lengths)
	}
	return signedIn(r.Value, lengths), u, lengths.String()
}

// whyWords says in one sentence why a result is what it is: what does not conform first, by value and limit.
func whyWords(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit) string {
	first := inspect.FirstFailing(res)
	if first == nil {
		return upperFirst(res.Why) + "."
	}
	more := -1
	for _, c := range res.Characteristics {
		if c.Zone == inspect.Nonconforming {
			more++
		}
	}
	words := upperFirst(missWords(spec, *first, lengths))
	if more > 0 {
		words += "; " + counted(more, "more value does not conform", "more values do not conform")
	}
	return words + "."
}

// missWords says how a nonconforming value misses its limit.
func missWords(spec *inspect.Spec, c inspect.Characteristic, lengths unit.Unit) string {
	words := inspect.Words(spec, c)
	if c.Value == nil {
		return words + " does not conform"
	}
	in := c.Unit
	if in == "mm" {
		in = lengths.String()
	}
	r := rounded(spec, &c, lengths)
	words += " is " + r.Value(*c.Value, signedByNature(c.Name)) + " " + in
	switch {
	case c.Upper != nil && *c.Value > *c.Upper:
		return words + ", above its limit of " + r.Limit(*c.Upper) + " " + in
	case c.Lower != nil && *c.Value < *c.Lower:
		return words + ", below its limit of " + r.Limit(*c.Lower) + " " + in
	}
	return words + " and does not conform"
}

// upperFirst begins a sentence.
func upperFirst(s string) string {
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}
