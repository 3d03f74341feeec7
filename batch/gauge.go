package batch

import (
	"encoding/json"
	"slices"
	"time"
)

// Gauge is a measuring instrument known to the record. A change is a new revision of the row.
type Gauge struct {
	ID             string
	Name           string // e.g. carriage indicator
	Kind           GaugeKind
	Measures       []Kind // the points it is used for
	USBVendor      string
	USBProduct     string
	USBSerial      string
	USBSocket      string // the socket that tells its adapter from an alike one; empty: it is found in any
	Path           string // where the adapter has no USB identity
	Decoder        string // a built-in decoder's name, or the decoder's TOML
	Channel        string // only frames of this channel
	KeyChannel     string // frames of this channel are data-key presses
	Capture        string // how its readings come: one of Captures; "" is "key"
	FootSwitch     string // modem line of its port that a foot switch is wired to: one of FootSwitches, "" for none
	Prefix         string // of a gauge that types: what it types before every reading, "" for nothing
	Sense          int    // +1: the reading grows when the surface is higher, else -1
	ResolutionMM   float64
	TravelMM       float64
	CalibrationU   float64 // standard uncertainties, mm
	RepeatabilityU float64
	ReferenceU     float64
	UReason        string             // where the figures typed last come from: uncertainties, correction, reference; "" where none was typed
	Calibration    []CalibrationPoint // error of indication; linear between points
	Reference      []ReferencePoint   // what the corrected gauge reads on a true flat; linear between points
	LeavesMM       []float64          // thicknesses of a set of leaves, rising; nil otherwise
	FeetMM         [2]float64         // beam on two feet: feet's x; zero while they are not known, and otherwise
	PlungerMM      float64
	Certificate    string
	CertificateDue time.Time // zero: none on file
	Masters        []Master  // setting masters, in the order in which a check reads them; none: a check is the zero alone
	ZeroLimitMM    float64   // largest zero shift accepted at a check; 0: any
	LosesZero      string    // what takes its zero: one of the Loses words, "" nothing
	CheckHours     float64   // a check is due this long after the last good one; 0: never by time
	EachShift      bool      // a check is due before every shift: a new day or shift, or another inspector
	AddedAt        time.Time
	RetiredAt      time.Time
}

// JudgesAs says whether the gauge's readings are corrected by the same figures as those of another entry, and carry the
// same uncertainty: what verdicts rest on beside the readings themselves.
func (g *Gauge) JudgesAs(o Gauge) bool {
	return g.ResolutionMM == o.ResolutionMM && g.CalibrationU == o.CalibrationU && g.RepeatabilityU == o.RepeatabilityU && g.ReferenceU == o.ReferenceU &&
		slices.Equal(g.Calibration, o.Calibration) && slices.Equal(g.Reference, o.Reference)
}

// Retyped says that an entry has figures that verdicts rest on and that somebody typed: not those of the entry before, nor what is proposed for a
// gauge of which nothing was known.
func (g *Gauge) Retyped(old Gauge) bool {
	if old.ID == "" {
		old.ResolutionMM = g.ResolutionMM // of a new gauge it is what its display shows
	}
	if g.Proposed() && old.CalibrationU == 0 && old.RepeatabilityU == 0 && old.ReferenceU == 0 {
		old.CalibrationU, old.RepeatabilityU = g.CalibrationU, g.RepeatabilityU
	}
	return !g.JudgesAs(old)
}

// Captures are the ways in which a gauge's readings come: its data key is pressed; it sends all the time and a foot
// switch or key keeps one; it sends all the time and the first rest of every placement is kept; it is asked when a foot
// switch or key is pressed; it types like a keyboard; it is no gauge but a foot switch, or a
// lamp, on a port of its own.
var Captures = []string{"key", "stream", "settled", "request", "typed", "foot", "lamp"}

// FootSwitches are the modem lines that a foot switch may be wired to.
var FootSwitches = []string{"CTS", "DSR"}

// Streams says whether the gauge sends all the time, so that its newest frame may be kept.
func (g *Gauge) Streams() bool { return g.Capture == "stream" || g.Capture == "settled" }

// OnlyPlaces says that the gauge is a position encoder and nothing else. It has no zero to check: every pass finds its
// place from the frets.
func (g *Gauge) OnlyPlaces() bool { return len(g.Measures) == 1 && g.Measures[0] == Position }

// OnlySwitch says that the entry is of a foot switch on a port of its own: it measures nothing.
func (g *Gauge) OnlySwitch() bool { return g.Capture == "foot" }

// OnlyLamp says that the entry is of a lamp on a port of its own: it measures nothing.
func (g *Gauge) OnlyLamp() bool { return g.Capture == "lamp" }

// NoGauge says that the entry is of no gauge: it measures nothing.
func (g *Gauge) NoGauge() bool { return g.OnlySwitch() || g.OnlyLamp() }

// NoCheck says that there is no zero to check: leaves and a ruler have none.
func (g *Gauge) NoCheck() bool {
	return g.OnlyPlaces() || g.NoGauge() || g.Kind == LeavesGauge || g.Kind == RulerGauge
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
		if g.ByEye() {
			return "none needed: it is read by eye"
		}
		if g.Path == "" {
			return "none on file"
		}
		return "port " + g.Path + ", no USB identity"
	}
	words := "USB " + g.USBVendor + ":" + g.USBProduct
	if g.USBSerial != "" {
		words += ", serial number " + g.USBSerial
	}
	if g.USBSocket != "" {
		words += ", in socket " + g.USBSocket
	}
	return words
}

// CalibrationPoint is the error (indicated minus true) at an indicated value, mm.
type CalibrationPoint struct{ IndicatedMM, ErrorMM float64 }

// ReferencePoint is the flat reference's own form at x, mm.
type ReferencePoint struct{ XMM, ReadingMM float64 }

// Master is a setting master (gauge block) that a check reads after the zero.
type Master struct {
	NominalMM float64
	LimitMM   float64 // largest deviation accepted on it
}

// UnmarshalJSON reads an entry of the record. An entry from the time when a gauge had at most one master names it in two
// keys of its own; one from the time when gauges had no kind is given the one that it is.
func (g *Gauge) UnmarshalJSON(entry []byte) error {
	type plain Gauge
	old := struct {
		*plain
		MasterMM, MasterLimitMM float64
	}{plain: (*plain)(g)}
	if err := json.Unmarshal(entry, &old); err != nil {
		return err
	}
	if old.MasterMM > 0 && len(g.Masters) == 0 {
		g.Masters = []Master{{NominalMM: old.MasterMM, LimitMM: old.MasterLimitMM}}
	}
	g.NameKind()
	return nil
}

// CertificateOverdue says whether the gauge's calibration has run out: from the day after the one it is due on.
func (g *Gauge) CertificateOverdue(now time.Time) bool {
	return !g.CertificateDue.IsZero() && !now.Before(g.CertificateDue.AddDate(0, 0, 1))
}
