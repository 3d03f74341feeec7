package tell

import (
	"fmt"
	"math"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// hundredths writes a size in mm.
func hundredths(mm float64) string { return inspect.Number(math.Abs(mm), 2, false) + " mm" }

// higher says by how much and which way.
func higher(mm float64) string {
	if mm < 0 {
		return hundredths(mm) + " lower"
	}
	return hundredths(mm) + " higher"
}

// Interrupted says what came between two layings of a neck, as the beginning of a sentence.
func Interrupted(by batch.Interruption) string {
	switch by.Kind {
	case batch.NeckParked:
		return "The neck was parked"
	case batch.NeckTaken:
		return "The neck was taken off the bench"
	case batch.OtherNeck:
		return fmt.Sprintf("Another neck, %s, came to the bench", by.Of)
	case batch.CheckBetween:
		return fmt.Sprintf("The %s was checked", by.Of)
	case batch.StudyBetween:
		return fmt.Sprintf("A study of the %s came to the bench", by.Of)
	case batch.StationBegun:
		return "The station was started again"
	case batch.GaugeLost:
		return fmt.Sprintf("The line of the %s was lost", by.Of)
	case batch.SaidToBeMoved:
		return "The neck or the carriage was moved"
	case batch.SeenToMove:
		return "The neck or the gauge moved"
	}
	return "The neck was laid down again"
}

// AskLink asks for a crown that was measured in a laying before; by is what ended that.
func AskLink(p batch.Point, by batch.Interruption) string {
	return fmt.Sprintf("%s: measure %s, once more, so that what was read before can be used.", Interrupted(by), Point(p))
}

// AskClosing asks for a crown at the end of a profile.
func AskClosing(p batch.Point) string {
	p.Kind = batch.Crown
	return fmt.Sprintf("The profile is complete: measure %s, once more, to see that nothing moved.", Point(p))
}

// AskAgain asks for a crown or the one before it because the crown is off by mm from what the others say.
func AskAgain(crown, p batch.Point, mm float64) string {
	return fmt.Sprintf("%s, stands %s than the other crowns say: measure %s, once more, to tell the indicator, the neck and the fret apart.",
		Upper(Point(crown)), higher(mm), Point(p))
}

// AskSure asks whether a crown is so that was measured again as before.
func AskSure(crown batch.Point, mm float64) string {
	return fmt.Sprintf("%s, was measured again and is as before, %s than the other crowns say: is the fret so?", Upper(Point(crown)), higher(mm))
}

// NotCarried says why what was read before an interruption does not count.
func NotCarried(l *batch.Laid, by batch.Interruption) string {
	const again = " What was read before is measured again; it stays in the record."
	what := Interrupted(by)
	switch l.State {
	case batch.TooFew:
		return fmt.Sprintf("%s after %s: %s measured again, which is quicker than linking %s, and %s in the record.", what, Count(l.Old, "crown"),
			Plural(l.Old, "it is", "they are"), Plural(l.Old, "it", "them"), Plural(l.Old, "it stays", "they stay"))
	case batch.TooOld:
		return fmt.Sprintf("%s, and more than %.0f hours passed.", what, laying.MostTime.Hours()) + again
	case batch.Changed:
		return fmt.Sprintf("%s, and %s.", what, by.Changed) + again
	case batch.LinksDisagree:
		most := 0.0
		for _, f := range l.Fit {
			most = max(most, math.Abs(f.Residual))
		}
		return fmt.Sprintf("%s, and the crowns measured once more are up to %s off: the neck changed meanwhile, or something moved.", what, hundredths(most)) + again
	case batch.Undetermined:
		return what + ", and the crowns measured once more do not tell how the neck lies." + again
	}
	return what + " before the crowns measured once more were complete: they are measured again, and stay in the record."
}

const movedAgain = "the neck or the gauge moved while it was measured. What was read since is measured again."

// PairMoved says that a crown asked about and the one before it show a move.
func PairMoved(crown, beside batch.Point) string {
	return fmt.Sprintf("%s, and the crown measured with it, %s, are not where they were: %s", Upper(Point(crown)), Point(beside), movedAgain)
}

// NotAskedAgain says that a crown that was asked about was not measured again where the neck lay.
func NotAskedAgain(crown batch.Point, mm float64, by batch.Interruption) string {
	what := Interrupted(by)
	return fmt.Sprintf("%s, stood %s than the other crowns said, and %s before it was measured once more. It and what was read after it are measured again.",
		Upper(Point(crown)), higher(mm), strings.ToLower(what[:1])+what[1:])
}

// ClosingMoved says that a closing reading shows a move.
func ClosingMoved(p batch.Point, mm float64) string {
	p.Kind = batch.Crown
	return fmt.Sprintf("%s, measured once more, stands %s than before: the neck or the gauge moved while it was measured. The tracks are measured again.",
		Upper(Point(p)), higher(mm))
}

// StepMoved says that a track's shape shows a move.
func StepMoved(step batch.Point, mm float64) string {
	return fmt.Sprintf("From fret %d on the %s stands %s: %s", step.HeldFret, inspect.Side(step.Track), higher(mm), movedAgain)
}

// StepAgain says that a step was found again at the same place.
func StepAgain(step batch.Point, mm float64) string {
	return fmt.Sprintf("From fret %d on the %s stands %s again: it is measured in one go, to tell whether the neck has this step.", step.HeldFret, inspect.Side(step.Track), higher(mm))
}

// StepOwn says that a step is the neck's own.
func StepOwn(step batch.Point, mm float64) string {
	return fmt.Sprintf("From fret %d on the %s stands %s, measured twice: the neck has this step.", step.HeldFret, inspect.Side(step.Track), higher(mm))
}

// Carried says that the crowns of before count in the laying that their links are in.
func Carried(l *batch.Laid) string {
	if k := l.Old - len(l.Fit); k > 0 {
		return fmt.Sprintf("The crowns measured once more agree: %s read before %s carried over.", Count(k, "crown"), Plural(k, "is", "are"))
	}
	return "The crowns measured once more agree: what was read before counts."
}
