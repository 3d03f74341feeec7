package export

import (
	"math"
	"strings"
	"testing"
	"time"

	"sagitta/inspect"
)

// TestWorst: out of limits before undecided before the rest, then the smallest margin in multiples of U.
func TestWorst(t *testing.T) {
	value := func(name string, v, lower, upper, u float64, z inspect.Zone) inspect.Characteristic {
		return inspect.Characteristic{Name: name, Value: ptr(v), Lower: ptr(lower), Upper: ptr(upper), U: ptr(u), Unit: "mm", Zone: z}
	}
	near1 := value("near", 0.35, 0.2, 0.36, 0.01, inspect.Conforming)      // 0.01 / 0.02
	nearer := value("nearer", 0.21, 0.2, 0.36, 0.0025, inspect.Conforming) // 0.01 / 0.005, though as near in mm
	undecided := value("undecided", 0.3, 0.2, 0.4, 0.01, inspect.Undecided)
	out := value("out", 0.5, 0.2, 0.36, 0.01, inspect.Nonconforming)
	free := inspect.Characteristic{Name: "free", Value: ptr(9), Zone: inspect.NoLimit}
	missing := inspect.Characteristic{Name: "missing", Lower: ptr(0), Zone: inspect.NotMeasured}
	for _, c := range []struct {
		among  []inspect.Characteristic
		want   string
		margin float64
	}{
		{[]inspect.Characteristic{free, nearer, near1}, "near", 0.5},
		{[]inspect.Characteristic{near1, undecided, nearer}, "undecided", 5},
		{[]inspect.Characteristic{undecided, out, near1}, "out", -7},
		{[]inspect.Characteristic{near1, missing}, "missing", math.NaN()},
	} {
		got, margin := worst(&inspect.Result{Characteristics: c.among})
		if got == nil || got.Name != c.want {
			t.Errorf("worst is %v, want %s", got, c.want)
			continue
		}
		if math.IsNaN(c.margin) != (margin == nil) || margin != nil && math.Abs(*margin-c.margin) > 1e-12 {
			t.Errorf("%s: margin %v, want %v", c.want, margin, c.margin)
		}
	}
	if got, _ := worst(&inspect.Result{Characteristics: []inspect.Characteristic{free}}); got != nil {
		t.Errorf("without limits %s is worst", got.Name)
	}
}

// TestWorse: of the frets of a track, the one shown is out of limits if any is, else the furthest from the target, the
// middle of the limits, or zero.
func TestWorse(t *testing.T) {
	at := func(v float64, z inspect.Zone, limits ...*float64) inspect.Characteristic {
		c := inspect.Characteristic{Value: ptr(v), Zone: z}
		if len(limits) > 0 {
			c.Lower, c.Target, c.Upper = limits[0], limits[1], limits[2]
		}
		return c
	}
	conforming, none := inspect.Conforming, inspect.NotMeasured
	for i, c := range []struct {
		a, b inspect.Characteristic
		want bool
	}{
		{at(0.031, inspect.Nonconforming), at(-0.09, conforming), true},
		{at(-0.09, conforming), at(0.03, conforming), true},
		{at(0.03, conforming), at(0.03, conforming), false},
		{at(300, conforming, ptr(300), nil, ptr(310)), at(306, conforming, ptr(300), nil, ptr(310)), true},
		{at(306, conforming, ptr(300), ptr(308), ptr(310)), at(309, conforming, ptr(300), ptr(308), ptr(310)), true},
		{at(1, conforming), inspect.Characteristic{Zone: conforming}, true},
		{inspect.Characteristic{Zone: none}, at(1, conforming), true},
	} {
		if got := worse(&c.a, &c.b); got != c.want {
			t.Errorf("case %d: worse is %v, want %v", i, got, c.want)
		}
	}
}

// TestGroups: columns stand in the order of rework, from bass to treble and from the lowest string; the limits of a
// group are the first found.
func TestGroups(t *testing.T) {
	c := func(name, track string, s, fret int) inspect.Characteristic {
		return inspect.Characteristic{Name: name, Track: track, String: s, Fret: fret, Value: ptr(1), Unit: "mm", Upper: ptr(2)}
	}
	free := inspect.Characteristic{Name: "clearance", String: 2, Value: ptr(1)}
	groups := groupsOf([]*inspect.Result{{Characteristics: []inspect.Characteristic{
		c("action", "", 1, 12), c("action", "", 6, 12), c("level_deviation", "treble", 0, 3), c("level_deviation", "treble", 0, 4),
		free, c("own_name", "", 0, 0), c("relief", "treble", 0, 7), c("relief", "centre", 0, 7)}},
		{Characteristics: []inspect.Characteristic{c("relief", "bass", 0, 7), c("relief", "treble", 0, 7)}}})
	var got []string
	for i := range groups {
		got = append(got, groups[i].key.words())
	}
	want := "relief, bass side, fret 7 | relief, centre, fret 7 | relief, treble side, fret 7 | level deviation, treble side | action, string 6, fret 12 | action, string 1, fret 12 | own_name"
	if s := strings.Join(got, " | "); s != want {
		t.Errorf("columns %s, want %s", s, want)
	}
}

// TestReliefLimits: one line where the tracks agree, one for each track where they do not.
func TestReliefLimits(t *testing.T) {
	track := func(name string, lower, upper *float64) reliefTrack {
		return reliefTrack{group{key: key{name: "relief", track: name}, lower: lower, upper: upper}}
	}
	for _, c := range []struct {
		bass, treble reliefTrack
		want         string
	}{
		{track("bass", ptr(0.2), ptr(0.4)), track("treble", ptr(0.2), ptr(0.4)), "lower limit|upper limit"},
		{track("bass", ptr(0.2), ptr(0.4)), track("treble", ptr(0.1), ptr(0.4)), "lower limit, bass|lower limit, treble|upper limit"},
		{track("bass", ptr(0.2), nil), track("treble", nil, nil), "lower limit, bass"},
		{track("bass", nil, nil), track("treble", nil, nil), ""},
	} {
		b := &book{tracks: []reliefTrack{c.bass, c.treble}}
		var got []string
		for _, l := range b.reliefLimits() {
			got = append(got, l.words)
		}
		if s := strings.Join(got, "|"); s != c.want {
			t.Errorf("lines %q, want %q", s, c.want)
		}
	}
}

// TestWords of the model.
func TestWords(t *testing.T) {
	u, err := newUnit("in")
	if err != nil {
		t.Fatal(err)
	}
	s := &summary{book: &book{unit: u}}
	got := s.geometry(&inspect.NeckSpec{ScaleMM: 647.7, Frets: 21, JointFret: 14, NutRadiusMM: 254, Rod: "none"})
	if want := "scale 25.5 in, 21 frets, body joint at fret 14, board radius 10 in at the nut to flat at the last fret, no truss rod"; got != want {
		t.Errorf("model in words: %s, want %s", got, want)
	}
	got = s.geometry(&inspect.NeckSpec{ScaleBassMM: 660.4, ScaleTrebleMM: 635, Frets: 24, JointFret: 17, NutRadiusMM: 254, LastFretRadiusMM: 254, Rod: "double"})
	if want := "scale 26 in at the bass to 25 in at the treble, fret 7 square to the centre line, 24 frets, body joint at fret 17, board radius 10 in, double-acting truss rod"; got != want {
		t.Errorf("multi-scale model in words: %s, want %s", got, want)
	}
	place := limitPlace(&inspect.Limit{String: inspect.Index{Number: 6}, Fret: inspect.Index{Each: true}, HeldFret: 1})
	if want := "string 6, each fret, pressed at fret 1"; place != want {
		t.Errorf("place of a limit: %s, want %s", place, want)
	}
}

// TestCarriedOverIsSaid: a neck's row says what its last inspection carried over, from which attempt and when; and the mean relief of an attempt that
// carried it is no outcome of its rework.
func TestCarriedOverIsSaid(t *testing.T) {
	s := newShop(3)
	again := s.necks[1].Inspections[1].Verdict.Result
	from := &inspect.CarriedFrom{Attempt: 1, At: opened.Add(2 * time.Hour)}
	for i := range again.Characteristics {
		if c := &again.Characteristics[i]; c.Name == inspect.Twist || c.Name == inspect.Relief {
			c.CarriedFrom = from
		}
	}
	f := open(t, made(t, s, options("mm")))
	const head = "Carried over from an earlier attempt, last"
	want := "relief and twist carried from attempt 1 (" + from.At.Local().Format("2006-01-02 15:04") + ")"
	if got := shown(t, f, "Necks", under(t, f, "Necks", head, 3)); got != want {
		t.Errorf("shown %q, want %q", got, want)
	}
	if got := shown(t, f, "Necks", under(t, f, "Necks", head, 2)); got != "" {
		t.Errorf("a neck inspected once shows %q", got)
	}
	if got := cell(t, f, "Rework", under(t, f, "Rework", "Mean relief at the next inspection (mm)", 2)); got != "" {
		t.Errorf("relief that was carried over stands as measured at the next inspection: %q", got)
	}
}
