package decode

import "time"

// Line is the setting of a serial line.
type Line struct {
	Baud     int     // bits per second
	DataBits int     // 5 to 8
	Parity   string  // "none", "even", "odd", "mark" or "space"
	StopBits float64 // 1, 1.5 or 2
}

// Frame says how a frame is cut out of the stream of bytes. Exactly one of four ways is set: End; Start and
// End; Length, with or without Start; Idle.
type Frame struct {
	Start    []byte        // what every frame begins with; nil when frames have no mark of their own
	End      []byte        // what every frame ends with
	Length   int           // bytes in a whole frame, Start and checksum included; 0 when it varies
	Idle     time.Duration // silence that ends a frame; 0 when something else ends it
	MaxBytes int           // a frame with more bytes than this before its end is garbled
}

// Which of several bytes, or of two registers, comes first.
const (
	highFirst = "high-first"
	lowFirst  = "low-first"
)

// Checksum says how a frame proves itself: its last bytes before the end mark are computed from all bytes between
// the start mark and them. Kind is "" when a frame does not prove itself.
type Checksum struct {
	Kind     string // "xor", "sum8", "lrc" or "crc16-modbus"
	Encoding string // "hex" (two digits, four for the CRC) or "byte" (one byte, two for the CRC)
	Order    string // of the two bytes of a CRC: "high-first", as a number is written, or "low-first", as on Modbus
}

// Request is what a polled gauge must be sent before it answers. Bytes is nil when the gauge speaks by itself.
type Request struct {
	Bytes   []byte
	Every   time.Duration // between requests; 0 means only when asked
	Timeout time.Duration // a gauge that has not answered after this is silent; it is asked again
	Quiet   time.Duration // silence on the line before a request may go out
	Why     []byte        // asks a gauge that has not answered for its reason; nil where there is no such question
	Who     []byte        // asks an unknown gauge what it is; nil where there is no such question
}

// Decoder is one decoder file, parsed and checked. It is not changed after Load and may be used by several
// goroutines at once.
type Decoder struct {
	Name     string // in words for people, from the file
	Family   string // "text", "modbus-rtu" or "scpi"
	Revision string // the first 12 hex digits of the SHA-256 of the file
	Line     Line
	Frame    Frame
	Checksum Checksum
	Request  Request
	reader   reader
	// shorter is the length of a second kind of frame, beside Frame.Length; 0 when there is none
	shorter int
}

// reader says what a frame means. The frame comes without its marks and checksum, those of [frame] and [checksum]. why is
// "" unless the frame is refused.
type reader interface {
	read(frame []byte) (v *Value, why string)
}

// ID names the decoder and its revision, as kept beside every reading: "name@revision".
func (d *Decoder) ID() string { return d.Name + "@" + d.Revision }

// Value is what one frame says. A status frame says no number: then Digits is empty and Value and MM are NaN.
type Value struct {
	Digits   string  // the number as sent, sign included, blanks left out; "" for a status frame
	Unit     string  // the unit as sent; "" when the frame names none
	Value    float64 // the number times the decoder's scale, in UnitNorm
	UnitNorm string  // "mm" or "in"; "" for a status frame
	MM       float64 // the same in millimetres, rounded once
	Channel  string  // as sent; "" when the frame has none
	Status   string  // the status in the decoder's words ("overload", "low battery"), or as sent; "" when none
}

// IsNumber tells a reading from a status frame, which has no number.
func (v Value) IsNumber() bool { return v.Digits != "" }

// The faults of a refused stretch.
const (
	Garbled = "garbled" // does not match, is too long, says a number that no gauge shows (over 10 m), has a bad checksum, or began where no frame is known to begin
	Cut     = "cut"     // unfinished at the end, or followed by silence inside a frame
)

// Event is one reading or one refused stretch of bytes. Joined in order, the Raw of all events is every byte fed.
type Event struct {
	At     time.Duration // when its last byte came, from the stream's start
	Offset int64         // of its first byte, from the stream's start
	Raw    []byte        // all its bytes, start and end included
	Value  *Value        // nil for a refused stretch
	Fault  string        // Garbled or Cut; "" for a reading
	Why    string        // a refused stretch's reason, for people
	Lost   bool          // refused only because its beginning was not known to be a frame's beginning
	body   int           // how many bytes of Raw come before the end mark
}
