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
	CarriedInto  int                      // attempt whose verdict carried values over that rest on those points, and RestOn and Disposition are of; 0 for none
	Impact       Impact                   // what it means, where that was asked for and it stands
	Cleared      Clearing
	ClearedAt    time.Time
	ClearedBy    string
	Reason       string // of a person's clearing; what a check found
}

// Clearing is what ended a doubt.
type Clearing string

// A doubt stands until its readings were replaced in the same inspection, a later attempt was judged that carried nothing over
// that rests on them, or a person says with a reason that it does not matter. That of a drop ends with the gauge's next check: it proves the gauge, by its zero's
// shift as found, or it failed and casts a doubt of its own.
const (
	ClearedMeasured Clearing = "measured again"
	ClearedAttempt  Clearing = "inspected again"
	ClearedPerson   Clearing = "cleared"
	ClearedProved   Clearing = "proved"
	ClearedFailed   Clearing = "failed check"
)

// DoubtFilter picks doubts; empty fields pick all.
type DoubtFilter struct {
	GaugeID, BatchID, NeckID, CauseID string
	Standing                          bool // only those that stand
	Impact                            bool // work out what each that stands means
}

// NeckDoubts names the doubts that a neck is in by their IDs.
type NeckDoubts struct {
	NeckID string
	Doubts []string
}

// ImpactOn is what the doubts that stand mean together for each neck in doubt, by its ID: it would fail where one of them fails it, and still
// conforms where it does under each.
func ImpactOn(doubts []Doubt) map[string]ImpactOutcome {
	on := map[string]ImpactOutcome{}
	for i := range doubts {
		d := &doubts[i]
		if d.Cleared != "" {
			continue
		}
		if was, known := on[d.Neck.ID]; !known || slices.Index(ImpactOutcomes, d.Impact.Outcome) < slices.Index(ImpactOutcomes, was) {
			on[d.Neck.ID] = d.Impact.Outcome
		}
	}
	return on
}

// StillConforming are the necks in doubt that still conform, with the doubts that they are in, in the order of the list.
func StillConforming(doubts []Doubt) []NeckDoubts {
	on, at := ImpactOn(doubts), map[string]int{}
	var group []NeckDoubts
	for i := range doubts {
		d := &doubts[i]
		if d.Cleared != "" || on[d.Neck.ID] != StillConforms {
			continue
		}
		if _, known := at[d.Neck.ID]; !known {
			at[d.Neck.ID] = len(group)
			group = append(group, NeckDoubts{NeckID: d.Neck.ID})
		}
		g := &group[at[d.Neck.ID]]
		g.Doubts = append(g.Doubts, d.ID)
	}
	return group
}

// RestOn returns the limited characteristics of a result, in its order, that the points given take part in.
func RestOn(s *inspect.Spec, result *inspect.Result, points []Point) []inspect.Characteristic {
	if result == nil {
		return nil
	}
	var resting []inspect.Characteristic
	for _, c := range result.Characteristics {
		if c.Zone != inspect.NoLimit && RestsOn(s, c, points) {
			resting = append(resting, c)
		}
	}
	return resting
}

// RestsOn reports that one of the points given takes part in a characteristic.
func RestsOn(s *inspect.Spec, c inspect.Characteristic, points []Point) bool {
	return slices.ContainsFunc(inspect.Involved(s, c), func(ref inspect.PointRef) bool { return slices.Contains(points, PointOf(ref)) })
}
