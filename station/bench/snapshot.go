package bench

import (
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// Stage is what the bench is doing.
type Stage string

// The stages of the bench. NoBatch: a batch must be chosen. Idle: waiting for a serial number. Measuring: a routine is
// in progress, or a point is chosen to be measured again. Decided: the verdict is on the page and recorded; rework may be recorded; the next serial number may come.
// PersonDecides: the routine is complete, something is undecided or not measured, and a person must decide.
const (
	NoBatch       Stage = "no batch"
	Idle          Stage = "idle"
	Measuring     Stage = "measuring"
	Decided       Stage = "decided"
	PersonDecides Stage = "person decides"
)

// Snapshot is everything the bench page shows at one moment. It is immutable once published. Lengths are mm.
type Snapshot struct {
	Version   uint64 // rises with every change
	Scene     uint64 // rises when something else is on the bench or is asked: what a command is held to, see Seen
	Stage     Stage
	Batch     *batch.Batch
	Counts    batch.Counts
	Inspector string // who is at the bench, "" for nobody
	SignsOn   bool   // people sign on
	Left      string // sentence: why nobody is at the bench any more, "" where somebody is or nobody was
	Climate   inspect.Climate
	Gauges    []GaugeLine

	// The neck on the bench; zero when Stage is NoBatch or Idle.
	Serial     string
	Inspection *batch.Inspection
	Points     []routine.Point // in the routine's order
	Done, Of   int             // points with a reading or marked as not to be measured, and all that are to come, the closing readings included
	Next       int             // index into Points, -1 when none is asked for
	Purpose    routine.Purpose // why the point is asked for
	Because    string          // sentence: why it is asked for out of turn, or what no longer counts; "" when it is simply next
	Laying     int             // of the inspection, in which crowns are read now
	OwnStep    string          // sentence about a step that the neck has, "" when none
	Taken      int             // readings committed to this inspection, taken-back ones included
	Result     *inspect.Result // of the readings so far, nil before the first
	Readings   *inspect.Readings
	Verdict    *batch.Verdict           // once recorded
	RodTaught  string                   // sentence: what the rod model knows of this neck and model
	Carried    []inspect.Characteristic // that the attempt carries over from one before
	Rework     []batch.ReworkAction     // done since the newest verdict, while they can be taken back
	AfterRod   bool                     // the attempt asks for relief before anything else, for the rod was turned
	Following  []int                    // the strings that are asked for after it, once relief is right
	Round      int                      // 1, or 2 and 3 while undecided points are measured again
	Doubt      string                   // sentence: which readings of this neck are in doubt and what to do; "" when none
	Hold       string                   // sentence: which finding of an outgoing audit holds this neck and what to do; "" when none

	Sweep *Sweep // a sweep of the carriage that is asked for or runs, else nil
	Swept *Swept // what the newest sweep of this inspection gave, nil before one

	Leaves    *Leaves // those to tap where a set of leaves is asked for, else nil
	NeedsFeet bool    // where the feet of the beam stand that is asked for is to be entered first

	SidesFree    bool     // no reading knows sides yet: which hand the neck is for may be chosen
	Typing       []string // prefixes of the gauges that type like a keyboard, "" for one without
	Live         Live
	Question     *Question // a reading that waits for an answer, else nil
	Check        *Check
	Alarms       []batch.Alarm // that nobody has acknowledged: of the batch on the bench and of gauges
	AllAlarms    int           // that nobody has acknowledged: of every batch and of gauges
	Study        *Study        // the gauge study on the bench, nil when none
	Waiting      Waiting
	Concerns     []Concern // about the record and its copies, the gravest first
	JudgedInHour int       // inspections judged in this hour by the shop's clock
	Notice       *Notice   // newest message to the inspector
	Sounds       []Heard   // the newest sounds, the newest last
	Demo         bool      // simulated gauges: the page offers to press their data keys
	Working      string    // demo: sentence while necks are inspected unattended, else ""
}

// GaugeLine is one gauge in the strip.
type GaugeLine struct {
	ID, Name string
	State    string // live, waiting, silent, garbled, unplugged, missing, busy, denied, low battery, locked out
	Since    time.Time
	Words    string // e.g. "carriage indicator live, zeroed 07:12"
	ToDo     string // empty when all is well
	How      string // what a person does to have its reading taken, e.g. "press its data key"
	ByEye    bool   // it has no line
	Locked   bool   // out of verdicts
	Due      bool   // a check would let it in again

	LockedWhy   string    // "" while it is in verdicts
	LockedSince time.Time // zero while it is in verdicts, and before its first check
}

// Live is the last frame of the gauge that is asked for.
type Live struct {
	GaugeID string
	Name    string
	Fresh   bool    // a number came within the last second (stream) or since the point was asked for (key)
	MM      float64 // corrected; valid when Has
	Has     bool
	Status  string   // overload, low battery ...
	Lower   *float64 // tolerance of the characteristic this point decides alone (action, nut height), else nil
	Target  *float64
	Upper   *float64
	Seq     uint64 // rises with every frame
}

// Question is a questioned reading, a rework step that was recorded already, or a neck that needs no further inspection: nothing is done
// until a person answers.
type Question struct {
	Point  batch.Point
	Words  string // what was measured
	MM     float64
	Cents  bool   // MM is in cents
	Bounce bool   // the question is whether the data key bounced
	Sure   bool   // a crown was measured again as before: is it so?
	Rework bool   // it is about a rework step; Point and MM are nothing
	Again  bool   // it is about inspecting a neck once more; Point and MM are nothing
	Asks   string // e.g. "The unit changed from mm to in since the last reading. Use 0.310 mm?"
}

// Check is a gauge check in progress; the gauge's next readings belong to it.
type Check struct {
	GaugeID string
	Name    string
	Step    string // "zero" or "master"
	Words   string // what to do now, e.g. "Stand the carriage on the flat reference and press its data key."

	MasterMM  float64  // nominal of the master asked for, 0 at the zero
	Place, Of int      // this step's number, and how many there are
	After     string   // why the check is needed
	Then      []string // names of the gauges to be checked after it
}

// Notice is a message to the inspector. A refusal never loses anything.
type Notice struct {
	ID      uint64
	Refused bool
	Text    string
	At      time.Time
}
