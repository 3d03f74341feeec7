package batch

import (
	"testing"
	"unicode"
	"unicode/utf8"
)

// FuzzPersonName: a name that is taken is one line of text that reads as it is written, and is taken again as it is.
func FuzzPersonName(f *testing.F) {
	for _, s := range []string{"Mara Quill", " Ines  Vael\t", "e\u0301tude", "\u202eabc", "a\u200bb", "\u2800", "\xff", "Ⅻ", "1 2"} {
		f.Add(s, "Mara Quill")
	}
	f.Fuzz(func(t *testing.T, typed, other string) {
		name, err := PersonName(typed)
		if err != nil {
			return
		}
		if again, err := PersonName(name); err != nil || again != name {
			t.Errorf("%q is kept as %q, which is %q, %v", typed, name, again, err)
		}
		if n := utf8.RuneCountInString(name); n > longestName || !utf8.ValidString(name) {
			t.Errorf("%q has %d characters", name, n)
		}
		for _, r := range name {
			if unicode.Is(unicode.Cf, r) || unicode.IsControl(r) {
				t.Errorf("%q holds %U", name, r)
			}
		}
		if !LooksLike(name, name) || LooksLike(name, other) != LooksLike(other, name) {
			t.Errorf("%q and %q: likeness has a direction", name, other)
		}
	})
}
