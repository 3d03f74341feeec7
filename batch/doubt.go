package batch

import (
	"slices"
	"time"

	"sagitta/inspect"
)

// Doubt is one inspection in doubt, and what cast it. It is worked out from the record and nothing of the inspection is changed
// by it.
type Doubt struct {
	ID           string
	Neck         NeckRow
	BatchClosed  time.Time // zero while the batch is open
	InspectionID string
	Attempt      int
	Inspector    string
	InspectedAt  time.Time           // start of the inspection
	Disposition  inspect.Disposition // of its newest verdict, "" before one
	GaugeID      string              // whose readings are in doubt
	GaugeName    string
	Cause        Cause
	Points       []Point                  // of the readings in doubt that stand, in the order in which they were taken
	RestOn       []inspect.Characteristic // limited characteristics of its newest verdict that rest on those points
	Cleared      Clearing
	ClearedAt    time.Time
	ClearedBy    string
	Reason       string // of a person's clearing
}

// Clearing is what ended a doubt.
type Clearing string

// A doubt stands until its readings were replaced in the same inspection, a later attempt was judged, or a person says
// with a reason that it does not matter.
const (
	ClearedMeasured Clearing = "measured again"
	ClearedAttempt  Clearing = "inspected again"
	ClearedPerson   Clearing = "cleared"
)

// DoubtFilter picks doubts; empty fields pick all.
type DoubtFilter struct {
	GaugeID, BatchID, NeckID string
	Standing                 bool // only those that stand
}

// RestOn returns the limited characteristics of a result, in its order, that the points given take part in.
func RestOn(s *inspect.Spec, result *inspect.Result, points []Point) []inspect.Characteristic {
	if result == nil {
		return nil
	}
	var resting []inspect.Characteristic
	for _, c := range result.Characteristics {
		if c.Zone == inspect.NoLimit {
			continue
		}
		if slices.ContainsFunc(inspect.Involved(s, c), func(ref inspect.PointRef) bool { return slices.Contains(points, PointOf(ref)) }) {
			resting = append(resting, c)
		}
	}
	return resting
}
