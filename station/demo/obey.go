package demo

import (
	"errors"
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/inspect"
)

// obey does to the simulated neck what was recorded as done to it. Where the record gives no amount, the advice was
// followed to the letter. A step that is taken back was not done: the neck is as it was before it.
func (d *Station) obey(serial string, done batch.ReworkAction, advice []inspect.Advice) error {
	if done.Withdrawn {
		return d.sim.Undo(serial)
	}
	step := inspect.Advice{}
	for _, a := range advice {
		if a.What == done.What {
			step = a
		}
	}
	return d.sim.Rework(serial, func(n *simulate.Neck) error { return rework(n, done, step) })
}

// rework changes one simulated neck.
func rework(n *simulate.Neck, done batch.ReworkAction, step inspect.Advice) error {
	defer n.Retune()
	switch done.What {
	case inspect.StepRod:
		turns := done.Turns
		if done.Direction == "loosen" {
			turns = -turns
		}
		return n.TurnRod(turns)
	case inspect.StepPitch, inspect.WorkStrings:
		return nil
	case inspect.StepRepairer:
		return repair(n)
	}
	items := step.Items
	if done.AmountMM != 0 {
		items = []inspect.AdviceItem{{String: done.String, Fret: done.Fret, Track: done.Track, AmountMM: &done.AmountMM}}
	}
	for _, it := range items {
		if it.AmountMM == nil && done.What == inspect.StepNut {
			if err := newSlot(n, it.String, step.Predicted); err != nil {
				return err
			}
			continue
		}
		if it.AmountMM == nil {
			continue
		}
		if it.Track == "centre" && done.What == inspect.StepLevel && sidesOf(items, it.Fret) {
			continue // the middle comes down with both sides
		}
		if err := reworkItem(n, done.What, it, *it.AmountMM); err != nil {
			return err
		}
	}
	return nil
}

// sidesOf says that a fret's bass and treble side are both among the items.
func sidesOf(items []inspect.AdviceItem, fret int) bool {
	sides := 0
	for _, it := range items {
		if it.Fret == fret && (it.Track == "bass" || it.Track == "treble") {
			sides++
		}
	}
	return sides == 2
}

// newSlot fills a slot and cuts it again to the height that the advice expects: nothing can be taken off it.
func newSlot(n *simulate.Neck, number int, predicted []inspect.Predicted) error {
	now, err := n.NutHeight(number)
	if err != nil {
		return err
	}
	for _, p := range predicted {
		if p.Name == inspect.NutHeight && p.String == number {
			return n.RaiseNut(number, slotPer*(p.Value-now))
		}
	}
	return nil
}

// slotPer is how much deeper a slot goes for its open string to go down by 1 over fret 1: L/(L - x_1) = 2^(1/12).
var slotPer = math.Exp2(1.0 / 12)

// reworkItem does one item of a step: mm off a crown, out of a slot as measured over fret 1 (negative fills it), or up at the saddle.
func reworkItem(n *simulate.Neck, what string, it inspect.AdviceItem, mm float64) error {
	switch {
	case what == inspect.StepLevel:
		side := it.Track
		if side != "bass" && side != "treble" {
			side = ""
		}
		return n.LevelCrown(it.Fret, side, mm)
	case what == inspect.StepNut && mm < 0:
		return n.RaiseNut(it.String, -slotPer*mm)
	case what == inspect.StepNut:
		return n.FileNutSlot(it.String, slotPer*mm)
	case what == inspect.StepAction && it.Track != "":
		return n.MoveBridge(it.Track, mm)
	case what == inspect.StepAction:
		return n.MoveSaddle(it.String, mm)
	}
	return fmt.Errorf("the simulated neck knows no rework %q", what)
}

// repair does the repairer's work on whatever the neck has: each kind of repair leaves a sound neck as it is.
func repair(n *simulate.Neck) error {
	var errs []error
	for _, kind := range []string{simulate.RepairHump, simulate.RepairTwist, simulate.RepairBow} {
		errs = append(errs, n.Repair(kind))
	}
	return errors.Join(errs...)
}
