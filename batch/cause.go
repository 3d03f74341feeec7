package batch

import "time"

// CauseKind is what cast a doubt.
type CauseKind string

// The kinds of a cause.
const (
	FailedCheck      CauseKind = "failed check"
	Dropped          CauseKind = "drop"        // a person said that the gauge fell or was knocked; its next check answers
	CertificateFound CauseKind = "certificate" // the laboratory found the gauge outside what is allowed
	ByHand           CauseKind = "by hand"     // a quality manager cast it over a range
)

// Cause is one thing that cast doubt on readings: on those taken after From and up to To. A record keeps it as a row of its
// own; the doubts that it cast refer to it.
type Cause struct {
	ID   string
	Kind CauseKind
	At   time.Time // when it came to light: of the check, the report, the certificate's entry, the person's word
	By   string    // who made, reported, entered or cast it
	// From is when the gauge was last proved, by what Proof says; by hand, where the range begins. Zero: nothing before proves
	// it, so that its first reading is in doubt too.
	From  time.Time
	Proof string    // ProofCheck, a certificate's number, or "" for nothing
	To    time.Time // when what was found was found; by hand, where the range ends
	Why   string    // a check's sentence, a certificate's number, a drop's detail, by hand the reason
	// After is what had made a failed check needed, one of the Check words; "" of every other kind.
	After string
	Found Found
	// NotJudged says of a drop that the gauge's next check passed and could not tell whether its zero had moved.
	NotJudged bool
	Over      DoubtRange // by hand: what it was cast over
}

// ProofCheck says that a gauge's check that passed proves it; see Cause.Proof.
const ProofCheck = "check"

// DoubtRange is what a person casts doubt over: the readings taken from one moment up to another, with a gauge, by an inspector, of
// a batch. Empty fields take in all.
type DoubtRange struct {
	From, To           time.Time
	GaugeID, GaugeName string
	Inspector          string
	BatchID, Batch     string // the batch's ID and number
}

// Marked counts what a cause puts in doubt: inspections, and the necks that are in doubt by them. A neck with a later attempt is not.
type Marked struct{ Necks, Inspections int }

// Found is the error that a cause found in its gauge at To, as it was found. What it means for a reading before To follows from
// when the error came: at one unknown moment after From (a jump) or little by little between From and To (a drift).
type Found struct {
	ShiftKnown bool            // the zero was compared with the one in force: false of a drop before its check, a certificate, a doubt by hand, and a check whose zero was not judged
	ShiftMM    float64         // by how much the readings taken last read too high at the zero, mm: the zero found less the zero in force
	Masters    []MasterReading // what it read on masters after its zero: ErrorMM is the deviation at NominalMM; none: not known
}

// Known says whether anything of the error is known.
func (f Found) Known() bool { return f.ShiftKnown || len(f.Masters) > 0 }
