package site

import "testing"

// TestNoTextEndsTheStyle: whatever a station or a page is called, its name stays one string of the style.
func TestNoTextEndsTheStyle(t *testing.T) {
	for text, want := range map[string]string{
		"Quillmere bench 1":          `"Quillmere bench 1"`,
		`"} body { display: none } `: `"\000022\00007d body \00007b display: none \00007d "`,
		"</style><script>":           `"\00003c\00002fstyle\00003e\00003cscript\00003e"`,
		"a\\\nb":                     `"a\00005c\00000ab"`,
	} {
		if got := cssText(text); got != want {
			t.Errorf("%q: got %s, want %s", text, got, want)
		}
	}
}
