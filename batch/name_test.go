package batch

import (
	"strings"
	"testing"
)

func TestPersonName(t *testing.T) {
	for typed, want := range map[string]string{
		" Tove  Aske ":              "Tove Aske",
		"A\u030asa Nystro\u0308m":   "\u00c5sa Nystr\u00f6m",
		"O'Dell-Varga Jr.":          "O'Dell-Varga Jr.",
		"\u6c34\u91ce \u7f8e\u54b2": "\u6c34\u91ce \u7f8e\u54b2",
		"Station 3":                 "Station 3",
	} {
		if got, err := PersonName(typed); got != want || err != nil {
			t.Errorf("%q: %q, %v, want %q", typed, got, err, want)
		}
	}
	for typed, says := range map[string]string{
		"":                      "no name",
		" \t ":                  "no name",
		"123":                   "no letter",
		"Tove\xffAske":          "no text",
		"Tove\u202eeksA":        "U+202E", // turns the direction
		"Tove\u2066 Aske":       "U+2066",
		"Tove\u200bAske":        "U+200B", // a space of no width
		"Tove\u00adAske":        "U+00AD", // a hyphen that is not seen
		"Tove\x00Aske":          "U+0000",
		"Tove\x1b[2J":           "U+001B",
		"Tove\ufe0f":            "U+FE0F",
		"Tove\ue000":            "U+E000",
		"\u3164":                "U+3164", // letters that fill a place and show nothing
		"Tove\uffa0":            "U+FFA0",
		"Tove\u115fAske":        "U+115F",
		"To\u034fve":            "U+034F", // joins, and shows nothing
		"Tove\u2800Aske":        "U+2800",
		strings.Repeat("a", 81): "81 characters",
	} {
		if got, err := PersonName(typed); err == nil || KindOf(err) != Mendable || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %q, %v, want a refusal that says %q", typed, got, err, says)
		}
	}
}

// The pairs are from Unicode Technical Standard 39's data (confusables.txt): Cyrillic, Greek and digits for Latin letters.
func TestLooksLike(t *testing.T) {
	for _, c := range []struct {
		a, b string
		like bool
	}{
		{"Tove Aske", "tove aske", true},
		{"Tove Aske", "ToveAske", true},
		{"Tove Aske", "T\u043eve Aske", true}, // Cyrillic o
		{"Tove Aske", "Tove \u0410ske", true}, // Cyrillic A
		{"Tove Aske", "Tov\u0435 Aske", true}, // Cyrillic ie
		{"Tove Aske", "T0ve Aske", true},      // a zero
		{"Wil Rowan", "Wi1 Rowan", true},      // a one
		{"Wil Rowan", "WiI Rowan", true},      // a capital i
		{"ILSE Brandt", "Ilse Brandt", true},
		{"Tove Aske", "Tove Asker", false},
		{"Tove Aske", "Tove Aske B.", false},
		{"Asa", "\u00c5sa", false}, // another letter, and seen to be one
	} {
		if got := LooksLike(c.a, c.b); got != c.like {
			t.Errorf("%q and %q: %v, want %v", c.a, c.b, got, c.like)
		}
	}
}
