package infer

import (
	"bytes"
	"slices"

	"sagitta/devices/decode"
)

// outer is what stands around a frame's text: a start mark and a checksum.
type outer struct {
	start    []byte
	checksum decode.Checksum
	sum      int // bytes of the checksum
	score    float64
	doubts   []Doubt
}

// outers are the ways to take start mark and checksum. A checksum counts that proves every frame; seen on different ones it is hardly
// chance: one of a byte fits two frames once in 65536.
func (f framing) outers(bodies [][]byte) []outer {
	start := startOf(bodies)
	if f.roles != nil {
		n := 0
		for n < len(f.roles) && f.roles[n] == decode.RoleStart {
			n++
		}
		start = nil
		if last := bodies[len(bodies)-1]; n > 0 && n < len(last) {
			start = last[:n]
		}
		if slices.ContainsFunc(bodies, func(b []byte) bool { return !bytes.HasPrefix(b, start) }) {
			return nil // what a person calls a start mark does not begin every frame
		}
	}
	starts := [][]byte{start}
	if len(start) > 0 && f.roles == nil {
		starts = append(starts, nil) // the checksum may begin at the start mark
	}
	var all []outer
	for i, s := range starts {
		proven := f.proven(bodies, s)
		for j := range proven {
			proven[j].score -= float64(i)
		}
		all = append(all, proven...)
		if i == 0 && (f.roles == nil || len(all) == 0) {
			all = append(all, outer{start: s})
		}
	}
	return all
}

// proven are the checksums that prove every body, begun with a start mark.
func (f framing) proven(bodies [][]byte, start []byte) []outer {
	different := count(bodies)
	var all []outer
	for _, sum := range sums {
		n, proven := proves(sum, bodies, start)
		if !proven || f.roles != nil && n != trailing(f.roles, decode.RoleChecksum) {
			continue
		}
		o := outer{start: start, checksum: sum, sum: n, score: 30}
		if sum.Encoding == "hex" {
			o.score += 2
		}
		if different < 2 {
			o.score, o.doubts = 2, []Doubt{DoubtChecksum}
		}
		all = append(all, o)
	}
	return all
}

// startOf is the run of control characters that begins every body.
func startOf(bodies [][]byte) []byte {
	n := 0
	for n < len(bodies[0]) && n < 3 && isControl(bodies[0][n]) {
		n++
	}
	for _, b := range bodies {
		for n > 0 && !bytes.HasPrefix(b, bodies[0][:n]) {
			n--
		}
	}
	return bodies[0][:n:n]
}

// sums are the kinds of checksum that are tried.
var sums = func() []decode.Checksum {
	var all []decode.Checksum
	for _, encoding := range []string{"hex", "byte"} {
		for _, kind := range []string{"xor", "sum8", "lrc"} {
			all = append(all, decode.Checksum{Kind: kind, Encoding: encoding, Order: "high-first"})
		}
		for _, order := range []string{"high-first", "low-first"} {
			all = append(all, decode.Checksum{Kind: "crc16-modbus", Encoding: encoding, Order: order})
		}
	}
	return all
}()

// proves tells whether a checksum proves every frame, and how many bytes it takes.
func proves(sum decode.Checksum, bodies [][]byte, start []byte) (n int, ok bool) {
	for _, b := range bodies {
		rest, why := sum.Strip(b[len(start):])
		if why != "" || len(rest) == 0 || len(numbersIn(rest)) == 0 {
			return 0, false
		}
		n = len(b) - len(start) - len(rest)
	}
	return n, true
}

// count is how many of the bodies differ.
func count(bodies [][]byte) int {
	seen := map[string]bool{}
	for _, b := range bodies {
		seen[string(b)] = true
	}
	return len(seen)
}

// trailing is how many of the last roles are of one kind.
func trailing(roles []decode.Role, role decode.Role) int {
	n := 0
	for n < len(roles) && roles[len(roles)-1-n] == role {
		n++
	}
	return n
}
