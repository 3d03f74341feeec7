package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/batch/spc"
)

// Month names a month: "October 2026".
func Month(m batch.Month) string { return m.Start().Format("January 2006") }

// Months says which months are meant: "in October 2026", "from May to October 2026", "" for all.
func Months(from, to batch.Month) string {
	switch {
	case from == 0 && to == 0:
		return ""
	case from == to:
		return "in " + Month(from)
	case from == 0:
		return "until " + Month(to)
	case to == 0:
		return "since " + Month(from)
	case from/100 == to/100:
		return fmt.Sprintf("from %s to %s", from.Start().Month(), Month(to))
	}
	return fmt.Sprintf("from %s to %s", Month(from), Month(to))
}

// MonthSignal is one signal of the p chart of first inspections that failed, by month.
type MonthSignal struct {
	Test  int
	Words string
}

// MonthSignals words the signals of the p chart by month.
func MonthSignals(c spc.Chart, months []batch.Month) []MonthSignal {
	var all []MonthSignal
	for _, s := range c.Signals() {
		from, at, to := months[s.From-1], months[s.At-1], months[s.To-1]
		span := Months(from, to)
		words := ""
		switch s.Test {
		case 1:
			for i := s.At; i <= s.To; i++ {
				p := c.Points[i-1]
				limit, side := p.Upper, "above"
				if s.Side < 0 {
					limit, side = p.Lower, "below"
				}
				all = append(all, MonthSignal{1, fmt.Sprintf("%s: %.1f %% failed at the first inspection, %s the limit of %.1f %%. %s", Month(months[i-1]), 100*p.Value, side, 100*limit,
					either(s.Side > 0, "Look what was different in this month: model, material, gauge, people.", "Better than chance explains: find out why and keep it."))})
			}
			continue
		case 2:
			words = fmt.Sprintf("Nine months or more in a row, %s, lie on the %s side of the mean: the level has shifted; look for what changed at or before %s.", span,
				either(s.Side > 0, "worse", "better"), Month(from))
		case 3:
			words = fmt.Sprintf("Six months or more in a row, %s, the share that fails %s: the process drifts.", span, either(s.Side > 0, "rises", "falls"))
		default:
			words = fmt.Sprintf("Fourteen months in a row, %s, go up and down by turns: two sources take turns.", Months(from, at))
		}
		all = append(all, MonthSignal{s.Test, words})
	}
	return all
}

// Steady says whether the months differ by more than chance.
func Steady(c spc.Chart) string {
	outside, fired := 0, 0
	for _, p := range c.Points {
		if p.Signals.Has(1) {
			outside++
		}
		if p.Signals != 0 {
			fired++
		}
	}
	n := len(c.Points)
	switch {
	case n < 2:
		return ""
	case fired == 0:
		return fmt.Sprintf("Steady over %d months: they differ by no more than chance.", n)
	case 2*outside > n:
		return fmt.Sprintf("%d of %d months lie beyond the limits of chance: from so many necks a month even small differences are real. Ask how large they are.", outside, n)
	}
	return fmt.Sprintf("%d of %d months %s a signal: something other than chance moved the yield.", fired, n, Plural(fired, "shows", "show"))
}

// either chooses between two words.
func either(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}
