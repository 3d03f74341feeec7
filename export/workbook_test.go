package export

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestSheetsAndHeads holds names of sheets and heads of columns, which other people's filters and macros rely on.
func TestSheetsAndHeads(t *testing.T) {
	for _, u := range []string{"mm", "in"} {
		f := open(t, made(t, newShop(6), options(u)))
		var s strings.Builder
		for _, sheet := range f.GetSheetList() {
			s.WriteString("[" + sheet + "]\n")
			if sheet == "Summary" {
				continue
			}
			row := heads(t, f, sheet)
			s.WriteString(strings.Join(row, "\n") + "\n")
			unique := slices.Clone(row)
			slices.Sort(unique)
			if len(slices.Compact(unique)) != len(row) {
				t.Errorf("%s has a head twice: pivot tables cannot tell the columns apart", sheet)
			}
		}
		golden := filepath.Join("testdata", "heads."+u+".txt")
		if *update {
			if err := os.WriteFile(golden, []byte(s.String()), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if s.String() != string(want) {
			t.Errorf("heads in %s differ from %s:\n%s", u, golden, s.String())
		}
	}
}

// TestNecks checks rows of Necks against the invented batch.
func TestNecks(t *testing.T) {
	f := open(t, made(t, newShop(30), options("mm")))
	first := "relief, bass side, fret 7 over frets 1–17, first (mm)"
	last := "relief, bass side, fret 7 over frets 1–17, last (mm)"
	for _, c := range []struct {
		head string
		row  int
		want string
	}{
		{"Serial number", 3, "QM-2611-0002"},
		{"Attempts", 3, "2"},
		{"Disposition", 3, "pass"},
		{"Passed at the first inspection", 2, "yes"},
		{"Passed at the first inspection", 3, "no"},
		{"First failing characteristic", 3, "relief, bass side, fret 7"},
		{first, 3, "0.412 out"},
		{last, 3, "0.308"},
		{first, 4, "0.357 ?"},
		{"Disposition", 4, "remeasure"},
		{"Passed at the first inspection", 4, ""},
		{"State of that", 4, "undecided"},
		{"Disposition", 5, "concession"},
		{"Decided by", 5, "Ines Quill"},
		{"Reason given", 5, "=played by the customer, accepted"},
		{"rocker, treble side, worst, first (mm)", 5, "0.055 out"},
		{"Closest to its limits, last", 5, "rocker, treble side, fret 9"},
		{"Disposition", 6, ""}, // registered, not inspected
		{first, 6, ""},
		{"twist, first (deg)", 2, "0.11"},
		{"pitch, string 6, last (cents)", 2, "1.5"},
	} {
		if got := shown(t, f, "Necks", under(t, f, "Necks", c.head, c.row)); got != c.want {
			t.Errorf("%s, row %d: shown %q, want %q", c.head, c.row, got, c.want)
		}
	}
	near(t, "relief, unrounded", number(t, f, "Necks", under(t, f, "Necks", first, 3)), 0.412, 1e-12)
	if got := cell(t, f, "Necks", beside(t, under(t, f, "Necks", "rocker, treble side, worst, first (mm)", 5), 1)); got != "9" {
		t.Errorf("the worst rocker is at fret %q, want 9", got)
	}
	// (0.03 - 0.055) / (2 * 0.006), by the definition of the column.
	near(t, "margin in U", number(t, f, "Necks", under(t, f, "Necks", "Its margin (multiples of U)", 5)), -0.025/0.012, 1e-9)
	at := under(t, f, "Necks", first, 3)
	if st := styleOf(t, f, "Necks", at); len(st.Fill.Color) != 1 || st.Fill.Color[0] != bad.fill {
		t.Errorf("Necks!%s is outside its limits and has fill %v, want %s", at, st.Fill.Color, bad.fill)
	}
}

// TestDates: cells are dates in local time. Serial 25569 is 1970-01-01 in the 1900 date system (ISO/IEC 29500-1, 18.17.4).
func TestDates(t *testing.T) {
	f := open(t, made(t, newShop(30), options("mm")))
	at := under(t, f, "Necks", "First inspected", 2)
	local := opened.Add(45*time.Second + 2*time.Hour) // zone250 is two hours ahead
	near(t, "serial of the first inspection", number(t, f, "Necks", at), 25569+float64(local.Unix())/86400, 1e-7)
	if got := shown(t, f, "Necks", at); got != "2026-03-02 07:30:45" {
		t.Errorf("first inspection shown %q, want 2026-03-02 07:30:45", got)
	}
	west := options("mm")
	west.Location = time.FixedZone("west", -7*3600)
	f = open(t, made(t, newShop(1), west))
	if got := shown(t, f, "Gauges", under(t, f, "Gauges", "Calibration due", 2)); got != "2026-09-01" {
		t.Errorf("calibration due shown %q seven hours west, want 2026-09-01", got)
	}
}

// TestReadings checks provenance, fate and decimals of readings.
func TestReadings(t *testing.T) {
	s := newShop(2)
	s.readings[0].Raw = []byte("\x02+00.123\\ \xb5m\t\r\n")
	f := open(t, made(t, s, options("mm")))
	for _, c := range []struct {
		head string
		row  int
		want string
	}{
		{"Point", 2, "bass side, fret 1"},
		{"Gauge", 2, "carriage indicator"},
		{"Frame as sent", 2, `\x02+00.123\\ \xb5m\t\r\n`},
		{"Frame (hexadecimal)", 2, "022b30302e3132335c20b56d090d0a"},
		{"Decoder", 2, "signed-line@2"},
		{"Digits as sent", 3, s.readings[1].Sent},
		{"Standard uncertainty (mm)", 2, "0.0032"},
		{"Gauge", 46, "typed by hand"},
		{"Unit", 46, "cents"},
		{"Point", 46, "pitch of string 6, cents from its target"},
		{"Laying", 32, "1"},
		{"Laying", 33, "2"},
		{"Laying", 47, ""}, // a string's height
		{"Status", 2, "counts"},
		{"Status", 48, "replaced"},
		{"Status", 49, "taken back"},
		{"Replaces or takes back reading", 49, "47"},
		{"Reason", 49, "foot off the string"},
		{"Status", 50, "takes back"},
		{"Status", 51, "skipped"},
		{"Value (mm; cents for pitch)", 50, ""},
		{"Value (mm; cents for pitch)", 47, "1.950"},
		{"Status", 52, "counts"},
		{"Value (mm; cents for pitch)", 52, ""}, // pitch declared: a confirmation
		{"Serial number", 53, "QM-2611-0002"},
	} {
		if got := shown(t, f, "Readings", under(t, f, "Readings", c.head, c.row)); got != c.want {
			t.Errorf("%s, row %d: shown %q, want %q", c.head, c.row, got, c.want)
		}
	}
}

// TestRework: relief before comes from the attempt that the rework follows, after from the next one.
func TestRework(t *testing.T) {
	s := newShop(6)
	f := open(t, made(t, s, options("mm")))
	var bass [2]float64
	treble := 0.0
	for i, in := range s.necks[1].Inspections {
		for _, c := range in.Verdict.Result.Characteristics {
			if c.Name == "relief" && c.Track == "bass" {
				bass[i] = *c.Value
			} else if c.Name == "relief" {
				treble = *c.Value
			}
		}
	}
	near(t, "mean relief before", number(t, f, "Rework", under(t, f, "Rework", "Mean relief before (mm)", 2)), (bass[0]+treble)/2, 1e-12)
	near(t, "mean relief after", number(t, f, "Rework", under(t, f, "Rework", "Mean relief at the next inspection (mm)", 2)), (bass[1]+treble)/2, 1e-12)
	near(t, "turns", number(t, f, "Rework", under(t, f, "Rework", "Rod turns", 2)), 0.1875, 0)
}

// TestInches: 0.412 mm is 0.016220 in at 25.4 mm to the inch; degrees and cents stay.
func TestInches(t *testing.T) {
	f := open(t, made(t, newShop(6), options("in")))
	at := under(t, f, "Necks", "relief, bass side, fret 7 over frets 1–17, first (in)", 3)
	near(t, "relief in inches", number(t, f, "Necks", at), 0.412/25.4, 1e-12)
	if got := shown(t, f, "Necks", at); got != "0.01622 out" {
		t.Errorf("relief shown %q, want 0.01622 out", got)
	}
	near(t, "twist", number(t, f, "Necks", under(t, f, "Necks", "twist, first (deg)", 3)), 0.113, 1e-12)
	near(t, "pitch", number(t, f, "Readings", under(t, f, "Readings", "Value (in; cents for pitch)", 46)), 1.5, 1e-12)
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for _, c := range row {
				if strings.Contains(c, "(mm") || sheet == "Summary" && strings.HasSuffix(c, " mm") {
					t.Errorf("%s, row %d speaks of mm: %q", sheet, i+1, c)
				}
			}
		}
	}
}

// TestUnits: decimals show every step of the resolution.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		unit       string
		resolution float64
		want       int
	}{
		{"mm", 0.01, 2}, {"mm", 0.005, 3}, {"mm", 0.001, 3}, {"mm", 0.0001, 4}, {"mm", 1, 2}, {"mm", 0, 3},
		{"in", 0.01, 4}, {"in", 0.001, 5}, {"in", 25.4 * 0.0005, 4}, {"in", 25.4 * 0.0001, 4}, {"in", 25.4 * 0.00005, 5},
	} {
		u, err := newUnit(c.unit)
		if err != nil {
			t.Fatal(err)
		}
		if got := u.decimals(c.resolution); got != c.want {
			t.Errorf("%v mm in %s: %d decimals, want %d", c.resolution, c.unit, got, c.want)
		}
	}
	err := Workbook(context.Background(), &bytes.Buffer{}, newShop(1), "QM-2611", Options{Unit: "cm"})
	if err == nil || !strings.Contains(err.Error(), `"cm"`) || !strings.Contains(err.Error(), `"in"`) {
		t.Errorf("unit cm gives %v; the error must name it and what is allowed", err)
	}
}

// TestWithoutValue: what cannot be a number says what is known.
func TestWithoutValue(t *testing.T) {
	s := newShop(1)
	cs := s.necks[0].Inspections[0].Verdict.Result.Characteristics
	for i := range cs {
		c := &cs[i]
		switch {
		case c.Name == "relief" && c.Track == "bass":
			c.Value, c.Zone, c.IntervalMM = nil, inspect.Nonconforming, &[2]*float64{ptr(0.6), nil}
		case c.Name == "relief":
			c.Value, c.Zone, c.IntervalMM = nil, inspect.Undecided, &[2]*float64{nil, ptr(0.25)}
		case c.Name == "twist":
			c.Value, c.Zone = nil, inspect.NotMeasured
		}
	}
	f := open(t, made(t, s, options("mm")))
	for head, want := range map[string]string{
		"relief, bass side, fret 7 over frets 1–17, first (mm)":   "over 0.600 out",
		"relief, treble side, fret 7 over frets 1–17, first (mm)": "under 0.250 ?",
		"twist, first (deg)": "not measured",
	} {
		if got := shown(t, f, "Necks", under(t, f, "Necks", head, 2)); got != want {
			t.Errorf("%s shows %q, want %q", head, got, want)
		}
	}
}

// TestLateCharacteristic: a limited characteristic that the first judged necks did not have is not lost.
func TestLateCharacteristic(t *testing.T) {
	s := newShop(peeked + 20)
	last := s.necks[len(s.necks)-1].Inspections[0].Verdict.Result
	last.Characteristics = append(last.Characteristics, inspect.Characteristic{Name: "hump", Track: "treble", Value: ptr(0.07),
		Unit: "mm", U: ptr(0.005), Upper: ptr(0.05), Zone: inspect.Nonconforming})
	f := open(t, made(t, s, options("mm")))
	at := under(t, f, "Necks", "Other limited characteristics, last", len(s.necks)+1)
	if got := shown(t, f, "Necks", at); got != "hump, treble side 0.070 mm (nonconforming)" {
		t.Errorf("the hump is shown as %q", got)
	}
}

// TestLongText: what a cell cannot hold is shortened and says so (32,767 characters: ISO/IEC 29500 leaves it to programs).
func TestLongText(t *testing.T) {
	s := newShop(3)
	s.readings[0].Raw = bytes.Repeat([]byte{'x'}, 40000)
	f := open(t, made(t, s, options("mm")))
	got := shown(t, f, "Readings", under(t, f, "Readings", "Frame as sent", 2))
	if !strings.HasSuffix(got, " ... (40000 bytes in all)") || len(got) > 32767 {
		t.Errorf("a frame of 40,000 bytes is shown in %d characters ending %q", len(got), got[len(got)-30:])
	}
}

// TestProgress rises by one to its total.
func TestProgress(t *testing.T) {
	opt, last := options("mm"), 0
	opt.Progress = func(done, total int) {
		if total != 60 || done <= last || done > total {
			t.Errorf("progress %d of %d after %d", done, total, last)
		}
		last = done
	}
	made(t, newShop(30), opt)
	if last != 60 {
		t.Errorf("progress ends at %d of 60", last)
	}
}

// TestUnknownBatch names the batch.
func TestUnknownBatch(t *testing.T) {
	s := newShop(1)
	s.batch = batch.Batch{Number: "QM-2612"}
	err := Workbook(context.Background(), &bytes.Buffer{}, s, "QM-2611", options("mm"))
	if err == nil || !strings.Contains(err.Error(), "QM-2611") {
		t.Errorf("error %v does not name the batch", err)
	}
	if err := Workbook(context.Background(), &bytes.Buffer{}, s, "QM-2612", options("mm")); err == nil || !strings.Contains(err.Error(), "specification") {
		t.Errorf("a batch without its specification gives %v", err)
	}
}

// TestDoubtIsTold: why a neck is in doubt stands with it, once for each cause, and how its gauge was found and left with the gauge.
func TestDoubtIsTold(t *testing.T) {
	s := newShop(2)
	s.necks[0].InDoubt = true
	cause := batch.Cause{Kind: batch.FailedCheck, To: opened, Why: "zero moved by -0.080 mm, more than the 0.020 mm allowed"}
	s.necks[0].Doubts = []batch.Doubt{{GaugeName: "height gauge", Cause: cause}, {GaugeName: "height gauge", Cause: cause},
		{Cause: batch.Cause{Kind: batch.ByHand, By: "Ines Quill", Why: "the flat was scratched", Over: batch.DoubtRange{Batch: "QM-2611"}}}}
	s.gauges[0].Certificates = []batch.Certificate{{Found: batch.CalibrationState{Word: batch.WithinLimits}}, {LimitMM: 0.01,
		Found: batch.CalibrationState{Points: []batch.Deviation{{}, {NominalMM: 5, DeviationMM: -0.03}}}, Left: batch.CalibrationState{Word: batch.WithinLimits}}}
	f := open(t, made(t, s, options("mm")))
	want := "The height gauge failed its check of " + opened.Local().Format("2006-01-02 15:04") + ": zero moved by −0.080 mm, more than the 0.020 mm allowed; nothing before proves it. " +
		"Ines Quill cast doubt on what was measured in batch QM-2611: the flat was scratched."
	if got := shown(t, f, "Necks", under(t, f, "Necks", "Why it is in doubt", 2)); got != want {
		t.Errorf("told %q, want %q", got, want)
	}
	if got := shown(t, f, "Necks", under(t, f, "Necks", "Why it is in doubt", 3)); got != "" {
		t.Errorf("of a neck in no doubt is told %q", got)
	}
	for head, want := range map[string]string{"Calibrated, as found": "0.000 at 0.000, −0.030 at 5.000 mm (allowed 0.010)", "Calibrated, as left": "within its limits"} {
		if got := shown(t, f, "Gauges", under(t, f, "Gauges", head, 2)); got != want {
			t.Errorf("%s: %q, want %q", head, got, want)
		}
	}
}
