package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Impact says what a gauge's error means for one inspection, with the values behind it, lengths in the given unit.
func Impact(s *inspect.Spec, i batch.Impact, in unit.Unit) string {
	if i.Unknown != "" {
		return unknownImpact[i.Unknown]
	}
	cases := Count(i.Moments, "case")
	if i.Moments == 0 {
		if i.Outcome == batch.StillConforms {
			return "Still conforms: none of its limited values rests on a reading that the error can be in."
		}
		return "The error changes nothing of how it was judged."
	}
	if len(i.Moved) == 0 {
		if i.Outcome == batch.StillConforms {
			return "Still conforms: the error moves none of its limited values, whatever the moment it came at."
		}
		return "The error moves none of its limited values: it stands as it was judged."
	}
	first := i.Moved[0]
	switch i.Outcome {
	case batch.StillConforms:
		return fmt.Sprintf("Still conforms, whatever the moment the error came at: nearest to its limit is %s.", movedWords(s, first, in))
	case batch.WouldFail:
		words := fmt.Sprintf("Would fail, at whatever moment up to its last reading in doubt the error came: %s", movedWords(s, first, in))
		if first.Fail < i.Moments {
			words += fmt.Sprintf(", outside in %d of %s, and others in the rest", first.Fail, cases)
		}
		return words + "."
	}
	switch {
	case i.Conform == i.Moments:
		words := map[inspect.Zone]string{inspect.Nonconforming: "what failed is", inspect.Conforming: "nearest to its limit is"}[first.Zone]
		if words == "" {
			words = "what was not decided is"
		}
		return fmt.Sprintf("It would have conformed, at whatever moment up to its last reading in doubt the error came; then it should pass when measured again: %s %s.",
			words, movedWords(s, first, in))
	case i.Fail > 0:
		return fmt.Sprintf("It depends on when the error came: in %d of %s it would fail, most often by %s.", i.Fail, cases, movedWords(s, first, in))
	case first.Open == i.Moments && first.Zone != inspect.Conforming:
		return fmt.Sprintf("It was not fully judged, and the error does not change that: %s.", movedWords(s, first, in))
	}
	return fmt.Sprintf("In %d of %s something would be too near its limit to decide, or could not be measured: %s.", i.Moments-i.Conform, cases, movedWords(s, first, in))
}

// unknownImpact says why it cannot be told what an error means.
var unknownImpact = map[batch.ImpactUnknown]string{
	batch.UnknownError:    "It cannot be told: how far off the gauge was is not on record.",
	batch.UnknownLength:   "It cannot be told: readings in doubt are no lengths, and the error found is one.",
	batch.UnknownReach:    "It cannot be told: readings in doubt lie too far from the zero and the masters at which the error was found.",
	batch.UnknownValues:   "It cannot be told: with the error taken off, nothing can be computed from its readings.",
	batch.UnknownReadings: "It cannot be told: it was taken in without readings.",
	batch.UnknownCarried:  "It cannot be told: values that rest on its readings were carried over into a later attempt.",
	batch.UnknownOther:    "It cannot be told: what rests on these readings is in doubt for another reason too, and the two errors add up or hide each other.",
}

// movedWords is a value with what it would have been, and its limits: "action, string 6, fret 12, open, which would be 2.25 mm (1.5 to
// 2.2 mm)".
func movedWords(s *inspect.Spec, m batch.MovedValue, in unit.Unit) string {
	worst := m.Worst()
	c := m.Characteristic
	c.Value = &worst
	r := c.Rounded(s.Uncertainty.ResolutionMM, in.MM())
	signed := inspect.KindOf(c.Name).Signed
	symbol := Scale{Of: c.Unit, In: in}.Symbol()
	low, high := r.Value(m.Low, signed), r.Value(m.High, signed)
	between := low
	if low != high {
		between = "between " + low + " and " + high
	}
	limits := Between(c.Lower, c.Upper, func(v float64) string { return r.Limit(v) })
	return fmt.Sprintf("%s, which would be %s %s (%s %s)", inspect.Words(s, c), between, symbol, limits, symbol)
}

// ImpactTried says at how many moments an error was tried, "" where it was not.
func ImpactTried(i batch.Impact) string {
	if i.Unknown != "" || i.Moments == 0 {
		return ""
	}
	words := "Worked out with the error coming at " + Count(i.Moments, "moment")
	if i.Drift {
		words = "Worked out with the error coming at " + Count(i.Moments-1, "moment") + ", and little by little"
	}
	if i.Ruled > 0 {
		words += "; " + Counted(i.Ruled, "more is", "more are") + " ruled out by the crowns measured once more at the profile's end"
	}
	return words + "."
}

// InDoubt says how many necks are in doubt, what the errors found mean for them, and what to do.
func InDoubt(necks int, n map[batch.ImpactOutcome]int) string {
	words := Counted(necks, "neck is", "necks are") + " in doubt and may not ship"
	if means := Impacts(n); means != "" {
		words += ": " + means
	}
	clear, back := n[batch.StillConforms], necks-n[batch.StillConforms]
	if clear > 0 {
		words += fmt.Sprintf(". A quality manager may clear %s together", Plural(clear, "the one that still conforms", "those that still conform"))
	}
	if back > 0 {
		it := Plural(back, "it", "them")
		if clear > 0 {
			it = "the rest"
		}
		words += fmt.Sprintf(". Call %s back: only what is in doubt is measured again; a neck without readings is inspected as a whole", it)
	}
	return words + "."
}

// Impacts says how many necks are in doubt with which outcome: "2 would fail, 1 cannot be told and 8 still conform"; "" for none.
func Impacts(n map[batch.ImpactOutcome]int) string {
	words := []string{}
	for _, o := range batch.ImpactOutcomes {
		if n[o] > 0 {
			words = append(words, Counted(n[o], impactWords[o][0], impactWords[o][1]))
		}
	}
	return List(words)
}

// InStatistics says how many of the necks that statistics are of are in doubt, and whether these are left out.
func InStatistics(n, of int, without bool) string {
	switch {
	case !without:
		return fmt.Sprintf("%d of %s in these numbers %s in doubt by first measurements.", n, Count(of, "neck"), Plural(n, "is", "are"))
	case n == 0:
		return "What is in doubt is left out of these numbers; nothing is."
	}
	return fmt.Sprintf("%d of %s %s in doubt by first measurements and left out of these numbers.", n, Count(of, "neck"), Plural(n, "is", "are"))
}

// impactWords are what is said of one neck and of many.
var impactWords = map[batch.ImpactOutcome][2]string{
	batch.WouldFail:     {"would fail", "would fail"},
	batch.CannotBeTold:  {"depends on what is not known", "depend on what is not known"},
	batch.StillConforms: {"still conforms", "still conform"},
}
