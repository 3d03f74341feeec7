package necks

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
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
	all := inspect.BassFirst(res.Characteristics)
	worst := map[string]int{}
	for i, c := range all {
		if inspect.KindOf(c.Name).AtEveryFret() && c.Value != nil {
			key := c.Name + "/" + c.Track
			if j, seen := worst[key]; !seen || math.Abs(*c.Value) > math.Abs(*all[j].Value) {
				worst[key] = i
			}
		}
	}
	left := 0
	var kept []inspect.Characteristic
	for i, c := range all {
		j, isWorst := worst[c.Name+"/"+c.Track]
		if inspect.KindOf(c.Name).AtEveryFret() && c.Zone.Rank() < inspect.NotMeasured.Rank() && !(isWorst && i == j) {
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
	r := show.Rounded(spec, &c, lengths)
	if c.Value != nil {
		row.Value = r.Value(*c.Value, inspect.KindOf(c.Name).Signed)
	}
	switch {
	case c.U == nil:
	case *c.U > 0:
		row.U = r.U(*c.U)
	default:
		row.U = "–" // a bound that the value lies at, such as no hump at all
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
		row.About = "by leaf " + tell.LeafInterval(*iv, lengths)
		if iv[0] == nil {
			row.About += ", perhaps a back-bow"
		}
	}
	if carried := tell.CarriedFrom(c, time.Time{}); carried != "" {
		row.About = strings.TrimPrefix(row.About+", "+carried, ", ")
	}
	if c.PConform != nil {
		row.P, row.PSort = show.Probability(*c.PConform), *c.PConform
	}
	return row
}

// Explain is the address part that asks how the value came about in an attempt, or what is missing for it; "" where the
// readings are not in the record.
func (r characteristicRow) Explain(attempt int) template.URL {
	if r.of.Name == "" {
		return ""
	}
	if from := r.of.CarriedFrom; from != nil {
		attempt = from.Attempt
	}
	return template.URL(explainQuery(attempt, r.of)) // encoded already
}

// unexplained takes the way to how the values came about from rows whose readings are not in the record.
func unexplained(rows []characteristicRow) {
	for i := range rows {
		rows[i].of = inspect.Characteristic{}
	}
}
