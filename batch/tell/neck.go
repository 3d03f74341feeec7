package tell

import "sagitta/batch"

// State says how far an inspection is: one that was abandoned is given up.
func State(s batch.InspectionState) string {
	if s == batch.Abandoned {
		return "given up"
	}
	return string(s)
}
