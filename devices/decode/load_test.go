package decode

import "testing"

func TestBuiltinDecodersLoad(t *testing.T) {
	all, err := builtins()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 8 {
		t.Errorf("%d built-in decoders, want at least 8", len(all))
	}
	for _, d := range all {
		found, err := Find(d.Name)
		if err != nil || found != d {
			t.Errorf("Find(%q) = %v, %v", d.Name, found, err)
		}
	}
}
