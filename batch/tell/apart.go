package tell

import (
	"fmt"
	"math"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Apart says how the first-pass yield of a group stands to that of the rest, put together and like with like, where it differs by more
// than chance; strict is the probability below which that is said. gauge names a bad span's gauge with what its check found. "" where
// there is nothing to say.
func Apart(c batch.Contrast, strict float64, gauge func(span int) string) string {
	crude, within := side(c.Crude, strict), side(c.Within, strict)
	if len(c.Models) > 1 && c.Differ < strict {
		return byModel(c, crude, strict)
	}
	switch {
	case crude == 0 && within == 0:
		return ""
	case c.Within.Told == 0:
		return fmt.Sprintf("passes %s than the rest, which cannot be told apart from %s: there is no other neck like these", far(c.Crude), mixed(c, gauge))
	case crude == within:
		return fmt.Sprintf("passes %s than the rest, and like with like %s%s", far(c.Crude), far(c.Within), toldOf(c))
	case within == 0 && c.Within.Low <= c.Crude.Value && c.Crude.Value <= c.Within.High:
		return fmt.Sprintf("put together it passes %s than the rest; like with like that is not settled (%s%s), for %s",
			far(c.Crude), ofPoints(c.Within), toldOf(c), because(c, gauge))
	case within == 0:
		return fmt.Sprintf("put together it passes %s than the rest, but like with like no more than chance makes (%s%s): %s",
			far(c.Crude), ofPoints(c.Within), toldOf(c), because(c, gauge))
	case crude == 0:
		return fmt.Sprintf("like with like it passes %s than the rest%s, which is hidden where all are put together", far(c.Within), toldOf(c))
	}
	return fmt.Sprintf("put together it passes %s than the rest, yet like with like %s%s: what is put together misleads, for %s",
		far(c.Crude), far(c.Within), toldOf(c), because(c, gauge))
}

// side says on which side of the rest a group lies by more than chance.
func side(r batch.Rates, strict float64) int {
	switch {
	case r.Told == 0 || r.P >= strict:
		return 0
	case r.Value < 0:
		return -1
	}
	return 1
}

// byModel is the sentence where models differ.
func byModel(c batch.Contrast, crude int, strict float64) string {
	var words []string
	for _, m := range c.Models {
		if side(m.Rates, strict) != 0 {
			words = append(words, m.Name+" "+far(m.Rates))
		} else {
			words = append(words, m.Name+" no more than chance makes ("+ofPoints(m.Rates)+")")
		}
	}
	lead := "it differs by model"
	if crude != 0 {
		lead = fmt.Sprintf("put together it passes %s than the rest, but that differs by model", far(c.Crude))
	}
	return lead + "; like with like, of " + strings.Join(words, "; of ")
}

// far writes a difference of pass rates: "4.2 points less often (1.0 to 7.4)".
func far(r batch.Rates) string {
	low, high := 100*math.Abs(r.Low), 100*math.Abs(r.High)
	if r.Value < 0 {
		low, high = high, low
		if r.High > 0 {
			low = -low
		}
	} else if r.Low < 0 {
		low = -low
	}
	return fmt.Sprintf("%s points %s often (%s to %s)", inspect.Number(100*math.Abs(r.Value), 1, false), map[bool]string{true: "less", false: "more"}[r.Value < 0],
		inspect.Number(low, 1, false), inspect.Number(high, 1, false))
}

// Points writes how far a group is from the rest, "–" where there is nothing beside it.
func Points(r batch.Rates) string {
	if r.Told == 0 {
		return "–"
	}
	return fmt.Sprintf("%s (%s to %s)", inspect.Number(100*r.Value, 1, true), inspect.Number(100*r.Low, 1, true), inspect.Number(100*r.High, 1, true))
}

// ofPoints writes one that is within chance: "−0.4 points, −1.2 to +0.5".
func ofPoints(r batch.Rates) string {
	return fmt.Sprintf("%s points, %s to %s", inspect.Number(100*r.Value, 1, true), inspect.Number(100*r.Low, 1, true), inspect.Number(100*r.High, 1, true))
}

// toldOf says where less than half of a group can be compared like with like.
func toldOf(c batch.Contrast) string {
	if 2*c.Within.Told >= c.Of {
		return ""
	}
	return fmt.Sprintf(" (from %d of its %s)", c.Within.Told, Count(c.Of, "neck"))
}

// because says what a group is mixed up with.
func because(c batch.Contrast, gauge func(span int) string) string {
	switch {
	case c.Why == batch.WhySpan && c.Span > 0:
		return "the same days had " + gauge(c.Span)
	case c.Why == batch.WhyModel && c.Model != "":
		return "it has more necks of " + c.Model + " than the rest has"
	case c.Why == batch.WhyTime:
		return "its necks are of other batches or months than the rest"
	}
	return "its necks are of other batches, months and states of the gauges than the rest"
}

// mixed names what a group that has nothing beside it cannot be told apart from.
func mixed(c batch.Contrast, gauge func(span int) string) string {
	if c.Why == batch.WhySpan && c.Span > 0 {
		return gauge(c.Span)
	}
	return "its batches and months"
}

// LikeWithLike says how the groups of breakdowns are compared; groups is how many were looked at and strict what follows from it.
func LikeWithLike(groups int, strict float64) string {
	if groups == 0 {
		return ""
	}
	return fmt.Sprintf("Each of %s is compared with the rest put together, and like with like: within the same batch, and so the same model and revision, the same month, and apart from days on which a gauge may have read wrong (between its last check that passed and the check that failed). Said is what stands out among so many: p below %s (Bonferroni, on the test of Cochran, Mantel and Haenszel); the intervals of the differences hold all together with 95 %%.",
		Count(groups, "group"), figures(strict, 2))
}

// LikeYields compares the first-pass yields of two sets like with like, after what is said of them put together; like says what is
// alike.
func LikeYields(c batch.Contrast, like string, gauge func(span int) string) string {
	if c.Within.Told == 0 {
		return fmt.Sprintf("Like with like (%s) nothing can be told: the two have nothing beside each other.", like)
	}
	crude, within := side(c.Crude, 0.05), side(c.Within, 0.05)
	chance := map[bool]string{true: "within chance", false: "more than chance explains"}[within == 0]
	words := fmt.Sprintf("Like with like (%s) the first passes %s%s, %s", like, far(c.Within), toldOf(c), chance)
	if crude != within {
		words += ": " + because(c, gauge)
	}
	return words + "."
}

// BadSpan names a time in which a gauge may have read wrong, to follow "the same days had".
func BadSpan(s batch.BadSpan, gauge string) string {
	days := "until " + day(s.To)
	if !s.From.IsZero() {
		days = day(s.From) + " to " + day(s.To)
	}
	what := "failed check"
	if strings.Contains(s.Why, zeroBeyond) {
		what = "bad zero"
	}
	return fmt.Sprintf("the %s of the %s (%s; %s)", what, gauge, days, s.Why)
}

func day(t time.Time) string { return t.Local().Format("2 January 2006") }

// ShiftsWithinAnHour says why shifts cannot be compared that begin within an hour; they are times after midnight.
func ShiftsWithinAnHour(begin []time.Duration) string {
	var at []string
	for _, b := range begin {
		at = append(at, fmt.Sprintf("%02d:%02d", int(b.Hours()), int(b.Minutes())%60))
	}
	return fmt.Sprintf("Shifts are not compared: necks are counted by the full hour, and shifts begin at %s here.", List(at))
}
