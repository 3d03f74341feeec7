package scan

import (
	"slices"
	"strings"
	"testing"
	"unicode"
)

func TestOf(t *testing.T) {
	const code = "QM-2611-0001"
	for sent, marked := range map[string]bool{
		code: false, code + "\r": false, code + "\n": false, code + "\r\n": false, code + "\t": false, "  " + code + " ": false, "\x02" + code + "\x03\r": false,
		"]C0" + code + "\r\n": true, "]Q1" + code: true, "]d2" + code + "\t": true, "]A0*" + code + "*": true, "*" + code + "*\r": true, "]C1\x1d" + code: true, "* " + code + " *": true,
	} {
		if got := Of(sent); got.Text != code || got.Marked != marked {
			t.Errorf("%q: %+v, want %q, marked %t", sent, got, code, marked)
		}
	}
	for sent, want := range map[string]string{"": "", "\r\n": "", "**": "", "*": "*", "]C": "]C", "]C0": "", "*QM": "*QM", "0.31": "0.31", "a*b": "a*b"} {
		if got := Of(sent); got.Text != want {
			t.Errorf("%q: %q, want %q", sent, got.Text, want)
		}
	}
}

func TestForms(t *testing.T) {
	if got, want := Of("Qm 2611").Forms(), []string{"Qm 2611", "QM 2611", "qm 2611", "Qm2611", "QM2611", "qm2611"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got := Of("2611").Forms(); !slices.Equal(got, []string{"2611"}) {
		t.Errorf("%q", got)
	}
	if s := Of("wh 01"); !s.Is("WH01") || !s.Is("wh 01") || s.Is("WH02") || Of("").Is("") {
		t.Error("which code it is")
	}
}

// What is left has no wrapping, and unwrapping it again changes nothing; what is wrapped comes out as it was.
func FuzzOf(f *testing.F) {
	for _, sent := range []string{"QM-2611-0001\r\n", "]C0QM", "*QM*", "]A0*]C0X*", "\x1d\x00", "é\xff", "]]C0C0"} {
		f.Add(sent)
	}
	f.Fuzz(func(t *testing.T, sent string) {
		s := Of(sent)
		if s.Text != strings.TrimSpace(s.Text) || strings.ContainsFunc(s.Text, unicode.IsControl) {
			t.Fatalf("%q: %q is wrapped", sent, s.Text)
		}
		if again := Of(s.Text); again.Text != s.Text || again.Marked {
			t.Fatalf("%q: %q unwraps to %+v", sent, s.Text, again)
		}
		for _, end := range []string{"\r", "\n", "\r\n", "\t", ""} {
			for _, start := range []string{"]C0", "]d2", ""} {
				if got := Of(start + s.Text + end); got.Text != s.Text || got.Marked != (start != "") {
					t.Fatalf("%q between %q and %q: %+v", s.Text, start, end, got)
				}
			}
		}
		forms := s.Forms()
		if (len(forms) == 0) != (s.Text == "") || s.Text != "" && forms[0] != s.Text {
			t.Fatalf("%q: forms %q", s.Text, forms)
		}
		for _, form := range forms[:min(1, len(forms))] {
			if !s.Is(form) {
				t.Fatalf("%q is not its own form %q", s.Text, form)
			}
		}
	})
}
