package batch

import (
	"math"
	"time"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Inspection is one attempt at a neck. It is begun once; what happens to it later is kept as events and verdicts.
type Inspection struct {
	ID          string
	NeckID      string
	Serial      string
	BatchID     string
	BatchNumber string
	Attempt     int // 1, 2, 3 ...
	Inspector   string
	Station     string
	StartedAt   time.Time
	State       InspectionState // from the newest event
	StateAt     time.Time
	StateReason string          // why it was parked or abandoned
	Climate     inspect.Climate // as noted at the start
	Posture     string          // "playing" or "flat"
	Handed      string          // "left" or empty
	Whole       bool            // somebody had everything measured: nothing is carried over
}

// Counts says whether a verdict on the inspection stands: one that ended it does while it is ended. Opened again to take a
// reading back, or given up after that, the inspection has no verdict until its next.
func (in Inspection) Counts(d inspect.Disposition) bool {
	return in.State == Finished || d == inspect.Remeasure
}

// InspectionState is where an inspection stands.
type InspectionState string

// Open inspections are resumed where they were; parked ones wait for the neck to settle; finished ones have a verdict.
const (
	Open      InspectionState = "open"
	Parked    InspectionState = "parked"
	Finished  InspectionState = "finished"
	Abandoned InspectionState = "abandoned"
)

// RulerU is the standard uncertainty, mm, of a string's height that is typed and tells none of its own: a ruler's, which is
// judged to 0.1 mm (expanded, k = 2); common practice, no source.
const RulerU = 0.05

// SixtyFourthU is the standard uncertainty, mm, of a string's height that is read from a ruler to a 64th of an inch and tells none of its own: half a
// 64th either way, even likely all over (JCGM 100:2008, 4.3.7).
var SixtyFourthU = unit.SixtyFourth.To(1) / math.Sqrt(12)

// Kind is what a reading measures.
type Kind string

// The kinds of reading a routine asks for.
const (
	Crown         Kind = "crown"          // a fret's crown height on a track, mm
	ActionHeight  Kind = "action"         // a string over a fret, mm
	NutHeight     Kind = "nut height"     // a string over fret 1, mm
	Pitch         Kind = "pitch"          // a string's deviation from its target, cents
	PitchDeclared Kind = "pitch declared" // the inspector confirms that the instrument is at pitch; value 1
	BeamReading   Kind = "beam"           // a beam on two feet's reading on a track, mm
	LeafPasses    Kind = "leaf passes"    // thickest leaf that passes on a track at a fret, mm
	LeafStops     Kind = "leaf stops"     // thinnest leaf that does not pass, mm
	Position      Kind = "position"       // a carriage's place along the neck, by a position encoder, mm; no routine asks for it alone
	Closing       Kind = "closing"        // a crown measured once more at the end of a profile, mm; it is compared and takes no part
	ShapeStep     Kind = "shape step"     // a step of a track from fret to held fret, mm, that led to measuring again; no reading
	Sweep         Kind = "sweep"          // one pass of a carriage along a track: its raw bytes; value is how many crowns it gave
)

// IsLeaf says that such a reading is the thickness of a feeler leaf.
func (k Kind) IsLeaf() bool { return k == LeafPasses || k == LeafStops }

// Point is one place to measure. Fields that do not apply are empty.
type Point struct {
	Kind     Kind
	Track    string
	Fret     int
	String   int
	HeldFret int
}

// Reading is one acknowledged reading with everything needed to trace it back to the gauge's bytes.
// Readings are never changed: undo appends a row that supersedes one and carries no value.
type Reading struct {
	ID           string
	InspectionID string
	Seq          int64 // rising in one inspection
	Point        Point
	Round        int // 1; 2 and 3 when an undecided point is measured again (rounds are averaged)
	Laying       int // 1, 2, 3 ... in its inspection: of a crown, see laying.go; 0 where it does not depend on it, and in rows of before
	At           time.Time
	Value        float64 // mm (cents for pitch), corrected: unit, sense, calibration, reference, zero
	U            float64 // standard uncertainty brought by the gauge or typed, mm; 0: the specification's applies
	URepeat      float64 // the part of U that averaging reduces, mm (Gauge.URepeat); 0: all of it
	Withdrawn    bool    // this row only takes back the one it supersedes
	Supersedes   string  // ID of the reading it replaces or takes back
	By           string  // inspector
	Reason       string  // of a superseding row, or of a held reading that was accepted

	// Where it came from.
	GaugeID   string // empty: typed by hand
	CheckID   string // the gauge check in force
	Decoder   string // name@revision
	Raw       []byte // frame as sent
	Offset    int64  // of the frame's first byte, in bytes since the port was opened
	Sent      string // digits as sent, with sign
	Unit      string // unit as sent
	Decoded   float64
	FeetMM    [2]float64 // beam on two feet: x of its feet when it was read; zero otherwise
	PlungerMM float64
}

// Verdict is the judgement of one inspection's readings at one moment; the newest counts.
type Verdict struct {
	ID           string
	InspectionID string
	At           time.Time
	Result       *inspect.Result
	Disposition  inspect.Disposition
	DecidedBy    string // a person's name where a person decided, else empty
	Reason       string
	LastSeq      int64 // Seq of the newest reading it rests on, 0 if none; a later one is news to it
}

// ReworkAction is something done to a neck between two inspections.
type ReworkAction struct {
	ID            string
	NeckID        string
	InspectionID  string // the inspection whose advice it follows
	At            time.Time
	By            string
	What          string  // the advice's word: truss rod, fret level, nut slots, action, pitch, repairer
	Turns         float64 // unsigned, for the truss rod
	Direction     string  // "tighten" or "loosen"
	String        int     // 0: does not apply or all
	Fret          int
	Track         string
	AmountMM      float64 // taken off a crown or slot, or saddle move (up positive)
	PredictedMM   *float64
	Note          string
	ReliefBefore  *float64 // mean relief over the limited tracks at the inspection it follows, mm
	ReliefBeforeU float64
	Supersedes    string // ID of the step that no longer counts; "" for none
	Withdrawn     bool   // this row only says that
}

// Event is one entry of the record's trail.
type Event struct {
	Seq    int64
	At     time.Time
	By     string
	What   string // e.g. "batch opened"
	About  string // e.g. the batch's number
	Detail string
	Hash   string // SHA-256 over the previous hash and this entry, hex
}
