package infer

import (
	"bytes"
	"slices"
	"time"

	"sagitta/devices/decode"
)

// burst is what came without a pause.
type burst struct {
	from, to time.Duration
	raw      []byte
	gap      time.Duration // longest silence inside it
}

// burstsOf parts chunks at their pauses.
func burstsOf(chunks []decode.Chunk) []burst {
	var bursts []burst
	for _, c := range chunks {
		if len(c.Bytes) == 0 {
			continue
		}
		if n := len(bursts); n > 0 && c.At-bursts[n-1].to < pause {
			b := &bursts[n-1]
			b.raw, b.gap, b.to = append(b.raw, c.Bytes...), max(b.gap, c.At-b.to), c.At
			continue
		}
		bursts = append(bursts, burst{from: c.At, to: c.At, raw: slices.Clone(c.Bytes)})
	}
	return bursts
}

// framing is one way to cut what was heard into frames.
type framing struct {
	frame  decode.Frame
	bodies [][]byte // whole frames without their end mark
	score  float64
	doubts []Doubt
	roles  []decode.Role // of the last body, nil where nobody said them
}

// isControl tells a byte that is no printable character.
func isControl(b byte) bool { return b < 0x20 || b == 0x7F }

// tailOf is the run of control characters that ends b, at most four.
func tailOf(b []byte) []byte {
	i := len(b)
	for i > 0 && len(b)-i < 4 && isControl(b[i-1]) {
		i--
	}
	return b[i:]
}

// framings are the ways to cut, the likeliest first.
func framings(bursts []burst, c Choice) []framing {
	if c.Roles != nil {
		return framingByRoles(bursts, c.Roles)
	}
	var ways []framing
	for _, end := range ends(bursts) {
		if f, ok := endedBy(bursts, end); ok {
			f.score += 20
			ways = append(ways, f)
		}
	}
	if end := closing(bursts); end != nil {
		if f, ok := endedBy(bursts, end); ok {
			f.score += 8
			ways = append(ways, f)
		}
	}
	ways = append(ways, endedByPause(bursts))
	if f, ok := fixedLength(bursts); ok {
		ways = append(ways, f)
	}
	return ways
}

// ends are the marks that may end a frame, the likeliest first: what control characters end most bursts, all of them, or those
// without the byte of a checksum that looks like one; and what stands between frames where no pause does.
func ends(bursts []burst) [][]byte {
	counts := map[string]int{}
	for _, b := range bursts {
		tail := tailOf(b.raw)
		for i := range tail {
			counts[string(tail[i:])]++
		}
		for _, known := range []string{"\r\n", "\n\r", "\r", "\n", "\x03"} { // a burst that was cut short has none at its end
			if n := bytes.Count(b.raw, []byte(known)); n > 1 {
				counts[known] += n - 1
			}
		}
	}
	var marks [][]byte
	for mark := range counts {
		marks = append(marks, []byte(mark))
	}
	slices.SortFunc(marks, func(a, b []byte) int { // most often, then the longest, then in order
		if n := counts[string(b)] - counts[string(a)]; n != 0 {
			return n
		}
		if n := len(b) - len(a); n != 0 {
			return n
		}
		return bytes.Compare(a, b)
	})
	return marks[:min(3, len(marks))]
}

// closing is a printable character that ends every burst and stands nowhere else; nil where there is none.
func closing(bursts []burst) []byte {
	last := bursts[0].raw[len(bursts[0].raw)-1]
	if !bytes.ContainsRune([]byte(";#*/|$!>)]}&~"), rune(last)) {
		return nil
	}
	for _, b := range bursts {
		if bytes.IndexByte(b.raw, last) != len(b.raw)-1 {
			return nil
		}
	}
	return []byte{last}
}

// endedBy cuts at every end mark. It does not hold where most bursts do not end with the mark.
func endedBy(bursts []burst, end []byte) (framing, bool) {
	f := framing{frame: decode.Frame{End: end}}
	ended, inside := 0, 0
	var rest []byte
	for i, b := range bursts {
		if bytes.HasSuffix(b.raw, end) {
			ended++
		}
		rest = append(rest, b.raw...)
		for {
			body, after, found := bytes.Cut(rest, end)
			if !found {
				break
			}
			if len(body) > 0 {
				f.bodies = append(f.bodies, body)
			}
			rest = after
		}
		if len(rest) > 0 && i < len(bursts)-1 {
			inside++
		}
	}
	f.score -= 5 * float64(inside)
	return f, len(f.bodies) > 0 && 2*ended >= len(bursts)-1
}

// endedByPause takes every burst for a frame.
func endedByPause(bursts []burst) framing {
	idle := 20 * time.Millisecond // as frames without an end mark are told commonly (no source)
	f := framing{score: 5, doubts: []Doubt{DoubtPause}}
	for _, b := range bursts {
		f.bodies = append(f.bodies, b.raw)
		idle = max(idle, 2*b.gap.Round(time.Millisecond))
	}
	f.frame.Idle = min(idle, 80*time.Millisecond)
	return f
}

// fixedLength cuts bursts of several frames each into equal ones.
func fixedLength(bursts []burst) (framing, bool) {
	length := 0
	for _, b := range bursts {
		for a, n := len(b.raw), length; ; a, n = n, a%n { // the greatest common divisor
			if n == 0 {
				length = a
				break
			}
		}
	}
	if length < 4 || length > 64 {
		return framing{}, false
	}
	if len(bursts) == 1 { // several frames in one stretch: a period that repeats its kinds of character
		length = period(bursts[0].raw)
	}
	if length == 0 {
		return framing{}, false
	}
	f := framing{frame: decode.Frame{Length: length}, score: 3, doubts: []Doubt{DoubtPause}}
	for _, b := range bursts {
		for i := 0; i+length <= len(b.raw); i += length {
			f.bodies = append(f.bodies, b.raw[i:i+length])
		}
	}
	return f, true
}

// period is the shortest length from 4 up at which a stretch repeats its kinds of character; 0 where it does not, three times at least.
func period(raw []byte) int {
	for n := 4; 3*n <= len(raw); n++ {
		same := len(raw)%n == 0
		for i := n; same && i < len(raw); i++ {
			same = kindOf(raw[i]) == kindOf(raw[i-n])
		}
		if same {
			return n
		}
	}
	return 0
}

// kindOf is what a character is in a number's place: digits, signs and blanks are of one kind each, others are themselves.
func kindOf(b byte) byte {
	switch {
	case b >= '0' && b <= '9', b == ' ':
		return '0'
	case b == '+', b == '-':
		return '+'
	}
	return b
}

// framingByRoles cuts as a person says: the end mark is what they say of the last burst's last bytes; without one, frames end by a pause.
func framingByRoles(bursts []burst, roles []decode.Role) []framing {
	newest := bursts[len(bursts)-1].raw
	ending := 0
	for ending < len(roles) && roles[len(roles)-1-ending] == decode.RoleEnd {
		ending++
	}
	if ending == 0 || ending >= len(newest) {
		f := endedByPause(bursts)
		f.roles = roles
		return []framing{f}
	}
	f, ok := endedBy(bursts, newest[len(newest)-ending:])
	if !ok {
		return nil
	}
	f.roles = roles[:len(roles)-ending]
	return []framing{f}
}
