package form

import (
	"testing"

	"sagitta/batch"
)

// FuzzSerials: whatever is written into the field, what is taken are serial numbers, each once, and no more than may be given at once.
func FuzzSerials(f *testing.F) {
	for _, s := range []string{"QM-0001", "QM-0001..QM-0030", "QM-0001 .. 30", "A1, A2;A3\n\tA4", "9..1", "x..y", "0..99999999999999999999", "ä\x00", "\x93"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		all, err := Serials(text, batch.NoCheck)
		if err != nil {
			return
		}
		if len(all) > 100_000 {
			t.Fatalf("%d serial numbers", len(all))
		}
		seen := map[string]bool{}
		for _, s := range all {
			if !batch.IsSerial(s) || seen[s] {
				t.Errorf("%q gives %q", text, s)
			}
			seen[s] = true
		}
	})
}
