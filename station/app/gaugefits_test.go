package app

import (
	"strings"
	"testing"

	"sagitta/batch"
)

// TestGaugeFitsBeforeItIsSaved: an entry with which the station could not open its lines is refused in words before it is
// saved, so that a mistake in one gauge never keeps the others from being read.
func TestGaugeFitsBeforeItIsSaved(t *testing.T) {
	a, err := Open(t.Context(), Options{Dir: t.TempDir(), Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}()
	gauge := func(name, capture string) batch.Gauge {
		return batch.Gauge{Name: name, Capture: capture, Decoder: "signed decimal with unit", Sense: 1, ResolutionMM: 0.01}
	}
	pen := gauge("pen", "typed")
	if err := a.gaugeFits(t.Context(), pen); err != nil {
		t.Fatal(err)
	}
	pen, err = a.Record.SaveGauge(t.Context(), "Wren Halloway", pen)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.gaugeFits(t.Context(), pen); err != nil {
		t.Errorf("the same gauge again: %v", err)
	}
	onPort := gauge("probe", "request")
	onPort.Path = "/dev/ttyS0"
	for want, g := range map[string]batch.Gauge{"prefix that does not begin the other": gauge("second pen", "typed"), "sends no request": onPort, "neither a USB identity nor a path": gauge("dial", "stream")} {
		if err := a.gaugeFits(t.Context(), g); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), g.Name) || batch.KindOf(err) != batch.Conflict {
			t.Errorf("%s: %v, want %q", g.Name, err, want)
		}
	}
	if err := a.lines.ask("nothing"); err == nil {
		t.Errorf("asked without a line: %v", err)
	}
}
