package specs

import (
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// limitRow is one line of the table of limits, numbers apart so that they stand under each other.
type limitRow struct {
	Of                               string // the characteristic, in the catalogue
	Name, Lower, Target, Upper, Unit string
}

// limitRows lists a specification's limits.
func limitRows(s *inspect.Spec, lengths unit.Unit) []limitRow {
	rows := make([]limitRow, len(s.Limits))
	for i, l := range s.Limits {
		lower, target, upper := l.Bounds()
		in := inspect.KindOf(l.Characteristic).Unit
		write := func(v *float64) string {
			if v == nil {
				return ""
			}
			if in == "mm" {
				return tell.NominalNumber(*v, lengths)
			}
			return show.Plain(*v)
		}
		rows[i] = limitRow{l.Characteristic, tell.LimitName(l), write(lower), write(target), write(upper), tell.Scale{Of: in, In: lengths}.Symbol()}
	}
	for _, in := range []string{"mm", "in", "deg", "cents"} { // numbers of one unit stand under each other
		var cells []*string
		var texts []string
		for i := range rows {
			if r := &rows[i]; r.Unit == in {
				cells = append(cells, &r.Lower, &r.Target, &r.Upper)
				texts = append(texts, r.Lower, r.Target, r.Upper)
			}
		}
		for i, text := range aligned(texts) {
			*cells[i] = text
		}
	}
	return rows
}

// minus writes a number with a true minus sign.
func minus(number string) string { return strings.Replace(number, "-", "−", 1) }

// aligned pads numbers with zeros to as many decimals as the longest has; empty ones stay empty.
func aligned(numbers []string) []string {
	most := 0
	for _, n := range numbers {
		if _, decimals, found := strings.Cut(n, "."); found {
			most = max(most, len(decimals))
		}
	}
	out := make([]string, len(numbers))
	for i, n := range numbers {
		whole, decimals, _ := strings.Cut(n, ".")
		if n != "" && most > 0 {
			n = whole + "." + decimals + strings.Repeat("0", most-len(decimals))
		}
		out[i] = minus(n)
	}
	return out
}
