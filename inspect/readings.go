package inspect

// Readings is everything measured on one neck. Heights are mm, already corrected (unit, sense, gauge, reference, zero).
// Any part may be missing: what can be computed is computed.
type Readings struct {
	Serial        string          `json:"serial"`
	Profile       []TrackReading  `json:"profile,omitempty"`
	Action        []HeightReading `json:"action,omitempty"`
	NutHeight     []HeightReading `json:"nut_height,omitempty"`
	Pitch         []PitchReading  `json:"pitch,omitempty"`
	PitchDeclared bool            `json:"pitch_declared,omitempty"`
	Leaves        []LeafReading   `json:"leaves,omitempty"`
	Beam          []BeamReading   `json:"beam,omitempty"`
	Climate       *Climate        `json:"climate,omitempty"`
	Posture       string          `json:"posture,omitempty"` // "playing" or "flat"
	Handed        string          `json:"handed,omitempty"`  // "left": sides mirrored
	RodSlack      bool            `json:"rod_slack,omitempty"`
	RodSteps      []RodStep       `json:"rod_steps,omitempty"`
	// RodTurned is the neck's net turns of the rod since the specification's travel left, or since a repairer worked on it, positive
	// tightened, whether they are among RodSteps or were made together with other work and teach nothing; nil: the sum of RodSteps.
	RodTurned  *float64            `json:"rod_turned,omitempty"`
	FretXMM    []*float64          `json:"fret_x_mm,omitempty"`
	Intonation []IntonationReading `json:"intonation,omitempty"`
	// Carried are readings that several crowns rest on. Each counts once in every uncertainty: what the crowns owe to them is in UMM,
	// and not in OwnUMM. A file of readings does not hold them.
	Carried []CarriedReading `json:"-"`
}

// TrackReading holds the crown heights of one track: ZMM[i] is fret i+1, nil where not measured; there are as many
// entries as frets.
type TrackReading struct {
	Track     string     `json:"track"`
	YNutMM    float64    `json:"y_nut_mm"`
	YSaddleMM float64    `json:"y_saddle_mm"`
	ZMM       []*float64 `json:"z_mm"`
	UMM       []*float64 `json:"u_mm,omitempty"`     // standard uncertainty of each crown; nil: the spec's
	CrownMM   []*float64 `json:"crown_mm,omitempty"` // crown height over the board
	OwnUMM    []float64  `json:"-"`                  // UMM without Readings.Carried, as many as frets; nil: all of UMM
}

// HeightReading is the underside of a string over a fret's crown, mm. Fret is absent (0) for nut heights.
type HeightReading struct {
	String   int      `json:"string"`
	Fret     int      `json:"fret,omitempty"`
	HeldFret int      `json:"held_fret"`
	HeightMM float64  `json:"height_mm"`
	UMM      *float64 `json:"u_mm,omitempty"`
}

// PitchReading is a string's pitch, in Hz or as cents from its target.
type PitchReading struct {
	String int      `json:"string"`
	Hz     *float64 `json:"hz,omitempty"`
	Cents  *float64 `json:"cents,omitempty"`
}

// LeafReading is a feeler-leaf interval: the thickest leaf that passes and the thinnest that does not. Either may be absent.
type LeafReading struct {
	Track    string   `json:"track"`
	Fret     int      `json:"fret"`
	PassesMM *float64 `json:"passes_mm,omitempty"`
	StopsMM  *float64 `json:"stops_mm,omitempty"`
	UMM      *float64 `json:"u_mm,omitempty"`
}

// BeamReading is a beam on two feet's sagitta, mm, zeroed on a flat; feet and plunger are x positions.
type BeamReading struct {
	Track     string     `json:"track"`
	FeetMM    [2]float64 `json:"feet_mm"`
	PlungerMM float64    `json:"plunger_mm"`
	ReadingMM float64    `json:"reading_mm"`
	UMM       *float64   `json:"u_mm,omitempty"`
}

// Climate is the room's.
type Climate struct {
	TemperatureC    *float64 `json:"temperature_c,omitempty"`
	HumidityPercent *float64 `json:"humidity_percent,omitempty"`
}

// RodStep is what the truss rod was turned, one way, between two measurements, with the relief before and after. Turns is unsigned.
type RodStep struct {
	Turns          float64  `json:"turns"`
	Direction      string   `json:"direction"` // "tighten" or "loosen"
	ReliefBeforeMM float64  `json:"relief_before_mm"`
	ReliefAfterMM  float64  `json:"relief_after_mm"`
	UMM            *float64 `json:"u_mm,omitempty"` // of the fall of relief
	// ReliefAgainMM are further measurements after the step, with nothing done between: the mean of all counts.
	ReliefAgainMM []float64 `json:"relief_again_mm,omitempty"`
	// NewSetUp tells that other work than the rod and the pitch lies before the step.
	NewSetUp bool `json:"new_set_up,omitempty"`
	// Repaired tells that a repairer worked on the neck after the step: what the rod had shown until then forbids nothing any more.
	Repaired bool `json:"repaired,omitempty"`
	// Action are heights of open strings before and after the step, which teach what relief does to them.
	Action []ActionChange `json:"action,omitempty"`
	// Neck tells the necks of a model apart; "" is a step that stands for itself.
	Neck string `json:"-"`
}

// ActionChange is the height of an open string over a fret before and after a step of the rod, mm.
type ActionChange struct {
	String   int      `json:"string"`
	Fret     int      `json:"fret"`
	BeforeMM float64  `json:"before_mm"`
	AfterMM  float64  `json:"after_mm"`
	UMM      *float64 `json:"u_mm,omitempty"` // standard uncertainty of the change
}

// Intonation is a fretted pitch beside the open one.
type IntonationReading struct {
	String    int     `json:"string"`
	Fret      int     `json:"fret"`
	OpenHz    float64 `json:"open_hz"`
	FrettedHz float64 `json:"fretted_hz"`
}
