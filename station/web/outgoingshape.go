package web

import "sagitta/batch"

// outgoingShape is the word whose shape stands before an audit's state.
func outgoingShape(state batch.OutgoingState) string {
	switch state {
	case batch.OutgoingAccepted, batch.OutgoingBetween:
		return "pass"
	case batch.OutgoingRejected:
		return "rework"
	case batch.OutgoingOpen:
		return "undecided"
	}
	return "not measured"
}
