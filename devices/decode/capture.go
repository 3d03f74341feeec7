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
	oneLine := strings.NewReplacer("\r", " ", "\n", " ")
	for _, h := range c.Header {
		fmt.Fprintf(&b, "# %s: %s\n", oneLine.Replace(h[0]), oneLine.Replace(h[1]))
	}
	for _, chunk := range c.Chunks {
		if len(chunk.Bytes) > 0 {
			fmt.Fprintf(&b, "%s %x\n", millis(chunk.At), chunk.Bytes)
		}
	}
	n, err := io.WriteString(w, b.String())
	return int64(n), err
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
