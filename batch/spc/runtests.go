package spc

import (
	"encoding/json"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"
)

// Tests is a set of run tests, by their numbers in ISO 7870-2 (L. S. Nelson, Journal of Quality Technology 16 (1984) 237-239):
//
//  1. one point beyond 3 sigma (beyond its limits)
//  2. nine in a row on one side of the centre line
//  3. six in a row steadily rising or falling
//  4. fourteen in a row alternating up and down
//  5. two of three beyond 2 sigma on one side, the last among them
//  6. four of five beyond 1 sigma on one side, the last among them
//  7. fifteen in a row within 1 sigma
//  8. eight in a row beyond 1 sigma, both sides present
//
// Beyond and within are strict; a point on the centre line is on neither side; equal neighbours break 3 and 4. A test fires
// at the last point of its pattern and again wherever the pattern is complete again. As JSON, a list of the numbers.
type Tests uint8

// AllTests is all eight.
const AllTests Tests = 0xff

// TestsOf is the set of some numbers, 1 to 8; others are left out.
func TestsOf(numbers ...int) Tests {
	var t Tests
	for _, n := range numbers {
		if n >= 1 && n <= 8 {
			t |= 1 << (n - 1)
		}
	}
	return t
}

// ParseTests reads a set from its numbers divided by commas, such as 1,2,5.
func ParseTests(text string) (Tests, error) {
	var t Tests
	for part := range strings.SplitSeq(text, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(part))
		if err != nil || n < 1 || n > 8 {
			return 0, OptionError{"tests", fmt.Sprintf("found %q; allowed: numbers from 1 to 8 divided by commas, such as 1,2,5", text)}
		}
		t |= TestsOf(n)
	}
	return t, nil
}

// Has says whether a test is in the set.
func (t Tests) Has(number int) bool { return t&TestsOf(number) != 0 }

// Numbers are the numbers in the set, rising; never nil.
func (t Tests) Numbers() []int {
	numbers := make([]int, 0, bits.OnesCount8(uint8(t)))
	for n := 1; n <= 8; n++ {
		if t.Has(n) {
			numbers = append(numbers, n)
		}
	}
	return numbers
}

// MarshalJSON writes the list of numbers.
func (t Tests) MarshalJSON() ([]byte, error) {
	text := make([]byte, 0, 17) // eight digits, seven commas and the brackets
	for n := 1; n <= 8; n++ {
		if t.Has(n) {
			text = append(text, ',', byte('0'+n))
		}
	}
	if len(text) == 0 {
		return []byte("[]"), nil
	}
	text[0] = '['
	return append(text, ']'), nil
}

// UnmarshalJSON reads a list of numbers.
func (t *Tests) UnmarshalJSON(text []byte) error {
	var numbers []int
	if err := json.Unmarshal(text, &numbers); err != nil {
		return err
	}
	if i := slices.IndexFunc(numbers, func(n int) bool { return n < 1 || n > 8 }); i >= 0 {
		return OptionError{"tests", fmt.Sprintf("found %d; allowed: 1 to 8", numbers[i])}
	}
	*t = TestsOf(numbers...)
	return nil
}

// runTests marks the points at which tests fire, in one pass. zone is the sigma of a point for tests 5 to 8, which are left
// out where it varies (zone is NaN: no comparison with it holds, and within is only counted below).
func runTests(points []Point, zone float64, tests Tests) {
	if tests == 0 {
		tests = AllTests
	}
	if math.IsNaN(zone) {
		tests &= TestsOf(1, 2, 3, 4)
	}
	var s runs
	for i := range points {
		p := &points[i]
		step := 0
		if i > 0 {
			step = sign(p.Value - points[i-1].Value)
		}
		fired := s.add(p.Value, p.Center, step, zone)
		if p.Value > p.Upper || p.Value < p.Lower {
			fired |= TestsOf(1)
		}
		p.Signals = fired & tests
	}
}

// runs is how far the patterns have got: lengths of runs, and of the last eight points which lay beyond a zone (bit 0 is the
// newest).
type runs struct {
	side, onSide         int // of the centre line: +1 or -1
	step, stepped, swung int // last step; steps in a row the same way, and each the other way than the one before
	within               int
	above1, below1       uint8 // beyond 1 sigma
	above2, below2       uint8 // beyond 2 sigma
}

// add takes the next point; step is the sign of its difference from the one before.
func (s *runs) add(v, center float64, step int, zone float64) Tests {
	var fired Tests
	if side := sign(v - center); side != 0 && side == s.side {
		s.onSide++
	} else {
		s.side, s.onSide = side, side*side
	}
	if s.onSide >= 9 {
		fired |= TestsOf(2)
	}
	switch {
	case step == 0:
		s.stepped, s.swung = 0, 0
	case step == s.step:
		s.stepped, s.swung = s.stepped+1, 1
	case step == -s.step:
		s.stepped, s.swung = 1, s.swung+1
	default:
		s.stepped, s.swung = 1, 1
	}
	s.step = step
	if s.stepped >= 5 {
		fired |= TestsOf(3)
	}
	if s.swung >= 13 {
		fired |= TestsOf(4)
	}
	s.above1 = push(s.above1, v > center+zone)
	s.below1 = push(s.below1, v < center-zone)
	s.above2 = push(s.above2, v > center+2*zone)
	s.below2 = push(s.below2, v < center-2*zone)
	if among(s.above2, 3, 2) || among(s.below2, 3, 2) {
		fired |= TestsOf(5)
	}
	if among(s.above1, 5, 4) || among(s.below1, 5, 4) {
		fired |= TestsOf(6)
	}
	if v > center-zone && v < center+zone {
		s.within++
	} else {
		s.within = 0
	}
	if s.within >= 15 {
		fired |= TestsOf(7)
	}
	if s.above1|s.below1 == 0xff && s.above1 != 0 && s.below1 != 0 {
		fired |= TestsOf(8)
	}
	return fired
}

func push(history uint8, now bool) uint8 {
	history <<= 1
	if now {
		history |= 1
	}
	return history
}

// among says whether the newest point and at least k of the last n are marked.
func among(history uint8, n, k int) bool {
	return history&1 == 1 && bits.OnesCount8(history&(1<<n-1)) >= k
}

func sign(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}
