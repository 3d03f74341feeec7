package tell

import (
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Story says where a neck stands and what it went through.
func Story(story batch.NeckStory, doubts []batch.Doubt, hold *batch.OutgoingFinding) string {
	words := story.Serial
	switch {
	case len(story.Inspections) == 0:
		return words + " has not been inspected yet."
	case story.Disposition == "":
		words += " has no verdict yet"
	default:
		words += fmt.Sprintf(" %s (newest verdict %s)", Stands(story.Disposition), Day(story.Last))
	}
	steps := "no rework step"
	if n := len(story.Rework); n > 0 {
		steps = Count(n, "rework step")
	}
	words += fmt.Sprintf("; %s, %s", Count(len(story.Inspections), "inspection"), steps)
	switch {
	case slices.ContainsFunc(doubts, func(d batch.Doubt) bool { return d.Cleared == "" }):
		words += "; it is in doubt and may not ship"
	case slices.ContainsFunc(doubts, func(d batch.Doubt) bool { return d.Cleared != batch.ClearedPerson }):
		words += "; it was in doubt and is so no longer"
	case len(doubts) > 0:
		words += "; it was in doubt and has been cleared"
	default:
		words += "; never in doubt"
	}
	if hold != nil {
		words += "; held: " + Hold(*hold)
	}
	return words + "."
}

// AttemptBegan says who began an inspection, where and in which air.
func AttemptBegan(in batch.Inspection) string {
	words := fmt.Sprintf("Attempt %d began: inspected by %s", in.Attempt, in.Inspector)
	if in.Station != "" {
		words += " at station " + in.Station
	}
	if v := in.Climate.TemperatureC; v != nil {
		words += ", " + inspect.Number(*v, 1, false) + " °C"
	}
	if v := in.Climate.HumidityPercent; v != nil {
		words += ", humidity " + inspect.Number(*v, 0, false) + " % RH"
	}
	if in.Posture != "" {
		words += ", neck in " + in.Posture + " position"
	}
	if in.Handed != "" {
		words += ", " + in.Handed + "-handed"
	}
	return words + "."
}

// AttemptLeft says that an inspection was given up or parked, and why.
func AttemptLeft(in batch.Inspection) string {
	words := fmt.Sprintf("Attempt %d was parked", in.Attempt)
	if in.State == batch.Abandoned {
		words = fmt.Sprintf("Attempt %d was given up", in.Attempt)
	}
	if in.StateReason != "" {
		words += ": " + in.StateReason
	}
	return words + "."
}

// CheckInForce says which check of a gauge its readings rested on.
func CheckInForce(c batch.GaugeCheck) string {
	return fmt.Sprintf("Check in force: %s by %s, %s: %s.", moment(c.At), c.By, Checked(c.Good), strings.TrimSuffix(Minus(c.Why), "."))
}

// CertificateThen says which calibration certificate was the newest when a gauge was used; none where it was issued later.
func CertificateThen(c batch.Certificate) string {
	return fmt.Sprintf("Calibration certificate: %s of %s, issued %s, due %s.", c.Number, c.Laboratory, Day(c.Issued), Day(c.Due))
}

// CertificateNow says which certificate a gauge's page names, for want of one that was kept.
func CertificateNow(g batch.Gauge) string {
	switch {
	case g.Certificate == "":
		return "No calibration certificate is on file."
	case g.CertificateDue.IsZero():
		return "Calibration certificate on file now: " + g.Certificate + "."
	}
	return fmt.Sprintf("Calibration certificate on file now: %s, due %s.", g.Certificate, Day(g.CertificateDue))
}

// ReworkDone says who did which step of rework, and what it was predicted to give.
func ReworkDone(a batch.ReworkAction, in unit.Unit) string {
	words := a.By + " did rework: " + ReworkStep(a, in)
	if a.PredictedMM != nil {
		words += ", predicted relief " + in.Length(*a.PredictedMM, in.Digits(0), false)
	}
	return words + "."
}

// DoubtEnds says what became of a doubt of a neck, "" while it stands.
func DoubtEnds(d batch.Doubt) string {
	switch d.Cleared {
	case batch.ClearedPerson:
		return fmt.Sprintf("%s cleared it of doubt: %s.", d.ClearedBy, strings.TrimSuffix(d.Reason, "."))
	case batch.ClearedAttempt:
		return "No longer in doubt: it was inspected again."
	case batch.ClearedMeasured:
		return "No longer in doubt: the readings were measured again."
	case batch.ClearedProved:
		return "No longer in doubt: " + DoubtAnswered(d) + "."
	case batch.ClearedFailed:
		return "The doubt goes on: " + DoubtAnswered(d) + "."
	}
	return ""
}

// Drawn says that a neck was drawn for an outgoing audit.
func Drawn(d batch.DrawnIn) string {
	return fmt.Sprintf("Drawn for the outgoing audit of batch %s by %s: one of %d of %d necks.", d.BatchNumber, d.By, d.Size(), d.LotSize)
}

// FoundInAudit says what an outgoing audit found on a neck.
func FoundInAudit(f batch.OutgoingFinding) string {
	found := "nonconforming"
	if f.Conforms {
		found = "conforming"
	}
	words := fmt.Sprintf("Outgoing audit: %s found it %s", f.By, found)
	if f.InspectionID != "" {
		words += ", by its inspection after the draw"
	}
	if f.Note != "" {
		words += ": " + strings.TrimSuffix(f.Note, ".")
	}
	return words + "."
}

// AuditEnded says how an outgoing audit ended.
func AuditEnded(a batch.OutgoingAudit) string {
	ended := "signed"
	if a.State == batch.OutgoingGivenUp {
		ended = "given up"
	}
	return fmt.Sprintf("The outgoing audit of batch %s was %s by %s. %s", a.BatchNumber, ended, a.EndedBy, Outgoing(a))
}
