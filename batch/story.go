package batch

import (
	"slices"
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

// GaugeOf returns the gauge that a characteristic's readings came from, "" where none is known: the first of the kinds
// that the characteristic is made of.
func GaugeOf(characteristic string, uses []GaugeUse) string {
	for _, u := range uses {
		if slices.Contains(madeOf(characteristic), u.Kind) {
			return u.GaugeID
		}
	}
	return ""
}

// madeOf is the kinds of reading that decide a characteristic.
func madeOf(characteristic string) []Kind {
	switch characteristic {
	case "action", "clearance", "clearance_margin":
		return []Kind{ActionHeight}
	case "nut_height":
		return []Kind{NutHeight}
	case "pitch":
		return []Kind{Pitch}
	}
	return []Kind{Crown, BeamReading, LeafPasses, LeafStops}
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
}

// Origin is the kind of place that an Import's necks came from.
type Origin string

// Imported necks were measured and judged elsewhere; invented ones are a demonstration's. Neither has readings.
const (
	Imported Origin = "imported"
	Invented Origin = "invented"
)
