package tell

import "sagitta/batch"

// Meaning is a count of a batch with what it means.
type Meaning struct {
	Name  string
	Count int
	Means string
}

// Meanings are a batch's counts with what each means.
func Meanings(c batch.Counts) []Meaning {
	return []Meaning{
		{"Planned", c.Planned, "necks planned when the batch was opened; 0 is open-ended"},
		{"Registered", c.Registered, "serial numbers in the batch"},
		{"Inspected", c.Inspected, "necks with at least one verdict other than remeasure"},
		{"Inspections", c.Inspections, "finished attempts, repeated ones after rework included"},
		{"Being inspected", c.InProgress, "on the bench, or parked to settle"},
		{"In doubt", c.InDoubt, "rest on what may be wrong, as the sheet Necks says; called back"},
		{"Held", c.Held, "passed or released, then found nonconforming in an outgoing audit; inspect again"},
	}
}

// YieldNote says how a yield's interval is meant and what counts in it.
const YieldNote = "Wilson intervals: what the true rate may be, from this many necks. A neck released by concession counts in neither yield."
