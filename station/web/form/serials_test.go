package form

import (
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
)

func TestSerials(t *testing.T) {
	got, err := Serials("QM-1\r\n\n QM-2611-0009..QM-2611-0011 \nA99..A99\n", batch.NoCheck)
	want := []string{"QM-1", "QM-2611-0009", "QM-2611-0010", "QM-2611-0011", "A99"}
	if err != nil || !slices.Equal(got, want) {
		t.Fatalf("got %q, %v; want %q", got, err, want)
	}
	// 07945 is the worked example of ISO/IEC 7064, MOD 11,10.
	if got, err := Serials("0793..0794\n0123", batch.Mod11x10); err != nil || len(got) != 3 || got[1] != "07945" || got[2] != "0123" {
		t.Errorf("a range gets check characters, and a number alone has its own: %q, %v", got, err)
	}
	if _, err := Serials("A-1..A-2", batch.Mod11x10); err == nil || !strings.Contains(err.Error(), "takes 0 to 9") {
		t.Errorf("letters in a range of digits: %v", err)
	}
	for text, say := range map[string]string{
		"QM-1\nQM-1":          "line 2",
		"QM-01..QM-02\nQM-02": "already on line 1",
		"QM-01..QX-02":        "not a range",
		"QM-01..QM-2":         "not a range",
		"..":                  "not a range",
		"QM-9..QM-1":          "backwards",
		"Q0000000..Q9999999":  "at most 100000",
		"QM\x001":             "cannot be printed",
		"1" + strings.Repeat("0", 30) + "..2" + strings.Repeat("0", 30): "too long",
	} {
		if got, err := Serials(text, batch.NoCheck); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("Serials(%.40q) = %d serials, %v; want an error that says %q", text, len(got), err, say)
		}
	}
}
