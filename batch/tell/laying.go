package tell

import (
	"fmt"
	"math"

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

// AskLink asks for a crown that was measured before the neck was laid down again.
func AskLink(p batch.Point) string {
	return fmt.Sprintf("The neck was laid down again: measure %s, once more, so that what was read before can be used.", Point(p))
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

// NotCarried says why what was read before the neck was laid down again does not count; changed is what happened to it, where something did.
func NotCarried(l *batch.Laid, changed string) string {
	const end = " What was read before no longer counts: it is measured again."
	switch l.State {
	case batch.TooFew:
		return fmt.Sprintf("The neck was laid down again after %s.", Count(l.Old, "crown")) + end
	case batch.TooOld:
		return fmt.Sprintf("The neck was laid down again after more than %.0f hours.", laying.MostTime.Hours()) + end
	case batch.Changed:
		return fmt.Sprintf("The neck was laid down again after %s.", changed) + end
	case batch.LinksDisagree:
		most := 0.0
		for _, f := range l.Fit {
			most = max(most, math.Abs(f.Residual))
		}
		return fmt.Sprintf("The neck was laid down again, and its crowns measured once more are up to %s off: it changed meanwhile, or something moved.", hundredths(most)) + end
	case batch.Undetermined:
		return "The neck was laid down again, and the crowns measured once more do not tell where it lies." + end
	}
	return "The neck was laid down again before the crowns measured once more were complete: they are measured again."
}

const movedAgain = "the neck or the gauge moved while it was measured. What was read since is measured again."

// PairMoved says that a crown asked about and the one before it show a move.
func PairMoved(crown, beside batch.Point) string {
	return fmt.Sprintf("%s, and the crown measured with it, %s, are not where they were: %s", Upper(Point(crown)), Point(beside), movedAgain)
}

// NotAskedAgain says that a crown that was asked about was not measured again where the neck lay.
func NotAskedAgain(crown batch.Point, mm float64) string {
	return fmt.Sprintf("%s, stood %s than the other crowns said, and the neck was laid down again before it was measured once more. It and what was read after it are measured again.",
		Upper(Point(crown)), higher(mm))
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
