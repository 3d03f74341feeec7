package draw

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// widths are the symbols of Code 128 by their value, as the widths of bars and spaces in turn: ISO/IEC 15417, table 1. 103 to 105 begin a
// code in set A, B, C.
var widths = strings.Fields(`212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222
123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 232121 111323 131123 131321
112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 313121 211331 231131 213113 213311 213131 311123 311321
331121 312113 312311 332111 314111 221411 431111 111224 111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211
221114 413111 241112 134111 111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113
114311 411113 411311 113141 114131 311141 411131 211412 211214 211232`)

// modules reads the bars back out of a drawing: the widths of bars and spaces in turn, and the blanks before and behind.
func modules(t *testing.T, svg string) (text string, before, behind int) {
	t.Helper()
	number := func(s string) int {
		n, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	all := number(regexp.MustCompile(`viewBox="0 0 (\d+) 40"`).FindStringSubmatch(svg)[1])
	end := 0
	for i, bar := range regexp.MustCompile(`<rect x="(\d+)" width="(\d+)" height="40" fill="#000"/>`).FindAllStringSubmatch(svg, -1) {
		x, wide := number(bar[1]), number(bar[2])
		if i == 0 {
			before = x
		} else {
			text += strconv.Itoa(x - end)
		}
		text += strconv.Itoa(wide)
		end = x + wide
	}
	return text, before, all - end
}

// decoded reads a Code 128 from the widths of its bars and spaces.
func decoded(t *testing.T, bars string) string {
	t.Helper()
	body, ended := strings.CutSuffix(bars, "2331112")
	if !ended || len(body)%6 != 0 {
		t.Fatalf("the bars %s do not end as a code does", bars)
	}
	var values []int
	for i := 0; i < len(body); i += 6 {
		v := slices.Index(widths, body[i:i+6])
		if v < 0 {
			t.Fatalf("%s is no symbol", body[i:i+6])
		}
		values = append(values, v)
	}
	sum := values[0]
	for i, v := range values[1 : len(values)-1] {
		sum += (i + 1) * v
	}
	if check := values[len(values)-1]; sum%103 != check {
		t.Fatalf("the check symbol is %d, want %d", check, sum%103)
	}
	set, text := values[0], ""
	for _, v := range values[1 : len(values)-1] {
		switch {
		case v == 99 && set != 105:
			set = 105
		case v == 100 && set != 104:
			set = 104
		case v == 101 && set != 103:
			set = 103
		case set == 105:
			text += strconv.Itoa(v/10) + strconv.Itoa(v%10)
		case v > 95 || set == 103 && v > 63:
			t.Fatalf("symbol %d writes no character here", v)
		default:
			text += string(rune(' ' + v))
		}
	}
	return text
}

// TestBarCodeReadsBack decodes what was drawn, by the table of the standard.
func TestBarCodeReadsBack(t *testing.T) {
	for _, text := range []string{"QM-2611", "WH-01", "00417", "A", "QM-2611-0001", "lower case ~ {}", "1234567890", "x12y3456", `a"<&>b`} {
		bars, before, behind := modules(t, string(BarCode(text)))
		if got := decoded(t, bars); got != text {
			t.Errorf("%q reads back as %q", text, got)
		}
		if before < 10 || behind < 10 { // ISO/IEC 15417, 4.4
			t.Errorf("%q: blanks of %d and %d modules", text, before, behind)
		}
	}
	for _, text := range []string{"", "Åse", "a\nb", strings.Repeat("x", 81)} {
		if got := BarCode(text); got != "" {
			t.Errorf("%q: drawn as %s", text, got)
		}
	}
}
