package batch

import (
	"math"
	"slices"
	"time"

	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// CarriedLongest is how old a value may be that is carried over, from its verdict to the one that carries it, however long the neck was parked
// meanwhile: wood moves with the weeks. Common practice, no source.
const CarriedLongest = 7 * 24 * time.Hour

// CarryOver is what an inspection of a neck need not measure again, and what that follows from.
type CarryOver struct {
	Spec     *inspect.Spec // with its defaults
	Of       Inspection
	Attempts []Inspection   // of the neck
	Before   *Verdict       // of the newest attempt before it that was judged, nil where there is none
	Work     []ReworkAction // done on the neck and not taken back
	Doubted  bool           // readings of the neck are in doubt, or an outgoing audit holds it
	At       time.Time      // when that is asked
}

// Before is the newest attempt of a neck before one that was judged; ok is false where there is none.
func Before(of Inspection, attempts []Inspection) (before Inspection, ok bool) {
	for _, a := range attempts {
		if a.Attempt < of.Attempt && a.State == Finished {
			before, ok = a, true
		}
	}
	return before, ok
}

// Values are the characteristics that are carried over: of the newest attempt that was judged before, what none of the work recorded since can have
// changed (see inspect.Carry). Nothing is where the specification or somebody demands the whole, no work was recorded before the attempt
// began, readings of the neck are in doubt, or it was measured by another revision, in another posture, for the other hand, or without readings. A value
// older than CarriedLongest, or from air that was drier or damper by more than laying.MostHumidity, is not carried.
func (o *CarryOver) Values() []inspect.Characteristic {
	before, ok := Before(o.Of, o.Attempts)
	v := o.Before
	if !ok || v == nil || o.Spec.Routine.Whole || o.Of.Whole || o.Doubted || v.Disposition == inspect.Remeasure || v.LastSeq == 0 ||
		v.Result.Spec != o.Spec.Name || v.Result.Revision != o.Spec.Revision || before.Posture != o.Of.Posture || before.Handed != o.Of.Handed {
		return nil
	}
	var works []inspect.Work
	inTime := false
	for _, a := range o.Work {
		if a.At.After(v.At) || o.sinceBegun(before, a.InspectionID) {
			works = append(works, inspect.Work{What: a.What, String: a.String})
			inTime = inTime || !a.At.After(o.Of.StartedAt)
		}
	}
	if !inTime {
		return nil
	}
	all := inspect.Carry(o.Spec, v.Result, inspect.CarriedFrom{Attempt: before.Attempt, At: v.At}, works)
	return slices.DeleteFunc(all, func(c inspect.Characteristic) bool { return !o.holds(*c.CarriedFrom) })
}

// sinceBegun reports that an inspection, by its ID, is an attempt or one after it: work recorded there is newer than what was measured before, whatever
// the clock says.
func (o *CarryOver) sinceBegun(attempt Inspection, id string) bool {
	return slices.ContainsFunc(o.Attempts, func(a Inspection) bool { return a.ID == id && a.Attempt >= attempt.Attempt })
}

// holds reports that the neck is still as it was when a value was measured, as far as time and air tell.
func (o *CarryOver) holds(from inspect.CarriedFrom) bool {
	if o.At.Sub(from.At) > CarriedLongest {
		return false
	}
	i := slices.IndexFunc(o.Attempts, func(a Inspection) bool { return a.Attempt == from.Attempt })
	if i < 0 {
		return false
	}
	was, is := o.Attempts[i].Climate.HumidityPercent, o.Of.Climate.HumidityPercent
	return was == nil || is == nil || math.Abs(*was-*is) <= laying.MostHumidity
}

// Carried are the characteristics of a result that were carried over.
func Carried(res *inspect.Result) []inspect.Characteristic {
	var all []inspect.Characteristic
	for _, c := range res.Characteristics {
		if c.CarriedFrom != nil {
			all = append(all, c)
		}
	}
	return all
}
