package batch

import (
	"strings"
	"unicode/utf8"
)

// CheckSystem is how the last character of a serial number is worked out from those before it, so that one that was misread or mistyped is noticed.
type CheckSystem string

// The systems, by the standard's designations. Both are its hybrid systems: the check character is one of the characters that the number is written in.
const (
	NoCheck  CheckSystem = ""
	Mod37x36 CheckSystem = "ISO/IEC 7064 MOD 37,36" // of digits and capitals
	Mod11x10 CheckSystem = "ISO/IEC 7064 MOD 11,10" // of digits alone
)

// CheckSystems are all of them.
var CheckSystems = []CheckSystem{NoCheck, Mod37x36, Mod11x10}

const checkCharacters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// characters are those that a system knows, in the order of their values; "" for no system.
func (c CheckSystem) characters() string {
	switch c {
	case Mod37x36:
		return checkCharacters
	case Mod11x10:
		return checkCharacters[:10]
	}
	return ""
}

// Character is the check character of a number without it (ISO/IEC 7064, hybrid systems, recursive method): with M characters, P = M and for each
// character a of the number S = P + a mod M, M where that is 0, and P = 2S mod M + 1; the check character is the one with which P + a = 1 mod M. Small letters count as
// capitals; hyphens, blanks and other signs of ASCII do not count. Mendable: a character that the system does not know, or none at all.
func (c CheckSystem) Character(number string) (string, error) {
	known := c.characters()
	m, counted := len(known), 0
	p := m
	for _, r := range strings.ToUpper(number) {
		a := strings.IndexRune(known, r)
		if a < 0 {
			if r < utf8.RuneSelf && !strings.ContainsRune(checkCharacters, r) {
				continue
			}
			return "", Mendable.Errorf("serial number %s has the character %q, for which %s has no value; it takes %s to %s", Shown(number), r, c, known[:1], known[m-1:])
		}
		s := (p + a) % m
		if s == 0 {
			s = m
		}
		p = 2 * s % (m + 1)
		counted++
	}
	if counted == 0 {
		return "", Mendable.Errorf("serial number %q has no character that %s counts; it takes %s to %s", Shown(number), c, known[:1], known[m-1:])
	}
	return known[(m+1-p)%m:][:1], nil
}

// Complete is a number with its check character behind it; the number itself without a system.
func (c CheckSystem) Complete(number string) (string, error) {
	if c == NoCheck {
		return number, nil
	}
	last, err := c.Character(number)
	return number + last, err
}

// Check looks at the last character of a serial number. Mendable: it is not the check character of those before it; the error says which is.
func (c CheckSystem) Check(serial string) error {
	if c == NoCheck {
		return nil
	}
	_, size := utf8.DecodeLastRuneInString(serial)
	number, last := serial[:len(serial)-size], serial[len(serial)-size:]
	want, err := c.Character(number)
	if err != nil {
		return err
	}
	if strings.ToUpper(last) != want {
		return Mendable.Errorf("serial number %s ends in %q, and its check character (%s) is %s: a character of it was misread or mistyped; scan it again, or type it as it stands on the label", Shown(serial), last, c, want)
	}
	return nil
}
