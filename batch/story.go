package batch

import (
	"time"

	"sagitta/inspect"
)

// Story is a neck's past as it comes from elsewhere: an older record, or the invention of a demonstration. It has verdicts
// and no readings.
type Story struct {
	Serial       string
	RegisteredAt time.Time // zero: the start of its first attempt
	Attempts     []StoryAttempt
}

// StoryAttempt is one inspection of a story. Its last verdict ends it and is not remeasure.
type StoryAttempt struct {
	Inspector string
	Station   string // empty: the record's own
	StartedAt time.Time
	Posture   string
	Handed    string
	Climate   inspect.Climate
	Gauges    []GaugeUse
	Verdicts  []Verdict      // oldest first; ID, InspectionID and LastSeq are the record's to give
	Rework    []ReworkAction // done after it, oldest first; ID, NeckID and InspectionID are the record's to give
}

// GaugeUse says which gauge gave an inspection's readings of one kind.
type GaugeUse struct {
	Kind    Kind   `json:"kind"`
	GaugeID string `json:"gauge"`
}

// GaugeOf returns the gauge that a characteristic's readings came from, "" where none is known: that of the
// kind of point that decides the characteristic most.
func GaugeOf(characteristic string, uses []GaugeUse) string {
	for _, point := range inspect.KindOf(characteristic).Points {
		for _, u := range uses {
			if string(u.Kind) == point {
				return u.GaugeID
			}
		}
	}
	return ""
}

// Import says where a set of necks came from.
type Import struct {
	ID      string
	BatchID string
	Origin  Origin
	Source  string // the file's name, or what invented it
	SHA256  string // of the file, hex
	At      time.Time
	By      string
	Necks   int
	Checks  *ImportChecks // nil of one from before this was worked out
}

// ImportChecks is what the checks of the gauges that a set of necks names tell of them, as the record knew them when it was taken in.
type ImportChecks struct {
	Gauges  int    // named by the set; 0: nothing is known of any
	Marked  Marked // put in doubt by checks that failed
	Unknown []UncheckedSpan
}

// UncheckedSpan is where inspections lie that no check of their gauge tells of: before its first check on record and after its last, each
// zero where none lies there; both zero: it has no check.
type UncheckedSpan struct {
	Gauge         string // its name
	Before, After time.Time
}

// Origin is the kind of place that an Import's necks came from.
type Origin string

// Imported necks were measured and judged elsewhere; invented ones are a demonstration's. Neither has readings.
const (
	Imported Origin = "imported"
	Invented Origin = "invented"
)
