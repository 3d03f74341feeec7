package batch

import "time"

// Gauge is a measuring instrument known to the record. A change is a new revision of the row.
type Gauge struct {
	ID             string
	Name           string // e.g. carriage indicator
	Measures       []Kind // the points it is used for
	USBVendor      string
	USBProduct     string
	USBSerial      string
	Path           string // where the adapter has no USB identity
	Decoder        string // a built-in decoder's name, or the decoder's TOML
	Channel        string // only frames of this channel
	KeyChannel     string // frames of this channel are data-key presses
	Capture        string // "key" or "stream"
	Sense          int    // +1: the reading grows when the surface is higher, else -1
	ResolutionMM   float64
	TravelMM       float64
	CalibrationU   float64 // standard uncertainties, mm
	RepeatabilityU float64
	ReferenceU     float64
	Calibration    []CalibrationPoint // error of indication; linear between points
	Reference      []ReferencePoint   // what the corrected gauge reads on a true flat; linear between points
	FeetMM         [2]float64         // two-foot beam: feet's x; zero otherwise
	PlungerMM      float64
	Certificate    string
	CertificateDue time.Time // zero: none on file
	MasterMM       float64   // nominal of the setting master, 0: none
	ZeroLimitMM    float64   // largest zero shift accepted at a check
	MasterLimitMM  float64   // largest deviation accepted on the master
	CheckHours     float64   // a check is due this long after the last good one; 0: never by time
	AddedAt        time.Time
	RetiredAt      time.Time
}

// Serves says whether the gauge is used for a kind of reading.
func (g *Gauge) Serves(k Kind) bool {
	for _, m := range g.Measures {
		if m == k {
			return g.RetiredAt.IsZero()
		}
	}
	return false
}

// Identity says in words how the gauge is found again: its adapter's USB identity, or its port where it has none.
func (g *Gauge) Identity() string {
	if g.USBVendor == "" {
		if g.Path == "" {
			return "none on file"
		}
		return "port " + g.Path + ", no USB identity"
	}
	words := "USB " + g.USBVendor + ":" + g.USBProduct
	if g.USBSerial != "" {
		words += ", serial number " + g.USBSerial
	}
	return words
}

// CalibrationPoint is the error (indicated minus true) at an indicated value, mm.
type CalibrationPoint struct{ IndicatedMM, ErrorMM float64 }

// ReferencePoint is the flat reference's own form at x, mm.
type ReferencePoint struct{ XMM, ReadingMM float64 }

// GaugeCheck is a zero and master check. It is never changed.
type GaugeCheck struct {
	ID        string
	GaugeID   string
	At        time.Time
	By        string
	ZeroMM    float64 // corrected reading on the flat: the zero in force from now on
	ShiftMM   float64 // from the zero before
	MasterMM  *float64
	ErrorMM   *float64 // on the master
	Good      bool
	Why       string // sentence: what was found and what is allowed
	After     string // what made it needed: "shift", "reconnection", "due", "asked for"
	RawZero   []byte
	RawMaster []byte
}
