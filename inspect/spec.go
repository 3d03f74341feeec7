package inspect

// Spec is a batch's specification: the neck's geometry, its strings, the limits and how they are judged.
// Lengths are mm, angles degrees, frequencies Hz, mass per length g/m, forces N.
type Spec struct {
	Name     string `toml:"name" json:"name"`
	Revision string `toml:"revision" json:"revision"`

	Neck        NeckSpec        `toml:"neck" json:"neck"`
	Strings     []String        `toml:"string" json:"string"`
	Tracks      []TrackSpec     `toml:"track,omitempty" json:"track,omitempty"`
	Datum       Datum           `toml:"datum" json:"datum"`
	Decision    Decision        `toml:"decision" json:"decision"`
	Uncertainty UncertaintySpec `toml:"uncertainty" json:"uncertainty"`
	Pluck       *Pluck          `toml:"pluck,omitempty" json:"pluck,omitempty"`
	Routine     *Routine        `toml:"routine,omitempty" json:"routine,omitempty"`
	Limits      []Limit         `toml:"limit,omitempty" json:"limit,omitempty"`
	Plan        *Plan           `toml:"plan,omitempty" json:"plan,omitempty"`
	Alarms      *Alarms         `toml:"alarms,omitempty" json:"alarms,omitempty"`
}

// NeckSpec is the nominal geometry of the neck.
type NeckSpec struct {
	ScaleMM           float64  `toml:"scale_mm,omitempty" json:"scale_mm,omitempty"`                     // of every string; 0 on a multi-scale neck
	ScaleBassMM       float64  `toml:"scale_bass_mm,omitempty" json:"scale_bass_mm,omitempty"`           // of the outermost strings, instead of it
	ScaleTrebleMM     float64  `toml:"scale_treble_mm,omitempty" json:"scale_treble_mm,omitempty"`       // both or neither
	PerpendicularFret *float64 `toml:"perpendicular_fret,omitempty" json:"perpendicular_fret,omitempty"` // square to the centre line, 0 the nut; 7 unless given
	Frets             int      `toml:"frets" json:"frets"`
	JointFret         int      `toml:"joint_fret" json:"joint_fret"`
	NutRadiusMM       float64  `toml:"nut_radius_mm" json:"nut_radius_mm"`             // board radius at x = 0; 0 means flat
	LastFretRadiusMM  float64  `toml:"last_fret_radius_mm" json:"last_fret_radius_mm"` // at the last fret; linear in x between; 0 means flat
	Rod               string   `toml:"rod" json:"rod"`                                 // "single", "double" or "none"
	RodEnd            string   `toml:"rod_end,omitempty" json:"rod_end,omitempty"`     // where its nut is turned: "headstock" or "body"; "" where nobody said
	RodTurnsLeft      *float64 `toml:"rod_turns_left,omitempty" json:"rod_turns_left,omitempty"`
	ScaleIN           float64  `toml:"scale_in,omitempty" json:"scale_in,omitempty"`   // of every string, in inches, instead of the scales in mm
	Kind              string   `toml:"kind,omitempty" json:"kind,omitempty"`           // of instrument, see InstrumentKinds; what is usual for it goes where nothing else is given
	Joint             string   `toml:"joint,omitempty" json:"joint,omitempty"`         // "bolt-on" or "set"
	ZeroFret          bool     `toml:"zero_fret,omitempty" json:"zero_fret,omitempty"` // the open strings lie on a fret at x = 0, and the nut only guides them
	Bridge            string   `toml:"bridge,omitempty" json:"bridge,omitempty"`       // see Bridges; "saddle per string" where left out
}

// String is one string; number 1 is the outermost on the treble side.
type String struct {
	Number      int      `toml:"number" json:"number"`
	Name        string   `toml:"name" json:"name"`
	PitchHz     float64  `toml:"pitch_hz" json:"pitch_hz"`
	YNutMM      float64  `toml:"y_nut_mm" json:"y_nut_mm"`
	YSaddleMM   float64  `toml:"y_saddle_mm" json:"y_saddle_mm"`
	DiameterMM  float64  `toml:"diameter_mm" json:"diameter_mm"`
	MassGPerM   *float64 `toml:"mass_g_per_m,omitempty" json:"mass_g_per_m,omitempty"`
	PlainString bool     `toml:"plain" json:"plain"`
	Material    string   `toml:"material,omitempty" json:"material,omitempty"` // "steel" or "nylon"; where left out nylon on a classical, else steel
}

// TrackSpec names a line along the neck that a gauge follows.
type TrackSpec struct {
	Name      string  `toml:"name" json:"name"`
	YNutMM    float64 `toml:"y_nut_mm" json:"y_nut_mm"`
	YSaddleMM float64 `toml:"y_saddle_mm" json:"y_saddle_mm"`
}

// Datum is the fret pair that relief is taken over, and the fret it is taken at. Zero fields mean the
// defaults: 1, the joint fret, 7.
type Datum struct {
	FirstFret  int `toml:"first_fret" json:"first_fret"`
	SecondFret int `toml:"second_fret" json:"second_fret"`
	ReliefFret int `toml:"relief_fret" json:"relief_fret"`
}

// Decision states how measured values are judged against limits (ISO 14253-1, JCGM 106).
type Decision struct {
	Rule        string   `toml:"rule" json:"rule"`                                     // "simple", "guarded_acceptance", "guarded_rejection"
	GuardFactor *float64 `toml:"guard_factor,omitempty" json:"guard_factor,omitempty"` // 1.645 unless given; 0 means no guard
}

// UncertaintySpec holds the parts of one reading's standard uncertainty, used where the gauge brings none of its own. mm.
type UncertaintySpec struct {
	ResolutionMM    float64 `toml:"resolution_mm" json:"resolution_mm"`
	CalibrationMM   float64 `toml:"calibration_mm" json:"calibration_mm"`
	RepeatabilityMM float64 `toml:"repeatability_mm" json:"repeatability_mm"`
	ReferenceMM     float64 `toml:"reference_mm" json:"reference_mm"`
}

// Pluck is the pluck that the clearance map's envelope assumes.
type Pluck struct {
	ForceN     float64 `toml:"force_n" json:"force_n"`         // component normal to the board
	DistanceMM float64 `toml:"distance_mm" json:"distance_mm"` // from the saddle
}

// Plan is the yield that the shop plans with, percent of the inspected necks; what is left out is not planned. It judges
// no neck.
type Plan struct {
	FirstPassPercent *float64        `toml:"first_pass_percent,omitempty" json:"first_pass_percent,omitempty"`
	FinalPercent     *float64        `toml:"final_percent,omitempty" json:"final_percent,omitempty"`
	Reasons          []PlannedReason `toml:"reason,omitempty" json:"reason,omitempty"` // each characteristic once
}

// PlannedReason is how many necks may fail the first inspection by a characteristic, the one that is reworked first.
type PlannedReason struct {
	Characteristic string  `toml:"characteristic" json:"characteristic"`
	MostPercent    float64 `toml:"most_percent" json:"most_percent"` // of the inspected necks
}

// Routine is what the bench asks for, in order.
type Routine struct {
	Tracks      []string   `toml:"tracks" json:"tracks"`
	Profile     string     `toml:"profile" json:"profile"` // "each fret", "sweep", "beam", "leaves", "none"
	ActionFrets []int      `toml:"action_frets" json:"action_frets"`
	Strings     StringList `toml:"strings" json:"strings"`
	Pitch       string     `toml:"pitch" json:"pitch"`     // "measured" or "declared"
	Posture     string     `toml:"posture" json:"posture"` // "playing" or "flat"
	// Closing is whether two crowns are measured once more at the end of a profile, to see that nothing moved; true when left out.
	Closing *bool `toml:"closing,omitempty" json:"closing,omitempty"`
	// Whole has every attempt measure everything; otherwise only what the work since the attempt before can have changed.
	Whole bool `toml:"whole,omitempty" json:"whole,omitempty"`
	// TwoSign asks for a second person's approval of a concession, where people sign on.
	TwoSign bool `toml:"two_sign,omitempty" json:"two_sign,omitempty"`
	// Repairs is who does work that is more than a set-up: "repairer", also where nobody said, or "myself": then advice gives the step itself where it
	// would name a repairer, and takes first what is quick and can be undone.
	Repairs string `toml:"repairs,omitempty" json:"repairs,omitempty"`
	// TaktS is the time that a neck may take, s; nil where nobody set one.
	TaktS *float64 `toml:"takt_s,omitempty" json:"takt_s,omitempty"`
	// LeavesMM are the thicknesses of the shop's feeler leaves; a leaf that is typed and is none of them is asked about.
	LeavesMM []float64 `toml:"leaves_mm,omitempty" json:"leaves_mm,omitempty"`
}

// StringList is "each" or a list of string numbers in a file. Each is true for "each"; the zero value is absent.
type StringList struct {
	Each    bool
	Numbers []int
}

// Limit bounds one characteristic. Exactly the suffix that fits the characteristic's unit may be used
// (_mm, _deg or _cents). Index fields that do not apply are absent.
type Limit struct {
	Characteristic string `toml:"characteristic" json:"characteristic"`
	Track          string `toml:"track,omitempty" json:"track,omitempty"` // a track's name or "each"
	String         Index  `toml:"string,omitempty" json:"string,omitzero"`
	Fret           Index  `toml:"fret,omitempty" json:"fret,omitzero"`
	HeldFret       int    `toml:"held_fret,omitempty" json:"held_fret,omitempty"`

	LowerMM     *float64 `toml:"lower_mm,omitempty" json:"lower_mm,omitempty"`
	TargetMM    *float64 `toml:"target_mm,omitempty" json:"target_mm,omitempty"`
	UpperMM     *float64 `toml:"upper_mm,omitempty" json:"upper_mm,omitempty"`
	LowerDeg    *float64 `toml:"lower_deg,omitempty" json:"lower_deg,omitempty"`
	TargetDeg   *float64 `toml:"target_deg,omitempty" json:"target_deg,omitempty"`
	UpperDeg    *float64 `toml:"upper_deg,omitempty" json:"upper_deg,omitempty"`
	LowerCents  *float64 `toml:"lower_cents,omitempty" json:"lower_cents,omitempty"`
	TargetCents *float64 `toml:"target_cents,omitempty" json:"target_cents,omitempty"`
	UpperCents  *float64 `toml:"upper_cents,omitempty" json:"upper_cents,omitempty"`
}

// Index is a string's or fret's number, or "each". The zero value is absent.
type Index struct {
	Each   bool
	Number int
}
