// Package devices finds, opens, reads and watches the gauges of a station: serial ports matched by USB
// identity, bytes decoded into readings, and the health of every gauge in words.
package devices

import (
	"time"

	"sagitta/devices/decode"
)

// Identity is a USB adapter's identity: what a gauge is matched by, for a port's name changes from one plugging
// to the next. Vendor and Product are four hex digits. The zero Identity means a port that is not USB.
type Identity struct{ Vendor, Product, Serial string }

// IsZero tells whether there is no USB identity.
func (i Identity) IsZero() bool { return i == Identity{} }

// Gauge is one gauge as configured. Gauges with the same Identity and Socket (or the same Path) share one port and are told
// apart by Channel; they must share the decoder too.
type Gauge struct {
	ID          string // unique within the station
	Name        string // for people
	Identity    Identity
	Socket      string // where its adapter was plugged in (PortInfo.Socket): tells it from another with the same Identity
	Path        string // used when there is no USB identity: a port's name or a symlink to one
	Decoder     *decode.Decoder
	Channel     string        // only frames of this channel; "" means all
	KeyChannel  string        // frames of this channel are presses of the data key; when set the others are live only
	Capture     string        // one of the Capture words
	SilentAfter time.Duration // of a gauge that streams: no frame for this long is silent; 0 means never
	FootSwitch  string        // the modem line of the port that a foot switch is wired to: LineCTS, LineDSR or ""

	ResolutionMM float64 // of CaptureSettled: what its noise is measured against
	Sense        int     // of CaptureSettled: -1 when its value falls as the surface rises, else +1
	Prefix       string  // of CaptureTyped: what the gauge types before every frame; "" means it is told by its speed
}

// How a gauge's frames become readings.
const (
	CaptureKey     = "key"     // every frame is a pressed reading
	CaptureStream  = "stream"  // frames are live; a foot switch or key takes one
	CaptureSettled = "settled" // frames are live; the one that completes each placement's rest is a pressed reading
	CaptureRequest = "request" // the gauge sends when asked; the answer to Supervisor.Ask is a pressed reading
	CaptureFoot    = "foot"    // no gauge: a foot switch on a port of its own, whose modem lines alone are looked at; it needs no decoder
	CaptureLamp    = "lamp"    // no gauge: a lamp on a port of its own, whose outgoing modem lines alone are set; it needs no decoder
	CaptureTyped   = "typed"   // the gauge types like a keyboard; what Supervisor.Typed knows as its own is a pressed reading
)

// captures lists them for messages.
var captures = []string{CaptureKey, CaptureStream, CaptureSettled, CaptureRequest, CaptureTyped, CaptureFoot, CaptureLamp}

// noGauge tells whether the port's bytes are of no interest.
func (g Gauge) noGauge() bool { return g.Capture == CaptureFoot || g.Capture == CaptureLamp }

// streams tells whether frames come without anybody's doing.
func (g Gauge) streams() bool { return g.Capture == CaptureStream || g.Capture == CaptureSettled }

// takes tells whether a frame is this gauge's. A status word without a channel concerns every gauge on the port.
func (g Gauge) takes(v decode.Value) bool {
	switch {
	case g.Channel == "", v.Channel == g.Channel, g.KeyChannel != "" && v.Channel == g.KeyChannel:
		return true
	}
	return v.Channel == "" && !v.IsNumber()
}

// pressed tells whether a frame was sent by the gauge's data key.
func (g Gauge) pressed(v decode.Value) bool {
	if g.KeyChannel != "" {
		return v.Channel == g.KeyChannel
	}
	return g.Capture == CaptureKey || g.Capture == CaptureTyped
}

// Reading is one decoded frame of one gauge. A status frame is a reading too: Value.IsNumber tells.
type Reading struct {
	Gauge   string       // the gauge's ID
	At      time.Time    // when its last byte was read
	Seq     uint64       // counts this gauge's readings from 1, over reconnections too
	Offset  int64        // of its first byte since the port was opened
	Raw     []byte       // the whole frame
	Value   decode.Value // what it says
	Key     bool         // to be used: sent by the data key, at rest after a placement, asked for, or typed
	Decoder string       // name@revision
	// SilentSince is set with the first reading after a silence of 2 s or more of a gauge that sends by itself or is asked:
	// when it was last heard, or was asked in vain. It may have been switched off since. Else zero. A gauge that sends only
	// when its key is pressed is silent as a rule, so that nothing tells whether it was off.
	SilentSince time.Time
	Unrest      *Unrest // why a gauge taken at rest gives no reading, with one frame every 5 s that it wanders; else nil
}

// Fault is one stretch of bytes that gave no reading.
type Fault struct {
	Gauge  string
	At     time.Time // when its last byte was read
	Offset int64     // of its first byte since the port was opened
	Raw    []byte
	Fault  string // decode.Garbled or decode.Cut
	Why    string // for people
	Lost   bool   // only the piece before the first known beginning of a frame, as after every opening
}

// State is a gauge's health in one word or two.
type State string

// The states of a gauge.
const (
	StateLive       State = "live"        // readings come, or came from a gauge that sends only when pressed
	StateWaiting    State = "waiting"     // open, nothing received yet
	StateSilent     State = "silent"      // a streaming or polled gauge has stopped
	StateGarbled    State = "garbled"     // the last bytes made no sense
	StateLowBattery State = "low battery" // the gauge says so
	StateUnplugged  State = "unplugged"   // was open and went away
	StateMissing    State = "missing"     // has not been found yet
	StateBusy       State = "busy"        // another program has the port
	StateDenied     State = "denied"      // this user may not open the port
	StateAlike      State = "alike"       // several adapters have its identity; a person must say which is its own
	StateFailed     State = "failed"      // the port cannot be used for another reason; Words says which
)

// Health is the state of one gauge, with words for people.
type Health struct {
	Gauge         string
	State         State
	Since         time.Time // when this state began
	Port          string    // the port's name now; "" when none is known
	Words         string    // what is the case, one sentence
	ToDo          string    // what to do about it; "" when nothing
	Frames        uint64    // readings so far
	Refused       uint64    // refused stretches so far
	Reconnections int       // how often the port was lost and found again
	FootSwitch    string    // why its foot switch cannot be read, or its lamp not be lit, one sentence; "" when it can, or there is none
}
