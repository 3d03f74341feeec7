package batch

import "time"

// AlarmKind is what an alarm is about.
type AlarmKind string

// The kinds of alarm. SignalAlarm: a control chart's test fires. YieldAlarm: the first-pass yield lies below the plan by
// more than chance. DriftAlarm: a gauge's checks move. UndecidedAlarm: verdict after verdict is undecided.
const (
	SignalAlarm    AlarmKind = "signal"
	YieldAlarm     AlarmKind = "yield"
	DriftAlarm     AlarmKind = "gauge drift"
	UndecidedAlarm AlarmKind = "undecided"
)

// Alarm asks people to look at something. It stands until somebody acknowledges it by name, with a note.
type Alarm struct {
	ID             string
	At             time.Time
	Kind           AlarmKind
	Subject        string // what it is about, the same for the same matter: one open alarm each
	BatchID        string // "" for a gauge's
	BatchNumber    string
	GaugeID        string // "" for a batch's
	About          string // the characteristic of a signal, as the batch page names it in its address
	Serial         string // neck at which it was raised, "" for a gauge's
	Seen           int    // inspected necks of the batch, or checks of the gauge, when it was raised
	Words          string // sentence: what was seen
	LookAt         string // sentence: what to look at
	AcknowledgedAt time.Time
	AcknowledgedBy string
	Note           string
}

// QuietFor is how many more necks (or checks) must be seen after an alarm was raised before the same matter raises
// another one.
const QuietFor = 10

// ChartBase states which points a batch's control limits are computed from, counted from 1 in the order of inspection,
// both ends included.
type ChartBase struct {
	First, Last int
	By          string // "" for the usual base
	At          time.Time
	Reason      string
}

// UsualBase is how many points the limits of a control chart are computed from unless others are stated: common
// practice, no source.
const UsualBase = 25
