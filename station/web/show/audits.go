package show

import (
	"sagitta/batch"
	"sagitta/batch/tell"
)

// OutgoingShape is the word whose shape stands before an audit's state.
func OutgoingShape(state batch.OutgoingState) string {
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

// AuditLine is one audit in a table.
type AuditLine struct {
	batch.OutgoingAudit
	Words string
	Shape string // the word whose shape stands before it
}

func AuditLines(all []batch.OutgoingAudit) []AuditLine {
	lines := make([]AuditLine, len(all))
	for i, a := range all {
		lines[i] = AuditLine{a, tell.Outgoing(a), OutgoingShape(a.State)}
	}
	return lines
}
