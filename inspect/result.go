package inspect

import "sagitta/inspect/fit"

// Zone is where a value lies against its limits under the decision rule.
type Zone string

// The zones.
const (
	Conforming    Zone = "conforming"
	Nonconforming Zone = "nonconforming"
	Undecided     Zone = "undecided"
	NotMeasured   Zone = "not measured"
	NoLimit       Zone = "no limit"
)

// Rank orders zones by how much they need looking at: 4 nonconforming, 3 undecided, 2 not measured, 1 conforming, 0 for no
// limit.
func (z Zone) Rank() int {
	switch z {
	case Nonconforming:
		return 4
	case Undecided:
		return 3
	case NotMeasured:
		return 2
	case Conforming:
		return 1
	}
	return 0
}

// Disposition is what is to be done with a neck.
type Disposition string

// Pass, Rework, Repair and Remeasure are computed; Scrap and Concession are a person's.
const (
	Pass       Disposition = "pass"
	Rework     Disposition = "rework"
	Repair     Disposition = "repair"
	Remeasure  Disposition = "remeasure"
	Scrap      Disposition = "scrap"
	Concession Disposition = "concession"
)

// Result is the verdict on one neck's readings.
type Result struct {
	Serial          string           `json:"serial"`
	Spec            string           `json:"spec"`
	Revision        string           `json:"revision"`
	Conforms        bool             `json:"conforms"`
	Disposition     Disposition      `json:"disposition"`
	Why             string           `json:"why,omitempty"`      // the disposition's reason in one sentence
	RodNote         string           `json:"rod_note,omitempty"` // sentence: the last step of the rod went the wrong way, where no advice says it
	Characteristics []Characteristic `json:"characteristics"`
	Profile         []TrackProfile   `json:"profile"`
	Clearance       []Clearance      `json:"clearance"`
	Advice          []Advice         `json:"advice"`
}

// Characteristic is one value with its uncertainty, limits and zone. Value and U are nil where not measured.
type Characteristic struct {
	Name         string          `json:"name"`
	Track        string          `json:"track,omitempty"`
	String       int             `json:"string,omitempty"`
	Fret         int             `json:"fret,omitempty"`
	HeldFret     int             `json:"held_fret,omitempty"`
	Value        *float64        `json:"value,omitempty"`
	Unit         string          `json:"unit"` // "mm", "deg" or "cents"
	U            *float64        `json:"u,omitempty"`
	Method       string          `json:"method,omitempty"`      // relief: "profile", "beam", "leaves"
	Datum        *[2]int         `json:"datum,omitempty"`       // relief values
	IntervalMM   *[2]*float64    `json:"interval_mm,omitempty"` // leaves
	LeastSquares *fit.Parameters `json:"least_squares,omitempty"`
	StepMM       *float64        `json:"step_mm,omitempty"` // fret position: of the distance from the fret before
	Lower        *float64        `json:"lower,omitempty"`
	Target       *float64        `json:"target,omitempty"`
	Upper        *float64        `json:"upper,omitempty"`
	Zone         Zone            `json:"zone"`
	PConform     *float64        `json:"p_conform,omitempty"`
	CarriedFrom  *CarriedFrom    `json:"carried_from,omitempty"` // the inspection that it was measured in, nil where it was in this one
}

// TrackProfile holds one track's derived arrays, one entry per fret, nil where not defined; mm.
type TrackProfile struct {
	Track            string     `json:"track"`
	XMM              []float64  `json:"x_mm"`
	ReliefMM         []*float64 `json:"relief_mm"`
	BendMM           []*float64 `json:"bend_mm"`
	LevelDeviationMM []*float64 `json:"level_deviation_mm"`
	RockerMM         []*float64 `json:"rocker_mm"`
	ExtensionMM      []*float64 `json:"extension_mm"`
	ReliefMinMM      *float64   `json:"relief_min_mm,omitempty"` // smallest between the datum frets: a local back-bow where negative
	ReliefMinFret    int        `json:"relief_min_fret,omitempty"`
}

// Clearance is the least gap under one string held at one fret (0 is the nut), and the least margin left by the plucked envelope.
type Clearance struct {
	String       int      `json:"string"`
	HeldFret     int      `json:"held_fret"`
	LeastMM      *float64 `json:"least_mm"`
	AtFret       int      `json:"at_fret"`
	MarginMM     *float64 `json:"margin_mm,omitempty"`
	MarginAtFret int      `json:"margin_at_fret,omitempty"`
}

// Advice is one step of rework, in order. The first rests on what was measured. A later one waits: its amounts and
// predictions are estimates that take the steps before it as done and come out as predicted, to be measured again first.
type Advice struct {
	Order             int          `json:"order"`
	What              string       `json:"what"`         // repairer, pitch, measure again, truss rod, fret level, nut slots, action
	Do                string       `json:"do,omitempty"` // what is done, where the instrument asks for another work than the step's usual one
	Turns             *float64     `json:"turns,omitempty"`
	Direction         string       `json:"direction,omitempty"` // "tighten" or "loosen"
	PredictedReliefMM *float64     `json:"predicted_relief_mm,omitempty"`
	IntervalMM        *[2]float64  `json:"interval_mm,omitempty"`
	Why               string       `json:"why"`
	Harm              string       `json:"harm,omitempty"`  // what the step is predicted to take out of limits that conforms before it
	Waits             bool         `json:"waits,omitempty"` // after the steps before it
	Items             []AdviceItem `json:"items,omitempty"`
	Predicted         []Predicted  `json:"predicted,omitempty"`
	Cautions          []string     `json:"cautions,omitempty"`
	Defects           []string     `json:"defects,omitempty"` // found besides what the characteristics show, as remedies name them
}

// AdviceItem is one place to work at.
type AdviceItem struct {
	String   int      `json:"string,omitempty"`
	Fret     int      `json:"fret,omitempty"`
	Track    string   `json:"track,omitempty"`
	AmountMM *float64 `json:"amount_mm,omitempty"` // off a crown, or out of a slot as measured over fret 1; up (positive) or down at the saddle
	Cents    *float64 `json:"cents,omitempty"`     // pitch to be raised (positive) or lowered by
	Note     string   `json:"note,omitempty"`
}

// Predicted is what a limited characteristic is expected to be after a step, with the interval of two standard
// uncertainties: its own as measured and what is not known of the rod's effect. For the repairer's step it is what the repair
// has to reach. Before is its value before the step: measured for the first step, predicted for a later one.
type Predicted struct {
	Name       string     `json:"name"`
	Track      string     `json:"track,omitempty"`
	String     int        `json:"string,omitempty"`
	Fret       int        `json:"fret,omitempty"`
	HeldFret   int        `json:"held_fret,omitempty"`
	Before     *float64   `json:"before,omitempty"`
	Value      float64    `json:"value"`
	Unit       string     `json:"unit"`
	Interval   [2]float64 `json:"interval"`
	Lower      *float64   `json:"lower,omitempty"`
	Upper      *float64   `json:"upper,omitempty"`
	ZoneBefore Zone       `json:"zone_before,omitempty"`
	Zone       Zone       `json:"zone,omitempty"`  // after the step
	Front      bool       `json:"front,omitempty"` // the one number said of the step; the rod's is its PredictedReliefMM
}
