package tell

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// moment is a local time with its date: what casts doubt is read on other days too.
func moment(t time.Time) string { return t.Local().Format("2006-01-02 15:04") }

// DoubtCause says what cast a doubt, and since when its gauge is not proved; and which later attempt rests on the same readings.
func DoubtCause(d batch.Doubt) string {
	words := cast(d)
	if d.CarriedInto != 0 {
		words += fmt.Sprintf(" Attempt %d carried values over from attempt %d that rest on these readings.", d.CarriedInto, d.Attempt)
	}
	return words
}

// cast says in one sentence what cast a doubt.
func cast(d batch.Doubt) string {
	c := d.Cause
	switch c.Kind {
	case batch.Dropped:
		answer := "its next check tells whether that moved its zero"
		if c.NotJudged {
			answer = "its next check passed and could not tell whether that moved its zero"
		}
		return fmt.Sprintf("The %s fell or was knocked at %s, says %s; %s; %s.", d.GaugeName, moment(c.At), c.By, answer, proved(c))
	case batch.CertificateFound:
		return fmt.Sprintf("Certificate %s found the %s outside what is allowed%s; %s.", c.Why, d.GaugeName, worstFound(c.Found), proved(c))
	case batch.ByHand:
		return fmt.Sprintf("%s cast doubt on what was measured%s: %s.", c.By, rangeOf(c.Over), strings.TrimRight(c.Why, ". "))
	}
	return fmt.Sprintf("The %s failed its check of %s: %s; %s.", d.GaugeName, moment(c.To), Minus(c.Why), proved(c))
}

// proved says what proved a cause's gauge last.
func proved(c batch.Cause) string {
	switch c.Proof {
	case "":
		return "nothing before proves it"
	case batch.ProofCheck:
		return "its last check that passed was of " + moment(c.From)
	}
	return "it was last proved by certificate " + c.Proof + " of " + Day(c.From)
}

// worstFound names the point of a certificate where the gauge was farthest outside what is allowed, "" where it names none.
func worstFound(f batch.Found) string {
	m := (&batch.GaugeCheck{Masters: f.Masters}).WorstMaster()
	if m == nil {
		return ""
	}
	return fmt.Sprintf(": its corrected readings were off by %s mm at %g mm (allowed %.3f)", inspect.Number(m.ErrorMM(), 3, true), m.NominalMM, m.LimitMM)
}

// rangeOf says what a person cast doubt over. A range begins just after its From.
func rangeOf(over batch.DoubtRange) string {
	var words string
	add := func(before, value string) {
		if value != "" {
			words += " " + before + value
		}
	}
	if !over.From.IsZero() {
		add("from ", moment(over.From.Add(1)))
	}
	if !over.To.IsZero() {
		add("until ", moment(over.To))
	}
	add("with the ", over.GaugeName)
	add("by ", over.Inspector)
	add("in batch ", over.Batch)
	return words
}

// DoubtWouldMark says, before a person casts doubt over a range, what it will mark.
func DoubtWouldMark(m batch.Marked, over batch.DoubtRange) string {
	if m.Inspections == 0 {
		return fmt.Sprintf("Nothing was measured%s: nothing would be marked.", rangeOf(over))
	}
	if m.Necks == 0 {
		return fmt.Sprintf("No neck will be in doubt: %s measured%s, and every neck was inspected again since.", Counted(m.Inspections, "inspection was", "inspections were"), rangeOf(over))
	}
	return fmt.Sprintf("%s will be in doubt, by %s measured%s.", Count(m.Necks, "neck"), Count(m.Inspections, "inspection"), rangeOf(over))
}

// DoubtAnswered says how the next check of a gauge that fell ended the doubt, "" where none did.
func DoubtAnswered(d batch.Doubt) string {
	switch d.Cleared {
	case batch.ClearedProved:
		return fmt.Sprintf("its check of %s proves it: %s", moment(d.ClearedAt), Minus(d.Reason))
	case batch.ClearedFailed:
		return fmt.Sprintf("its check of %s failed, whose doubt it is now", moment(d.ClearedAt))
	}
	return ""
}

// DoubtCauses are the sentences of several doubts, each once.
func DoubtCauses(all []batch.Doubt) []string {
	var words []string
	seen := map[string]bool{}
	for _, d := range all {
		if w := DoubtCause(d); !seen[w] {
			seen[w] = true
			words = append(words, w)
		}
	}
	return words
}

// Dropped says what a gauge's fall puts in doubt until its next check.
func Dropped(gauge string, e batch.GaugeEvent, proved time.Time) string {
	words := fmt.Sprintf("The %s %s. Check it before it is used", gauge, e.Detail)
	if e.Standing == 0 {
		return words + "; its fall puts no inspection in doubt."
	}
	since := ""
	if !proved.IsZero() {
		since = ", " + moment(proved)
	}
	return fmt.Sprintf("%s: %s on its readings since its last check that passed%s, and %s in doubt until then.", words,
		Counted(e.Standing, "inspection rests", "inspections rest"), since, Plural(e.Standing, "is", "are"))
}

// AfterDrop says what a check that passed tells of the inspections in doubt since its gauge fell, "" where it had not fallen or
// nothing was in doubt.
func AfterDrop(c batch.GaugeCheck) string {
	switch {
	case c.Proved > 0 || c.StillDoubted > 0:
		words := ""
		if c.Proved > 0 {
			words = fmt.Sprintf(" %s no longer in doubt.", Counted(c.Proved, "inspection is", "inspections are"))
		}
		if c.StillDoubted > 0 {
			words += fmt.Sprintf(" %s in doubt for another reason.", Counted(c.StillDoubted, "inspection stays", "inspections stay"))
		}
		return words
	case c.Untold > 0:
		return fmt.Sprintf(" %s in doubt: this check could not tell whether the fall moved the zero. Inspect those necks again, or clear each on its page.",
			Counted(c.Untold, "inspection stays", "inspections stay"))
	}
	return ""
}

// ImportChecks says what the checks of its gauges tell of a set of necks that was taken in, and what cannot be known.
func ImportChecks(k *batch.ImportChecks) string {
	switch {
	case k == nil:
		return ""
	case k.Gauges == 0:
		return "It names no gauge and holds no checks: whether a gauge was wrong then cannot be known."
	}
	var words []string
	if k.Marked.Inspections > 0 {
		words = append(words, fmt.Sprintf("Checks that failed put %s in doubt, by %s.", Count(k.Marked.Necks, "neck"), Count(k.Marked.Inspections, "inspection")))
	} else {
		words = append(words, "No check that failed puts any of it in doubt.")
	}
	for _, u := range k.Unknown {
		switch {
		case u.Before.IsZero() && u.After.IsZero():
			words = append(words, fmt.Sprintf("No check of the %s is on record: whether it was wrong cannot be known.", u.Gauge))
		case u.After.IsZero():
			words = append(words, fmt.Sprintf("No check of the %s is on record before %s: whether it was wrong before cannot be known.", u.Gauge, moment(u.Before)))
		case u.Before.IsZero():
			words = append(words, fmt.Sprintf("No check of the %s is on record after %s: whether it was wrong after cannot be known.", u.Gauge, moment(u.After)))
		default:
			words = append(words, fmt.Sprintf("No check of the %s is on record before %s or after %s: whether it was wrong then cannot be known.", u.Gauge, moment(u.Before), moment(u.After)))
		}
	}
	return strings.Join(words, " ")
}

// mostNamed necks are named in a sentence; the others are counted.
const mostNamed = 6

// CheckFailed says that a gauge failed its check, and which necks to stop: the one that lies on the bench, "" for none, and those in doubt,
// by the serial number of each inspection in a doubt of this check that stands; proved is when its last check passed, zero for none.
func CheckFailed(gauge string, c batch.GaugeCheck, onBench string, doubted []string, proved time.Time) string {
	since := "since its first reading, for no check of it had passed before"
	if !proved.IsZero() {
		since = "since its last check that passed, " + moment(proved)
	}
	var necks []string
	if onBench != "" {
		necks = append(necks, onBench+" on the bench")
	}
	more := 0
	for i, serial := range doubted {
		switch {
		case serial == onBench || slices.Contains(doubted[:i], serial):
		case len(necks) < mostNamed:
			necks = append(necks, serial)
		default:
			more++
		}
	}
	if more > 0 {
		necks = append(necks, fmt.Sprintf("%d more that its page lists", more))
	}
	stop := "Stop " + List(necks)
	switch {
	case len(doubted) > 0:
		n := len(doubted)
		stop += fmt.Sprintf(": %s in doubt, for %s on its readings %s", Counted(n, "inspection is", "inspections are"), Plural(n, "it rests", "they rest"), since)
	case c.Doubted > 0:
		if onBench == "" {
			stop = "Stop the next neck before this gauge"
		}
		stop += ": nothing may be measured with it. This check puts nothing in doubt, for every neck was inspected again that the gauge measured " + since
	case onBench != "":
		stop += ": nothing of it rests on this gauge, and nothing may be measured with it"
	default:
		stop = "Stop the next neck before this gauge: no inspection rests on what it measured " + since
	}
	return fmt.Sprintf("the %s failed its check: %s. It is locked out; clean its tip and the reference and check it again. %s", gauge, Minus(c.Why), stop)
}
