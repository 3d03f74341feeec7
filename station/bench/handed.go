package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
)

// SetHanded chooses which hand the neck on the bench is for, "left" or "" for right, before its first reading on the
// board: the sides of a left-handed neck are mirrored, and whatever was read from the wrong side must be read again. The
// neck's later attempts begin with it.
func (b *Bench) SetHanded(ctx context.Context, handed string) error {
	return b.do(func() error {
		j := b.job
		if j == nil {
			return errNoNeck
		}
		if !b.unsettled() {
			return fmt.Errorf("%s has its verdict: which hand it is for is chosen before its first reading", j.inspection.Serial)
		}
		if handed != "" && handed != "left" {
			return fmt.Errorf("%q is no hand; allowed are left, and nothing for right", handed)
		}
		if j.onBoard() {
			return fmt.Errorf("%s has been measured already: take its readings back (F2) before its sides are mirrored", j.inspection.Serial)
		}
		if err := b.rec.SetHanded(context.WithoutCancel(ctx), b.inspector, j.inspection.ID, handed); err != nil {
			return err
		}
		j.inspection.Handed = handed
		b.held = nil
		word := "right-handed: its bass side is drawn above"
		if handed == "left" {
			word = "left-handed: its sides are mirrored"
		}
		b.say(false, fmt.Sprintf("%s is %s.", j.inspection.Serial, word))
		return j.replay()
	})
}

// onBoard says whether a reading stands that knows sides; pitch does not.
func (j *job) onBoard() bool {
	for _, r := range batch.Standing(j.readings) {
		if !r.Withdrawn && r.Point.Kind != batch.Pitch && r.Point.Kind != batch.PitchDeclared {
			return true
		}
	}
	return false
}
