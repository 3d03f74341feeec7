package export

import (
	"math"
	"strconv"
	"testing"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// TestSummary checks the first page: answer, yields, reasons, dispositions, gauges, where to sign.
func TestSummary(t *testing.T) {
	s := newShop(30)
	f := open(t, made(t, s, options("mm")))
	for _, text := range []string{
		"Batch QM-2611",
		"26 of 30 may ship, 1 of them by concession; 2 wait for rework; 1 must be measured again; 1 has no verdict yet; 4 failed at the first inspection, 3 of them by relief, bass side, fret 7.",
		"scale 648 mm, 22 frets, body joint at fret 17, board radius 305 mm, double-acting truss rod",
		"at fret 7 over the chord from fret 1 to fret 17; positive is forward bow; neck in playing position",
		"guarded acceptance: conforming inside the limits drawn in by 1.645 times the standard uncertainty u, nonconforming outside the limits, undecided between",
		"2026-03-02 07:30 by Ines Quill", "still open", "undecided", "remeasure", "Inspected by", "Released by", "Date", "each track, each fret",
		"Signed by Ines Quill on 2026-03-04 11:30, to close a batch: all are out. SHA-256 12ab",
	} {
		if find(t, f, "Summary", text) == "" {
			t.Errorf("Summary does not say %q", text)
		}
	}
	// Wilson's bounds are the roots of (k/n - p)^2 = z^2 p (1 - p) / n (Wilson, 1927; NIST/SEMATECH 7.2.4.1).
	for head, k := range map[string]int{"First-pass yield": 24, "Final yield": 25} {
		at := find(t, f, "Summary", head)
		share := number(t, f, "Summary", beside(t, at, 3))
		near(t, head, share, float64(k)/28, 1e-12)
		for i := 4; i <= 5; i++ {
			p := number(t, f, "Summary", beside(t, at, i))
			near(t, head+", bound", (share-p)*(share-p), 1.959964*1.959964*p*(1-p)/28, 1e-7)
			if (p < share) != (i == 4) {
				t.Errorf("%s: bound %d is %v beside %v", head, i, p, share)
			}
		}
	}
	at := find(t, f, "Summary", "rocker, treble, fret 9")
	near(t, "running sum", number(t, f, "Summary", beside(t, at, 3)), 1, 1e-12)
	at = find(t, f, "Summary", "height gauge")
	if got := shown(t, f, "Summary", beside(t, at, 4)); got != "overdue" {
		t.Errorf("height gauge's certificate is %q, want overdue", got)
	}
	if got := shown(t, f, "Summary", beside(t, find(t, f, "Summary", "Station"), 1)); got != "bench 1" {
		t.Errorf("the inspecting station is %q, want the one in the record, whoever prints the report", got)
	}
	if got := formatOf(t, f, "Summary", beside(t, find(t, f, "Summary", "relief"), 2)); got != "0.000" {
		t.Errorf("relief's lower limit has format %q, want 0.000", got)
	}
}

// TestSummaryInDoubt: where first measurements are in doubt, the yields stand with them and without, and it is said how many they are.
func TestSummaryInDoubt(t *testing.T) {
	s := newShop(30)
	s.firstsInDoubt = 3
	f := open(t, made(t, s, options("mm")))
	if find(t, f, "Summary", "3 of 28 necks in these numbers are in doubt by first measurements. The lines without doubt leave them out.") == "" {
		t.Error("Summary does not say how many are in doubt")
	}
	for head, want := range map[string][2]float64{"First-pass yield": {24, 28}, "First-pass yield without doubt": {21, 25}, "Final yield without doubt": {22, 25}} {
		at := find(t, f, "Summary", head)
		k, of := number(t, f, "Summary", beside(t, at, 1)), number(t, f, "Summary", beside(t, at, 2))
		if k != want[0] || of != want[1] {
			t.Errorf("%s: %g of %g, want %g of %g", head, k, of, want[0], want[1])
		}
	}
	if f := open(t, made(t, newShop(30), options("mm"))); find(t, f, "Summary", "First-pass yield without doubt") != "" {
		t.Error("a batch without doubt has a line without doubt")
	}
}

// TestSummaryHeld: necks that an outgoing audit holds are not among those that may ship, and are marked in their rows.
func TestSummaryHeld(t *testing.T) {
	s := newShop(30)
	s.counts.Held, s.necks[3].Held = 2, true
	f := open(t, made(t, s, options("mm")))
	for _, text := range []string{
		"24 of 30 may ship, 1 of them by concession; 2 are held after an outgoing audit; 2 wait for rework; 1 must be measured again; 1 has no verdict yet; 4 failed at the first inspection, 3 of them by relief, bass side, fret 7.",
		"Held",
	} {
		if find(t, f, "Summary", text) == "" {
			t.Errorf("Summary does not say %q", text)
		}
	}
	if find(t, f, "Necks", "held") == "" {
		t.Error("no neck is marked held")
	}
}

// TestContrast: text on each tint has 4.5:1 by the formula of WCAG 2.2 (relative luminance, contrast ratio).
func TestContrast(t *testing.T) {
	luminance := func(color string) float64 {
		sum := 0.0
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			n, err := strconv.ParseUint(color[2*i:2*i+2], 16, 8)
			if err != nil {
				t.Fatal(err)
			}
			c := float64(n) / 255
			if c <= 0.04045 {
				c /= 12.92
			} else {
				c = math.Pow((c+0.055)/1.055, 2.4)
			}
			sum += weight * c
		}
		return sum
	}
	for _, p := range []tint{good, bad, unsure, special, doubt, {paper, ink}, {"FFFFFF", faint}} {
		if ratio := (luminance(p.fill) + 0.05) / (luminance(p.text) + 0.05); ratio < 4.5 {
			t.Errorf("%s on %s has a contrast of %.2f:1", p.text, p.fill, ratio)
		}
	}
}

// TestEmptyBatch: nothing inspected, no gauges, no limits, still a whole workbook with 1 chart.
func TestEmptyBatch(t *testing.T) {
	s := &shop{batch: newShop(1).batch}
	s.batch.Spec.Spec = &inspect.Spec{Name: "QM Bolt 648", Neck: s.batch.Spec.Spec.Neck}
	f := open(t, made(t, s, options("")))
	for _, text := range []string{"No neck has been inspected yet.", "The specification sets no limits: nothing was judged.",
		"No gauge is on record: the readings were typed by hand.", "No neck failed its first inspection."} {
		if find(t, f, "Summary", text) == "" {
			t.Errorf("Summary does not say %q", text)
		}
	}
}

// TestChecksPassed: a check that passed and one that failed are called so on both sheets that tell of checks, and are coloured by it.
func TestChecksPassed(t *testing.T) {
	s := newShop(1)
	for _, passed := range []bool{true, false} {
		s.gauges[0].Checks = []batch.GaugeCheck{{At: opened, By: "Mara Quill", Good: passed}}
		f := open(t, made(t, s, options("mm")))
		want := map[bool]string{true: "passed", false: "failed"}[passed]
		if got := shown(t, f, "Gauges", under(t, f, "Gauges", "Check", 2)); got != want {
			t.Errorf("Gauges says %q of a check with passed %v, want %q", got, passed, want)
		}
		if got := shown(t, f, "Summary", beside(t, find(t, f, "Summary", s.gauges[0].Name), 5)); got != want {
			t.Errorf("the Summary says %q of a check with passed %v, want %q", got, passed, want)
		}
	}
}

// TestSummaryWords: what the counts mean and how a yield's interval is meant is said as the dictionary has it.
func TestSummaryWords(t *testing.T) {
	s := newShop(3)
	f := open(t, made(t, s, options("mm")))
	for _, m := range tell.Meanings(s.counts) {
		at := find(t, f, "Summary", m.Means)
		if got := shown(t, f, "Summary", beside(t, at, -1)); got != strconv.Itoa(m.Count) {
			t.Errorf("%s is %s, want %d", m.Name, got, m.Count)
		}
	}
	find(t, f, "Summary", tell.YieldNote)
}
