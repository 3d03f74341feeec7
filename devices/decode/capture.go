package decode

import (
	"bufio"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
)

// Chunk is a run of bytes that came together.
type Chunk struct {
	At    time.Duration // from the capture's start
	Bytes []byte
}

// Capture is what a gauge sent, with its timing: replayable evidence. As a file it is lines "# key: value", then
// lines "OFFSET_MS HEXBYTES".
type Capture struct {
	Header [][2]string // keys and values, in order
	Chunks []Chunk     // offsets do not fall
}

// ReadCapture reads a capture file; name is the file's name, for messages. The error is a *LoadError with the line
// of every problem: no offset, an offset that falls, bytes that are not pairs of hex digits.
func ReadCapture(name string, r io.Reader) (*Capture, error) {
	c := &Capture{}
	bad := &LoadError{File: name}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 1<<20)
	n := 0
	for lines.Scan() {
		n++
		line := strings.TrimSpace(lines.Text())
		if line == "" {
			continue
		}
		if words, ok := strings.CutPrefix(line, "#"); ok {
			key, value, _ := strings.Cut(words, ":")
			c.Header = append(c.Header, [2]string{strings.TrimSpace(key), strings.TrimSpace(value)})
			continue
		}
		chunk, says := parseChunk(line)
		if says == "" && len(c.Chunks) > 0 && chunk.At < c.Chunks[len(c.Chunks)-1].At {
			says = fmt.Sprintf("offset %s ms is before the line above; offsets must not fall", millis(chunk.At))
		}
		if says != "" {
			bad.Problems = append(bad.Problems, Problem{Line: n, Says: says})
			continue
		}
		c.Chunks = append(c.Chunks, chunk)
	}
	if err := lines.Err(); err != nil {
		bad.Problems = append(bad.Problems, Problem{Line: n + 1, Says: err.Error()})
	}
	if len(bad.Problems) > 0 {
		return nil, bad
	}
	return c, nil
}

func parseChunk(line string) (chunk Chunk, says string) {
	fields := strings.Fields(line)
	if len(fields) != 2 {
		return chunk, fmt.Sprintf("found %d fields; a line is OFFSET_MS HEXBYTES, such as \"104 2b302e3031320d0a\"", len(fields))
	}
	ms, err := strconv.ParseFloat(fields[0], 64)
	if err != nil || !(ms >= 0 && ms < 1e12) {
		return chunk, fmt.Sprintf("offset %q is not a number of milliseconds from 0 up", fields[0])
	}
	b, err := hex.DecodeString(fields[1])
	if err != nil {
		return chunk, fmt.Sprintf("bytes %q are not pairs of hex digits", fields[1])
	}
	return Chunk{At: time.Duration(ms*1e6 + 0.5), Bytes: b}, ""
}

// WriteTo writes the capture as a file. Line breaks in the header become blanks.
func (c *Capture) WriteTo(w io.Writer) (int64, error) {
	var b strings.Builder
	for _, h := range c.Header {
		b.WriteString(headerLine(h[0], h[1]))
	}
	for _, chunk := range c.Chunks {
		b.WriteString(chunk.line())
	}
	n, err := io.WriteString(w, b.String())
	return int64(n), err
}

func headerLine(key, value string) string {
	oneLine := strings.NewReplacer("\r", " ", "\n", " ")
	return fmt.Sprintf("# %s: %s\n", oneLine.Replace(key), oneLine.Replace(value))
}

// line is the chunk's line in a file; "" when it has no bytes.
func (c Chunk) line() string {
	if len(c.Bytes) == 0 {
		return ""
	}
	return fmt.Sprintf("%s %x\n", millis(c.At), c.Bytes)
}

// Recorder writes a capture while it is received: every chunk is handed to the writer at once, as a whole line, so that
// a program that ends early leaves a whole capture behind.
type Recorder struct {
	w    io.Writer
	last time.Duration
}

// NewRecorder writes the header. The error is the writer's.
func NewRecorder(w io.Writer, header [][2]string) (*Recorder, error) {
	_, err := (&Capture{Header: header}).WriteTo(w)
	return &Recorder{w: w}, err
}

// Add writes a chunk that came at the given time after the capture's start. A clock that was set back does not make
// offsets fall. The error is the writer's.
func (r *Recorder) Add(at time.Duration, b []byte) error {
	r.last = max(r.last, at)
	_, err := io.WriteString(r.w, Chunk{r.last, b}.line())
	return err
}

// Words says how the line is set, as in a capture's header.
func (l Line) Words() string {
	parity, stop := l.Parity, "stop bits"
	if parity == "none" {
		parity = "no"
	}
	if l.StopBits == 1 {
		stop = "stop bit"
	}
	return fmt.Sprintf("%d baud, %d data bits, %s parity, %v %s", l.Baud, l.DataBits, parity, l.StopBits, stop)
}

// Decode plays the capture through a decoder. Its start counts as a frame's beginning, and silence follows its end.
func (c *Capture) Decode(d *Decoder) []Event {
	var events []Event
	var last time.Duration
	s := d.Stream(true)
	for _, chunk := range c.Chunks {
		events = append(events, s.Feed(chunk.At, chunk.Bytes)...)
		last = chunk.At
	}
	return append(events, s.End(last+longestPause)...)
}

// millis writes a duration in milliseconds, without needless zeros, to the microsecond.
func millis(d time.Duration) string {
	return strconv.FormatFloat(float64(d.Round(time.Microsecond).Microseconds())/1000, 'f', -1, 64)
}
