package form

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sagitta/batch"
)

// maxSerials is how many serial numbers one form may bring.
const maxSerials = 100_000

// Serials reads serial numbers, one a line, or a range "first..last" whose ends differ only in their last digits
// ("QM-2611-0001..QM-2611-0030"). A range is given without the check characters of its numbers, which are added; a number alone has its own. Empty lines are left out. The error names the line, what was found and what is
// allowed.
func Serials(text string, check batch.CheckSystem) ([]string, error) {
	var serials []string
	seen := map[string]int{}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		some, err := serialsOfLine(line, maxSerials-len(serials), check)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+1, err)
		}
		for _, s := range some {
			if first, again := seen[s]; again {
				return nil, fmt.Errorf("line %d: %q is already on line %d; a serial number may be given once", i+1, s, first)
			}
			seen[s] = i + 1
		}
		serials = append(serials, some...)
	}
	return serials, nil
}

// serialsOfLine expands one line into at most room serial numbers.
func serialsOfLine(line string, room int, check batch.CheckSystem) ([]string, error) {
	if most := 2*batch.LongestSerial + len(".."); utf8.RuneCountInString(line) > most {
		return nil, fmt.Errorf("%q has %d characters; a serial number has at most %d", batch.Shown(line), utf8.RuneCountInString(line), batch.LongestSerial)
	}
	if strings.IndexFunc(line, unicode.IsControl) >= 0 || !utf8.ValidString(line) {
		return nil, fmt.Errorf("%q holds a character that cannot be printed; a serial number is printable text", line)
	}
	first, last, isRange := strings.Cut(line, "..")
	if !isRange {
		if room < 1 {
			return nil, fmt.Errorf("more than %d serial numbers; register the rest from the batch's page", maxSerials)
		}
		if n := utf8.RuneCountInString(line); n > batch.LongestSerial {
			return nil, fmt.Errorf("%q has %d characters; a serial number has at most %d", batch.Shown(line), n, batch.LongestSerial)
		}
		return []string{line}, nil
	}
	first, last = strings.TrimSpace(first), strings.TrimSpace(last)
	head, digits := splitDigits(first)
	headLast, digitsLast := splitDigits(last)
	if digits == "" || digitsLast == "" || head != headLast || len(digits) != len(digitsLast) {
		return nil, fmt.Errorf("%q is not a range: both ends start alike and end in equally many digits, as in AB-0001..AB-0030", line)
	}
	from, err := strconv.ParseUint(digits, 10, 63)
	if err != nil {
		return nil, fmt.Errorf("%q: the number %s is too long; at most 18 digits", line, digits)
	}
	to, err := strconv.ParseUint(digitsLast, 10, 63)
	if err != nil {
		return nil, fmt.Errorf("%q: the number %s is too long; at most 18 digits", line, digitsLast)
	}
	if to < from {
		return nil, fmt.Errorf("%q runs backwards; the first serial number comes first", line)
	}
	if to-from >= uint64(max(room, 0)) {
		return nil, fmt.Errorf("%q holds %d serial numbers; at most %d may be given at once", line, to-from+1, maxSerials)
	}
	serials := make([]string, 0, to-from+1)
	for n := from; n <= to; n++ {
		serial, err := check.Complete(fmt.Sprintf("%s%0*d", head, len(digits), n))
		if err != nil {
			return nil, err
		}
		serials = append(serials, serial)
	}
	return serials, nil
}

// splitDigits cuts the digits that end a serial number from what stands before them.
func splitDigits(s string) (head, digits string) {
	i := len(s)
	for i > 0 && s[i-1] >= '0' && s[i-1] <= '9' {
		i--
	}
	return s[:i], s[i:]
}
