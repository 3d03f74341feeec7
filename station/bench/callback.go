package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// calledBack is why an inspection is open again whose verdict is in doubt.
const calledBack = "called back: what is in doubt is measured again"

// callBack opens the newest inspection of a neck again where readings of it are in doubt, and nothing has followed: only those are
// measured again. It says whether it did.
func (b *Bench) callBack(ctx context.Context, newest batch.Inspection) (bool, error) {
	if newest.State != batch.Finished {
		return false, nil
	}
	ids, err := b.inspections.DoubtedReadings(ctx, newest.ID)
	if err != nil || len(ids) == 0 {
		return false, err
	}
	err = b.inspections.SetInspectionState(ctx, b.inspector, newest.ID, batch.Open, calledBack)
	if batch.KindOf(err) == batch.Conflict { // work followed: the whole neck is inspected again
		return false, nil
	}
	if err != nil {
		return false, err
	}
	newest.State, newest.StateReason = batch.Open, calledBack
	n, err := b.load(ctx, newest, b.between(newest))
	if err != nil {
		return false, err
	}
	b.sounds(Accepted)
	b.say(false, n.withSaid(fmt.Sprintf("%s, attempt %d, is called back: %s asked for again.", newest.Serial, newest.Attempt,
		tell.Counted(n.InDoubt(), "point is", "points are"))))
	return true, b.refreshShop(ctx)
}

// doubtWords says what is in doubt of the neck on the bench, and why; "" when nothing is.
func (n *neck) doubtWords() string {
	doubted := n.InDoubt()
	if doubted == 0 {
		carried := slices.DeleteFunc(slices.Clone(n.doubts), func(d batch.Doubt) bool { return d.CarriedInto == 0 })
		if n.verdict != nil && len(carried) > 0 {
			return fmt.Sprintf("In doubt: what is carried over. %s This neck may not ship until it is inspected again (F6), or a person clears it on its page.",
				strings.Join(tell.DoubtCauses(carried), " "))
		}
		return ""
	}
	why := tell.Count(doubted, "reading") + ". " + strings.Join(tell.DoubtCauses(n.doubts), " ")
	switch {
	case n.verdict != nil:
		return fmt.Sprintf("In doubt: %s This neck may not ship until they are measured again (F6), or a person clears it on its page.", why)
	case n.Inspection.StateReason == calledBack:
		return fmt.Sprintf("Called back: %s Check the gauge; only those points are asked for again.", why)
	}
	return fmt.Sprintf("In doubt: %s Check the gauge; those points are asked for again.", why)
}
