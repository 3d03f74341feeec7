package decode

import (
	"strings"
	"testing"
)

// TestDirtyBytes feeds what a line really brings, case by case, and looks at every event.
func TestDirtyBytes(t *testing.T) {
	cases := map[string]int{}
	for _, c := range []struct{ decoder, what, bytes, want string }{
		{"signed decimal with unit", "empty line", "\r\n+1.950mm\r\n", `garbled "\r\n"; +1.950 "+1.950mm\r\n"; `},
		{"signed decimal with unit", "no sign", "1.950mm\r\n", `garbled "1.950mm\r\n"; `},
		{"signed decimal with unit", "two signs", "+-1.950mm\r\n", `garbled "+-1.950mm\r\n"; `},
		{"signed decimal with unit", "two points", "+1.9.50mm\r\n", `garbled "+1.9.50mm\r\n"; `},
		{"signed decimal with unit", "point lost", "+1950mm\r\n", `garbled "+1950mm\r\n"; `},
		{"signed decimal with unit", "other unit", "+1.950cm\r\n", `garbled "+1.950cm\r\n"; `},
		{"signed decimal with unit", "unit in capitals", "+1.950MM\r\n", `garbled "+1.950MM\r\n"; `},
		{"signed decimal with unit", "blank inside", "+1. 50mm\r\n", `garbled "+1. 50mm\r\n"; `},
		{"signed decimal with unit", "high bit", "+1.9\xb50mm\r\n", `garbled "+1.9\xb50mm\r\n"; `},
		{"signed decimal with unit", "NUL in front", "\x00+1.950mm\r\n", `garbled "\x00+1.950mm\r\n"; `},
		{"signed decimal with unit", "end half lost", "+1.950mm\n+1.951mm\r\n+1.952mm\r\n", `garbled "+1.950mm\n+1.951mm\r\n"; +1.952 "+1.952mm\r\n"; `},
		{"signed decimal with unit", "end with a doubled return", "+1.950mm\r\r\n+1.951mm\r\n", `garbled "+1.950mm\r\r\n"; +1.951 "+1.951mm\r\n"; `},
		{"signed decimal with unit", "too long, then good", strings.Repeat("9", 40) + "\r\n+1.950mm\r\n",
			`garbled "` + strings.Repeat("9", 33) + `"; garbled "9999999\r\n"; +1.950 "+1.950mm\r\n"; `},
		{"signed decimal with unit", "too long, then a good frame as its end", strings.Repeat("9", 33) + "+1.950mm\r\n",
			`garbled "` + strings.Repeat("9", 33) + `"; garbled "+1.950mm\r\n"; `},
		{"signed decimal with unit", "as long as allowed", strings.Repeat("9", 32) + "\r\n+1.950mm\r\n",
			`garbled "` + strings.Repeat("9", 32) + `\r\n"; +1.950 "+1.950mm\r\n"; `},
		{"signed decimal with unit", "an exponent", "+1.95e3mm\r\n", `garbled "+1.95e3mm\r\n"; `},
		{"signed decimal with unit", "other digits", "+١.950mm\r\n", `garbled "+١.950mm\r\n"; `},
		{"decimal inch without leading zero", "a leading zero", "+0.0120in\r\n", `garbled "+0.0120in\r\n"; `},
		{"decimal inch without leading zero", "point lost", "+0120in\r\n", `garbled "+0120in\r\n"; `},
		{"decimal inch without leading zero", "a digit lost", "+.012in\r\n", `garbled "+.012in\r\n"; `},
		{"signed decimal without unit, millimetres", "a digit lost", "+01.950\r+001.951\r", `garbled "+01.950\r"; +001.951 "+001.951\r"; `},
		{"signed decimal without unit, millimetres", "a digit doubled", "+0001.950\r", `garbled "+0001.950\r"; `},
		{"signed decimal without unit, millimetres", "a line feed that it never sends", "+001.950\r\n+001.951\r", `+001.950 "+001.950\r"; garbled "\n+001.951\r"; `},
		{"signed decimal with status words", "a word cut", "+OVE\r\n", `garbled "+OVE\r\n"; `},
		{"signed decimal with status words", "a word and a number", "OVER+1.950mm\r\n", `garbled "OVER+1.950mm\r\n"; `},
		{"whole micrometres ended by a pause", "a letter for a digit", "+00195O", `garbled "+00195O"; `},
		{"polled signed decimal, millimetres", "an answer without sign", "1.950\r", `garbled "1.950\r"; `},
		{"register of a probe, micrometres", "another unit's answer", "\x02\x04\x04\x00\x00\x07\x9e\x48\x1c", `garbled "\x02\x04\x04\x00\x00\a\x9eH\x1c"; `},
		{"register of a probe, micrometres", "cut", "\x01\x04\x04\x00", `cut "\x01\x04\x04\x00"; `},
		{"queried number, millimetres", "a unit that was not asked for", "1.950 mm\n", `garbled "1.950 mm\n"; `},
		{"queried number, millimetres", "two numbers", "1.950,1.951\n", `garbled "1.950,1.951\n"; `},
		{"decimal comma", "a point", "+0.123 mm\r\n", `garbled "+0.123 mm\r\n"; `},
		{"decimal comma", "thousands", "+1.000,123 mm\r\n", `garbled "+1.000,123 mm\r\n"; `},
		{"channel and value", "unknown word", "L:HELP\r\n", `garbled "L:HELP\r\n"; `},
		{"channel and value", "channel lost", ":+0.123mm\r\n", `garbled ":+0.123mm\r\n"; `},
		{"channel and value", "no reading", "L:----\r\n", `Lno reading "L:----\r\n"; `},
		{"start and end marks with xor checksum", "bytes between frames", "xx\x02+1.950mm08\x03", `garbled "xx"; +1.950 "\x02+1.950mm08\x03"; `},
		{"start and end marks with xor checksum", "frame begun twice", "\x02+1.9\x02+1.950mm08\x03", `garbled "\x02+1.9"; +1.950 "\x02+1.950mm08\x03"; `},
		{"start and end marks with xor checksum", "wrong sum", "\x02+1.950mm09\x03", `garbled "\x02+1.950mm09\x03"; `},
		{"start and end marks with xor checksum", "sum that is no sum", "\x02+1.950mmGH\x03", `garbled "\x02+1.950mmGH\x03"; `},
		{"start and end marks with xor checksum", "nothing inside", "\x02\x03", `garbled "\x02\x03"; `},
		{"start and end marks with xor checksum", "start lost", "+1.950mm08\x03", `garbled "+1.950mm08\x03"; `},
		{"fixed width with blanks", "a byte lost", "+  1.950 mm+   1.951 mm+   1.952 mm", `garbled "+  1.950 mm+   1.951 mm"; +1.952 "+   1.952 mm"; `},
		{"fixed width with blanks", "a byte too many", "+   1.950 mm\n+   1.951 mm+   1.952 mm", `+1.950 "+   1.950 mm"; garbled "\n+   1.951 mm"; +1.952 "+   1.952 mm"; `},
		{"fixed width with blanks", "unfinished", "+   1.950 mm+   1.9", `+1.950 "+   1.950 mm"; cut "+   1.9"; `},
		{"whole micrometres ended by a pause", "two frames without a pause", "+001950+001951", `garbled "+001950+001951"; `},
		{"polled signed decimal, millimetres", "the request echoed", "R\r+1.950\r", `garbled "R\r"; +1.950 "+1.950\r"; `},
	} {
		d, err := Find(c.decoder)
		if err != nil {
			t.Fatal(err)
		}
		cases[c.decoder]++
		if got := outcome(play(t, d.Stream(true), []piece{{0, c.bytes}}, longestPause)); got != c.want {
			t.Errorf("%s, %s: %q gives\n\t%s, want\n\t%s", c.decoder, c.what, c.bytes, got, c.want)
		}
	}
	for _, d := range Builtin() {
		if cases[d.Name] < 2 {
			t.Errorf("%s: %d dirty cases, want at least 2", d.Name, cases[d.Name])
		}
	}
}

// A live port's beginning, a silence and a frame without an end leave no known beginning of a frame; an end mark does.
func TestWhatFollows(t *testing.T) {
	d, err := Find("signed decimal with unit")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what   string
		live   bool
		pieces []piece
		want   string
	}{
		{"a live port's beginning", true, []piece{{0, "+1.950mm\r\n+1.951mm\r\n"}}, `garbled "+1.950mm\r\n"; +1.951 "+1.951mm\r\n"; `},
		{"a silence", false, []piece{{0, "+1.9"}, {longestPause, "+1.950mm\r\n+1.951mm\r\n"}}, `cut "+1.9"; garbled "+1.950mm\r\n"; +1.951 "+1.951mm\r\n"; `},
		{"a silence between frames", false, []piece{{0, "+1.950mm\r\n"}, {10 * longestPause, "+1.951mm\r\n"}}, `+1.950 "+1.950mm\r\n"; +1.951 "+1.951mm\r\n"; `},
		{"a garbled frame with its end", false, []piece{{0, "+?\r\n+1.951mm\r\n"}}, `garbled "+?\r\n"; +1.951 "+1.951mm\r\n"; `},
		{"silence inside the end mark", false, []piece{{0, "+1.950mm\r"}, {longestPause, "\n+1.951mm\r\n+1.952mm\r\n"}}, `cut "+1.950mm\r"; garbled "\n+1.951mm\r\n"; +1.952 "+1.952mm\r\n"; `},
	} {
		if got := outcome(play(t, d.Stream(!c.live), c.pieces, longestPause)); got != c.want {
			t.Errorf("%s:\n\t%s, want\n\t%s", c.what, got, c.want)
		}
	}
}

// With a start mark even a frame of fixed length can be trusted anywhere, and is found after bytes of any kind.
func TestFixedLengthWithStart(t *testing.T) {
	d := mustLoad(t, `
name = "eight bytes from an at sign"
family = "text"
[line]
baud = 9600
[frame]
start = "@"
length = 8
[text]
pattern = '(?P<sign>[+-])(?P<digits>\d\.\d{4})'
default_unit = "in"
scale = 0.001`)
	got := outcome(play(t, d.Stream(false), []piece{{0, "345@+1.2345@-2.@+3.4567@-4.56"}}, longestPause))
	want := `garbled "345"; +1.2345 "@+1.2345"; garbled "@-2."; +3.4567 "@+3.4567"; cut "@-4.56"; `
	if got != want {
		t.Errorf("%s, want %s", got, want)
	}
	e := play(t, d.Stream(true), []piece{{0, "@+1.2345"}}, longestPause)
	if v := e[0].Value; v.Value != 0.0012345 || v.MM != 0.0313563 || v.UnitNorm != "in" {
		t.Errorf("scaled: %+v; 1.2345 x 0.001 in is 0.0313563 mm", v)
	}
}
