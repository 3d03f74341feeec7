package batch

import (
	"fmt"
	"time"

	"sagitta/batch/sampling"
)

// OutgoingState is how far an outgoing audit is.
type OutgoingState string

// An audit is open until a quality manager signs it, which accepts or rejects the lot, or gives it up. OutgoingBetween, under
// reduced inspection only: more were nonconforming than the acceptance number and fewer than the rejection number; the lot
// is accepted.
const (
	OutgoingOpen     OutgoingState = "open"
	OutgoingAccepted OutgoingState = "accepted"
	OutgoingBetween  OutgoingState = "between"
	OutgoingRejected OutgoingState = "rejected"
	OutgoingGivenUp  OutgoingState = "given up"
)

// Stops says whether nothing of a lot may ship while the audit that it stands under is so: before it is signed, and after it
// rejected the lot.
func (s OutgoingState) Stops() bool { return s == OutgoingOpen || s == OutgoingRejected }

// OutgoingAudit looks at a random sample of a batch's necks once more before they ship. The lot is all of its necks that
// might ship when the sample was drawn; the plan is one of MIL-STD-105E, single sampling.
type OutgoingAudit struct {
	ID          string
	At          time.Time // of the draw
	By          string    // who drew
	BatchID     string
	BatchNumber string
	Model       string // the specification's name, whose lots follow one another
	AQL         float64
	Level       string
	Severity    sampling.Severity
	Proposed    sampling.Severity // by the switching rules, at the draw
	Corrected   bool              // By says that the cause of the rejections before it was put right
	Again       bool              // the batch's lot was rejected before: it does not count for the switching rules
	Plan        sampling.Plan
	Seed        string         // of the draw; see sampling.Draw
	Lot         []string       // serial numbers that might ship at the draw; read by DB.OutgoingAudit only
	LotSize     int            // how many
	Necks       []OutgoingNeck // drawn, in the order of their serial numbers; likewise

	State         OutgoingState
	Nonconforming int // necks found nonconforming so far
	Found         int // necks looked at so far
	EndedAt       time.Time
	EndedBy       string
	Note          string
	MayReduce     bool        // the other conditions for reduced inspection hold after it: see sampling.Lot
	Unsteady      bool        // production was not steady
	Release       *LotRelease // of a lot that it rejected; nil: none
}

// LotRelease states what was done with a rejected lot, so that another sample may be drawn from it though not every neck was
// inspected again. It is never changed.
type LotRelease struct {
	At   time.Time
	By   string // a quality manager
	Done string // in words
}

// Size is how many necks the sample holds: the plan's, or the whole lot where that is smaller.
func (a OutgoingAudit) Size() int { return min(a.Plan.N, a.LotSize) }

// OutgoingNeck is a drawn neck with what was found on it.
type OutgoingNeck struct {
	NeckID  string
	Serial  string
	Finding *OutgoingFinding // the newest, nil before one
}

// OutgoingFinding is what an audit found on a neck. It is never changed; a newer one of the same neck replaces it. A neck
// whose newest finding is nonconforming is held: it may not ship until a verdict after the finding.
type OutgoingFinding struct {
	ID           string
	At           time.Time
	By           string
	AuditID      string
	NeckID       string
	Conforms     bool
	Note         string
	InspectionID string // the inspection it rests on, "" where the neck was looked at by hand
}

// Sealed says whether a signature about the audit's batch is of the audit: of its result, or of what was done with its lot.
func (a OutgoingAudit) Sealed(g Signature) bool {
	return g.Meaning == SignAudit && (g.At.Equal(a.EndedAt) || a.Release != nil && g.At.Equal(a.Release.At))
}

// DrawnIn is an audit that a neck was drawn in, with what was found on it, nil before it was looked at.
type DrawnIn struct {
	OutgoingAudit
	Finding *OutgoingFinding
}

// UsualAQL and UsualLevel are offered for a model without an audit: common practice, no source.
const (
	UsualAQL   = 1.0
	UsualLevel = "II"
)

// Switching says how severely the next lot of a model is inspected at an AQL, after the model's audits in the order of
// their draws. Open audits, those given up, lots shown again after a rejection and those of another AQL do not count.
func Switching(audits []OutgoingAudit, aql float64) (sampling.Standing, error) {
	outcomes := map[OutgoingState]sampling.Outcome{OutgoingAccepted: sampling.Accepted, OutgoingBetween: sampling.Marginally, OutgoingRejected: sampling.Rejected}
	var lots []sampling.Lot
	for _, a := range audits {
		if a.Corrected && a.AQL == aql && len(lots) > 0 && a.State != OutgoingGivenUp {
			lots[len(lots)-1].Corrected = true
		}
		if outcome, ended := outcomes[a.State]; ended && !a.Again && a.AQL == aql {
			lots = append(lots, sampling.Lot{Name: a.BatchNumber, Outcome: outcome, MayReduce: a.MayReduce, Unsteady: a.Unsteady})
		}
	}
	st, err := sampling.Switch(lots)
	if err != nil {
		return st, fmt.Errorf("the audits of this model at AQL %g: %w", aql, err)
	}
	return st, nil
}

// Judge is what a sample's nonconforming necks make of the lot.
func (a OutgoingAudit) Judge() OutgoingState {
	switch {
	case a.Nonconforming >= a.Plan.Reject:
		return OutgoingRejected
	case a.Nonconforming > a.Plan.Accept:
		return OutgoingBetween
	}
	return OutgoingAccepted
}
