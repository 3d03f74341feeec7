package batch

import (
	"strings"
	"testing"
)

// TestCheckCharacters: published numbers with their check characters. All are quoted from memory of where they were published; that none was remembered wrongly
// shows in that each fits.
func TestCheckCharacters(t *testing.T) {
	for _, c := range []struct {
		system         CheckSystem
		number, source string
	}{
		{Mod37x36, "A1-2425G-ABC1234002-M", "Global Release Identifier standard, its example"},
		{Mod37x36, "0000-0000-D07A-0090-Q", "ISO 15706-1, International Standard Audiovisual Number, an example of its root and episode"},
		{Mod37x36, "0000-0001-8947-0000-8", "ISO 15706-1, another"},
		{Mod11x10, "07945", "ISO/IEC 7064, the worked example of 0794"},
		{Mod11x10, "86095742719", "the example of the German tax identification number's definition"},
		{Mod11x10, "36574261809", "another number published as an example of it"},
	} {
		if err := c.system.Check(c.number); err != nil {
			t.Errorf("%s: %v", c.source, err)
		}
		if got, err := c.system.Complete(c.number[:len(c.number)-1]); got != c.number || err != nil {
			t.Errorf("%s: it is completed to %s, %v", c.source, got, err)
		}
	}
	// Worked out by hand with the standard's recursion, M = 10: P = 10; a = 1: S = 11 mod 10 = 1, P = 2 mod 11 = 2; a = 2: S = 4, P = 8; the character a
	// for which 8 + a = 1 mod 10 is 3.
	if got, err := Mod11x10.Character("12"); got != "3" || err != nil {
		t.Errorf("12 has %s, %v", got, err)
	}
}

// TestOneWrongCharacterIsFound: whichever character is taken for whichever other, and nearly whichever two neighbours are exchanged.
func TestOneWrongCharacterIsFound(t *testing.T) {
	for system, number := range map[CheckSystem]string{Mod37x36: "QM-2611-0047", Mod11x10: "2611-0047"} {
		full, err := system.Complete(number)
		if err != nil {
			t.Fatal(err)
		}
		known := system.characters()
		for i := range full {
			for _, other := range known {
				wrong := full[:i] + string(other) + full[i+1:]
				if full[i] == '-' || wrong == full {
					continue
				}
				if err := system.Check(wrong); err == nil {
					t.Errorf("%s: %s is taken for %s", system, wrong, full)
				}
			}
			if i > 0 && full[i] != '-' && full[i-1] != '-' && full[i] != full[i-1] {
				if wrong := full[:i-1] + full[i:i+1] + full[i-1:i] + full[i+1:]; system.Check(wrong) == nil {
					t.Errorf("%s: %s is taken for %s", system, wrong, full)
				}
			}
		}
	}
}

// TestCheckSaysWhatIsExpected: the character that was expected, and a character that has no value, by name.
func TestCheckSaysWhatIsExpected(t *testing.T) {
	for _, c := range []struct {
		system CheckSystem
		serial string
		wants  []string
	}{
		{Mod37x36, "A1-2425G-ABC1234002-N", []string{"A1-2425G-ABC1234002-N", `ends in "N"`, "MOD 37,36) is M:", "scan it again"}},
		{Mod37x36, "A1-2425G-ABC1234003-M", []string{`ends in "M"`}},
		{Mod11x10, "07940", []string{`ends in "0"`, "MOD 11,10) is 5:"}},
		{Mod11x10, "A795", []string{`'A'`, "takes 0 to 9"}},
		{Mod37x36, "Ø-15", []string{`'Ø'`, "takes 0 to Z"}},
		{Mod37x36, "7", []string{"no character that"}},
		{Mod37x36, "", []string{"no character that"}},
	} {
		err := c.system.Check(c.serial)
		if err == nil || KindOf(err) != Mendable {
			t.Errorf("%q: %v", c.serial, err)
			continue
		}
		for _, want := range c.wants {
			if !strings.Contains(err.Error(), want) {
				t.Errorf("%q: %v does not say %q", c.serial, err, want)
			}
		}
	}
	if err := Mod37x36.Check("a1-2425g-abc1234002-m"); err != nil {
		t.Errorf("small letters: %v", err)
	}
	if err := NoCheck.Check("anything"); err != nil {
		t.Error(err)
	}
}
