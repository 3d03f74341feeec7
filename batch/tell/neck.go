package tell

import (
	"sagitta/batch"
	"sagitta/inspect"
)

// State says how far an inspection is: one that was abandoned is given up.
func State(s batch.InspectionState) string {
	if s == batch.Abandoned {
		return "given up"
	}
	return string(s)
}

// standing says of one neck, and of many, where they stand after a verdict.
var standing = map[inspect.Disposition][2]string{
	inspect.Pass:       {"passed", "passed"},
	inspect.Concession: {"was released by concession", "were released by concession"},
	inspect.Rework:     {"waits for rework", "wait for rework"},
	inspect.Repair:     {"waits for repair", "wait for repair"},
	inspect.Scrap:      {"is scrap", "are scrap"},
	inspect.Remeasure:  {"must be measured again", "must be measured again"},
}

// Stands says where a neck stands after its newest verdict: "waits for rework".
func Stands(d inspect.Disposition) string { return standing[d][0] }

// Where says where a neck is to be looked for, from what was decided about it last.
func Where(d batch.Doubt) string {
	switch {
	case d.Neck.State == batch.Open:
		return "on the bench"
	case d.Neck.State == batch.Parked:
		return "parked at the bench"
	}
	where := "at the bench, without a verdict"
	switch d.Neck.Disposition {
	case inspect.Pass:
		where = "passed on"
	case inspect.Concession:
		where = "passed on by concession"
	case inspect.Rework:
		where = "back on the line for rework"
	case inspect.Repair:
		where = "with the repairer"
	case inspect.Scrap:
		where = "scrap, not to be used"
	case inspect.Remeasure:
		where = "waiting to be measured again"
	}
	if !d.BatchClosed.IsZero() {
		where += "; its batch was closed on " + Day(d.BatchClosed) + " and may have left the house"
	}
	return where
}
