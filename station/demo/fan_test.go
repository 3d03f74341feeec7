package demo

import (
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/app"
)

// TestFannedNecksAtTheBench inspects necks with slanted frets through pseudo-terminals, each fret by each fret and in sweeps: every
// first verdict is the one that was planted, and relief of both sides and twist are the truth's within their uncertainty. The truth's
// places are solved by the simulator's own geometry.
func TestFannedNecksAtTheBench(t *testing.T) {
	opt := app.Options{Dir: t.TempDir(), Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}
	d, err := open(t.Context(), opt, 1, os.DirFS("testdata/fan"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	var said strings.Builder
	if err := d.Unattended(t.Context(), &said, io.Discard); err != nil {
		t.Fatal(err)
	}
	necks, worst := 0, 0.0
	for _, sc := range d.scenarios {
		truth, err := sc.Truth()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range truth {
			necks++
			first := firstVerdict(t, d, row.Serial)
			if string(first.Disposition) != row.Expect {
				t.Errorf("%s (%s): %s, want %s: %s", row.Serial, row.What, first.Disposition, row.Expect, failing(first.Result))
			}
			for _, w := range []struct {
				name, track string
				want        float64
			}{{inspect.Relief, "bass", row.ReliefBassMM}, {inspect.Relief, "treble", row.ReliefTrebleMM}, {inspect.Twist, "", row.TwistDeg}} {
				c := rowOf(first.Result, w.name, w.track)
				if c == nil || c.Value == nil || c.U == nil {
					t.Errorf("%s: no %s %s", row.Serial, w.name, w.track)
					continue
				}
				off := math.Abs(*c.Value-w.want) / *c.U
				worst = max(worst, off)
				if off > 4 {
					t.Errorf("%s, %s %s: %v (u %v), true %v", row.Serial, w.name, w.track, *c.Value, *c.U, w.want)
				}
			}
		}
	}
	t.Logf("%d necks with slanted frets: every first verdict as planted; relief and twist within %.1f standard uncertainties\n%s", necks, worst, said.String())
}

// firstVerdict is the verdict of a neck's first inspection.
func firstVerdict(t *testing.T, d *Station, serial string) *batch.Verdict {
	t.Helper()
	neck, err := d.Record.Neck(t.Context(), serial)
	if err != nil {
		t.Fatal(err)
	}
	all, err := d.Record.Inspections(t.Context(), neck.ID)
	if err != nil || len(all) == 0 {
		t.Fatalf("%s: %d inspections, %v", serial, len(all), err)
	}
	verdicts, err := d.Record.Verdicts(t.Context(), all[0].ID)
	if err != nil || len(verdicts) == 0 {
		t.Fatalf("%s: %d verdicts, %v", serial, len(verdicts), err)
	}
	return &verdicts[0]
}

// rowOf is a result's row of a name and track, nil where it has none.
func rowOf(r *inspect.Result, name, track string) *inspect.Characteristic {
	for i := range r.Characteristics {
		if c := &r.Characteristics[i]; c.Name == name && c.Track == track {
			return c
		}
	}
	return nil
}

// failing names what does not conform.
func failing(r *inspect.Result) string {
	var words []string
	for _, c := range r.Characteristics {
		if c.Zone == inspect.Nonconforming {
			words = append(words, c.Name+" "+inspect.Place(c.Track, c.String, c.Fret))
		}
	}
	return strings.Join(words, "; ")
}
