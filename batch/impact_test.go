package batch

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"sagitta/inspect"
)

// shaken is a neck measured by one gauge, crowns first and then the heights of its two strings, as it truly is.
type shaken struct {
	spec    *inspect.Spec
	rows    []Reading
	doubted map[string]bool
}

// newShaken reads a neck of two tracks and two strings, one reading every ten seconds, without scatter.
func newShaken(relief, action float64) *shaken {
	n := newLaidNeck(1)
	low, high, least, most := 0.10, 0.40, 1.5, 2.2
	n.spec.Limits = []inspect.Limit{{Characteristic: inspect.Relief, Track: "each", LowerMM: &low, UpperMM: &high},
		{Characteristic: inspect.Action, String: inspect.EachIndex(), Fret: inspect.NumberIndex(12), LowerMM: &least, UpperMM: &most}}
	n.spec.Routine, n.spec.Alarms = nil, nil
	k := &shaken{spec: n.spec, doubted: map[string]bool{}}
	x := func(fret int) float64 { return inspect.FretX(648, fret) }
	for _, p := range n.points {
		z := 0.0
		if p.Fret < 16 {
			z = relief * (x(16) - x(p.Fret)) * (x(16) - x(p.Fret)) / ((x(7) - x(1)) * (x(16) - x(7)))
		}
		k.read(p, z)
	}
	for _, number := range []int{2, 1} {
		k.read(Point{Kind: ActionHeight, String: number, Fret: 12}, action)
		k.rows = append(k.rows, Reading{ID: fmt.Sprint("pitch", number), Seq: int64(len(k.rows) + 1), Point: Point{Kind: Pitch, String: number}, Round: 1})
	}
	return k
}

var began = time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)

func (k *shaken) read(p Point, z float64) {
	r := Reading{ID: fmt.Sprint("r", len(k.rows)), Seq: int64(len(k.rows) + 1), Point: p, Round: 1, Laying: 1, Value: z, U: 0.005, URepeat: 0.004,
		At: began.Add(time.Duration(len(k.rows)) * 10 * time.Second)}
	if p.Kind != Crown && p.Kind != Closing {
		r.Laying = 0
	}
	k.rows, k.doubted[r.ID] = append(k.rows, r), true
}

func (k *shaken) impact(c Cause) Impact {
	return ImpactOf(k.spec, Inspection{Serial: "QM-1"}, k.rows, k.doubted, c)
}

func (k *shaken) conforms(t *testing.T) bool {
	t.Helper()
	res, err := inspect.Evaluate(k.spec, Assemble(k.spec, Inspection{Serial: "QM-1"}, k.rows, nil), inspect.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return res.Conforms
}

// found is an error that was found an hour after the last check that passed, which was made right before the neck.
func found(shift float64) Cause {
	return Cause{Kind: FailedCheck, From: began.Add(-time.Second), To: began.Add(time.Hour), Found: Found{ShiftKnown: true, ShiftMM: shift}}
}

func (i *Impact) value(name, track string, str int) *MovedValue {
	for j, m := range i.Moved {
		if m.Name == name && m.Track == track && m.String == str {
			return &i.Moved[j]
		}
	}
	return nil
}

// Worked by hand: relief is z_1 + (z_16 - z_1) w - z_7, w = (x_7 - x_1)/(x_16 - x_1) = 0.50538 at 648 mm. A zero that jumps up by s
// between the readings of frets 1 and 7 leaves z_7 and z_16 too high by s, so true relief is larger by s (1 - w); between frets 7 and 16
// only z_16, and it is smaller by s w. A jump before the track or after its fret 16 changes nothing.
func TestImpactOfAJumpOnRelief(t *testing.T) {
	const s, w = 0.06, 0.505378
	k := newShaken(0.25, 1.8)
	impact := k.impact(found(s))
	if impact.Outcome != StillConforms || impact.Moments != 47 || impact.Conform != 47 || impact.Fail != 0 || !impact.Drift {
		t.Errorf("%+v; want what still conforms at 46 moments and with a drift", impact)
	}
	for _, track := range []string{"bass", "treble"} {
		m := impact.value(inspect.Relief, track, 0)
		if m == nil {
			t.Fatalf("the relief of the %s side is not told to move", track)
		}
		if *m.Value != 0.25 && math.Abs(*m.Value-0.25) > 1e-9 || math.Abs(m.Low-(0.25-s*w)) > 1e-6 || math.Abs(m.High-(0.25+s*(1-w))) > 1e-6 {
			t.Errorf("relief %s: %.6f, from %.6f to %.6f; want 0.25, from %.6f to %.6f", track, *m.Value, m.Low, m.High, 0.25-s*w, 0.25+s*(1-w))
		}
	}
	// The heights of strings are lower by all of the jump, or by none of it.
	m := impact.value(inspect.Action, "", 2)
	if m == nil || math.Abs(m.Low-(1.8-s)) > 1e-9 || math.Abs(m.High-1.8) > 1e-9 {
		t.Errorf("the height of string 2: %+v; want from %.2f to 1.80", m, 1.8-s)
	}
	// By three times as much the relief leaves its limits at some moments, and at others not.
	if impact := k.impact(found(5 * s)); impact.Outcome != CannotBeTold || impact.Fail == 0 || impact.Conform == 0 {
		t.Errorf("a jump of %.2f mm: %+v; want what depends on the moment", 5*s, impact)
	}
}

// A jump before the first crown is one and the same shift of all: no relief changes, every height of a string by all of it. What came
// after the last reading changes nothing.
func TestJumpBeforeTheFirstReadingIsAConstantShift(t *testing.T) {
	k := newShaken(0.25, 2.1)
	m := moments{spec: k.spec, readings: k.rows, cause: found(-0.15)}
	if why := m.carriers(k.doubted); why != "" {
		t.Fatal(why)
	}
	parts := m.parts()
	if len(parts) != 47 {
		t.Fatalf("%d ways to hold the error, want one before each of 46 readings, and a drift", len(parts))
	}
	values := func(rows []Reading) map[Named]float64 {
		res, err := inspect.Evaluate(k.spec, Assemble(k.spec, Inspection{Serial: "QM-1"}, rows, nil), inspect.Options{})
		if err != nil {
			t.Fatal(err)
		}
		all := map[Named]float64{}
		for _, c := range res.Characteristics {
			if c.Value != nil {
				all[placeOf(c)] = *c.Value
			}
		}
		return all
	}
	before, after := values(k.rows), values(m.without(parts[0]))
	for place, v := range before {
		want := v
		if place.Name == inspect.Action {
			want += 0.15 // it read too low
		}
		if math.Abs(after[place]-want) > 1e-9 {
			t.Errorf("%v: %.6f, %.6f without the shift; want %.6f", place, v, after[place], want)
		}
	}
}

// At an unknown moment the same jump is told to fail the neck as long as every moment up to its last reading does.
func TestImpactWouldFail(t *testing.T) {
	k := newShaken(0.25, 2.1)
	k.rows = k.rows[44:] // the heights alone
	k.spec.Limits = k.spec.Limits[1:]
	for i := range k.rows {
		k.rows[i].Seq = int64(i + 1)
	}
	e := found(-0.15)
	e.From = time.Time{} // no drift: nothing says since when
	impact := k.impact(e)
	if impact.Outcome != WouldFail || impact.Moments != 2 || impact.Fail != 2 || impact.Moved[0].String != 1 || impact.Moved[0].Fail != 2 || impact.Moved[1].Fail != 1 {
		t.Errorf("%+v; want both moments to fail, by string 1 at both and by string 2 at one", impact)
	}
	// A drift from the check right before the neck has brought only a share by then: 445 s of 3601.
	e = found(-0.15)
	if impact = k.impact(e); impact.Outcome != CannotBeTold || impact.Moments != 3 || impact.Fail != 2 || impact.Conform != 1 {
		t.Errorf("with a drift: %+v; want what cannot be told", impact)
	}
}

// Worked by hand: a drift from 0 to 0.36 mm in an hour is 0.0001 mm a second. The reading after 440 s and one second is 0.0441 too high.
func TestImpactOfADrift(t *testing.T) {
	k := newShaken(0.25, 1.8)
	e := found(0.36)
	e.To = began.Add(3599 * time.Second)
	m := moments{spec: k.spec, readings: k.rows, cause: e}
	if why := m.carriers(k.doubted); why != "" {
		t.Fatal(why)
	}
	parts := m.parts()
	rows := m.without(parts[len(parts)-1])
	if z := rows[44].Value; math.Abs(z-(1.8-0.0441)) > 1e-9 {
		t.Errorf("the height after 440 s is %.6f without the drift, want %.6f", z, 1.8-0.0441)
	}
}

// Worked by hand: a gauge that reads 1.010 on the 1 mm master and 2.040 on the 2 mm one. At 1.525 it reads 0.025 too high, half way
// between; at 2.555 it goes on as from 1 to 2 mm, 0.055; at -1.010 as from the zero, -0.010. Beyond 2.040 from either end nothing is known.
func TestDeviationOnMasters(t *testing.T) {
	e := Found{Masters: []MasterReading{{NominalMM: 1, ReadMM: 1.010}, {NominalMM: 2, ReadMM: 2.040}}}
	for _, c := range []struct{ read, trueMM float64 }{{0, 0}, {1.010, 1}, {1.525, 1.5}, {2.040, 2}, {2.555, 2.5}, {-1.010, -1}, {0.505, 0.5}} {
		if z, ok := e.without(c.read, 1); !ok || math.Abs(z-c.trueMM) > 1e-9 {
			t.Errorf("a reading of %.3f is %.6f, %t; want %.3f", c.read, z, ok, c.trueMM)
		}
	}
	for _, read := range []float64{-2.05, 4.09} {
		if _, ok := e.without(read, 1); ok {
			t.Errorf("a reading of %.2f, farther out than the masters reach, is told to be known", read)
		}
	}
	e.ShiftMM = 0.5
	if z, ok := e.without(1.510, 1); !ok || math.Abs(z-1) > 1e-9 {
		t.Errorf("with the zero 0.5 too high a reading of 1.510 is %.6f, %t; want 1", z, ok)
	}
}

// What is not known is not told as known.
func TestImpactNotKnown(t *testing.T) {
	k := newShaken(0.25, 1.8)
	if impact := k.impact(Cause{}); impact.Outcome != CannotBeTold || impact.Unknown != UnknownError {
		t.Errorf("without an error: %+v", impact)
	}
	if impact := k.impact(found(0)); impact.Unknown != UnknownError {
		t.Errorf("a check that failed and found nothing: %+v", impact)
	}
	e := found(0)
	e.Found.Masters = []MasterReading{{NominalMM: 0.2, ReadMM: 0.201}}
	if impact := k.impact(e); impact.Outcome != CannotBeTold || impact.Unknown != UnknownReach {
		t.Errorf("heights of 1.8 mm and a master of 0.2 mm: %+v", impact)
	}
	k.doubted["pitch1"] = true
	if impact := k.impact(found(0.01)); impact.Outcome != CannotBeTold || impact.Unknown != UnknownLength {
		t.Errorf("a pitch in doubt: %+v", impact)
	}
}

// A neck that fails only through the error conforms at every moment tried; the value that failed is told of first, though another lies
// nearer to its limit.
func TestImpactOnANeckThatFailedThroughTheError(t *testing.T) {
	k := newShaken(0.25, 2.05)
	k.rows[44].Value = 2.19 // string 2, which stays within its limits
	k.rows[len(k.rows)-2].Value += 0.2
	e := found(0.2)
	e.From = time.Time{}
	impact := k.impact(e)
	if impact.Outcome != CannotBeTold || impact.Moments == 0 || impact.Fail != 0 || impact.Conform != impact.Moments {
		t.Fatalf("%+v; want a neck that would have conformed at every moment", impact)
	}
	if first := impact.Moved[0]; first.Name != inspect.Action || first.String != 1 || first.Zone != inspect.Nonconforming || math.Abs(first.High-2.05) > 1e-9 {
		t.Errorf("first of what moves is %+v; want string 1, which failed and would be 2.05", first)
	}
}

// No error leaves a neck as it was judged, and tells of no value that moves.
func TestImpactOfNoError(t *testing.T) {
	for _, c := range []struct {
		action float64
		want   ImpactOutcome
	}{{1.8, StillConforms}, {2.5, WouldFail}} {
		k := newShaken(0.25, c.action)
		none := found(0)
		none.Kind = CertificateFound
		impact := k.impact(none)
		if impact.Outcome != c.want || impact.Fail+impact.Conform != impact.Moments {
			t.Errorf("action %.1f, no error: %+v; want it %s", c.action, impact, c.want)
		}
		for _, m := range impact.Moved {
			if m.High-m.Low > 1e-9 {
				t.Errorf("no error moves %s", m.Name)
			}
		}
	}
}

// A check takes the gauge's zero anew: what a laboratory found alike over all of the travel is in no reading, and what it found to grow
// counts by what it is more than at the zero. 0.300 mm at 0 and 0.360 mm at 2 mm make a height of 1.800 too high by 0.052 mm: it reads
// 2.060 on 2 mm.
func TestCertificateErrorIsThatAfterTheZero(t *testing.T) {
	for _, c := range []struct {
		atTwo, low float64
	}{{0.3, 1.8}, {0.36, 1.8 - 0.06*1.8/2.06}} {
		k := newShaken(0.25, 1.8)
		e := found(0)
		e.Kind, e.Found = CertificateFound, Found{Masters: []MasterReading{{NominalMM: 0, ReadMM: 0.3}, {NominalMM: 2, ReadMM: 2 + c.atTwo}}}
		impact := k.impact(e)
		if impact.Outcome != StillConforms {
			t.Errorf("%.2f mm at 2 mm: %+v; want what still conforms", c.atTwo, impact)
		}
		low := 1.8
		if m := impact.value(inspect.Action, "", 2); m != nil {
			low = m.Low
		}
		if math.Abs(low-c.low) > 1e-9 {
			t.Errorf("%.2f mm at 2 mm: the height of string 2 goes down to %.6f, want %.6f", c.atTwo, low, c.low)
		}
		if e.Found.Masters[0].ReadMM != 0.3 {
			t.Error("the cause is changed")
		}
	}
}

// The u of the found error counts: a height that would stand by 1.5 of its own u inside the limit of guarded acceptance is not told to
// conform when the error is not known better than that.
func TestImpactKnowsTheErrorsU(t *testing.T) {
	k := newShaken(0.25, 1.8)
	k.spec.Decision = inspect.Decision{Rule: "guarded_acceptance"}
	k.rows = k.rows[44:] // the heights alone
	k.spec.Limits = k.spec.Limits[1:]
	e := found(-0.389) // every height would be 2.189; drawn in by 1.645 × 0.005 the limit is 2.1918; by all of u, hypot(0.005, √2 × 0.004), 2.1876
	if impact := k.impact(e); impact.Outcome != CannotBeTold || impact.Moved[0].Open != 2 {
		t.Errorf("%+v; want heights that are undecided", impact)
	}
	e.Found.ShiftMM = -0.387
	if impact := k.impact(e); impact.Outcome != StillConforms {
		t.Errorf("%+v; want what still conforms", impact)
	}
}

// The closing reading rules out a jump in the middle of the crowns, and nothing else.
func TestClosingRulesMomentsOut(t *testing.T) {
	k := newShaken(0.25, 1.8)
	heights := k.rows[44:]
	k.rows = k.rows[:44:44]
	for _, fret := range []int{1, 16} {
		k.read(Point{Kind: Closing, Track: "bass", Fret: fret}, k.rows[fret-1].Value)
	}
	for _, r := range heights {
		r.At = r.At.Add(time.Minute)
		r.Seq += 2
		r.ID = "h" + r.ID
		k.rows, k.doubted[r.ID] = append(k.rows, r), r.Point.Kind != Pitch
	}
	impact := k.impact(found(0.29))
	// Left are a jump before the first crown, before the heights and between them. A drift that had brought 0.035 mm by the closing reading
	// is ruled out as well.
	if impact.Outcome != StillConforms || impact.Moments != 3 || impact.Ruled != 46 {
		t.Errorf("%+v; want what still conforms at 3 moments, 46 ruled out", impact)
	}
	k.rows[45].Value += 0.2 // the joint crown: it did not agree, and tells nothing
	if impact := k.impact(found(0.29)); impact.Ruled != 45 {
		t.Errorf("%d moments ruled out by the first crown alone, want 45", impact.Ruled)
	}
	k.rows[44].Value += 0.2
	if impact := k.impact(found(0.29)); impact.Ruled != 0 {
		t.Errorf("%d moments ruled out by closing readings that did not agree", impact.Ruled)
	}
}

// Whatever is planted, what is told is true: a neck told to conform still does without the error, one told to fail does not, wherever
// the error came in while it was measured.
func TestImpactAgainstPlantedTruth(t *testing.T) {
	random := rand.New(rand.NewPCG(26, 11))
	told := map[ImpactOutcome]int{}
	for i := range 120 {
		k := newShaken(0.12+0.26*random.Float64(), 1.4+1.2*random.Float64())
		good := k.conforms(t)
		if i%5 > 0 { // heights only
			k.rows = k.rows[44:]
			k.spec.Limits = k.spec.Limits[1:]
		}
		s := 1.2 * (random.Float64() - 0.5)
		e := found(s)
		if random.IntN(3) == 0 {
			e.From = time.Time{}
		}
		moment, drifts := random.IntN(len(k.rows)), !e.From.IsZero() && random.IntN(4) == 0
		if p := k.rows[moment].Point; p.Kind == Pitch {
			moment--
		}
		for i := range k.rows {
			r := &k.rows[i]
			switch {
			case r.Point.Kind == Pitch:
			case drifts:
				r.Value += s * r.At.Sub(e.From).Seconds() / e.To.Sub(e.From).Seconds()
			case i >= moment:
				r.Value += s
			}
		}
		impact := k.impact(e)
		told[impact.Outcome]++
		if impact.Outcome == StillConforms && !good || impact.Outcome == WouldFail && good {
			t.Errorf("an error of %+.3f mm from reading %d (drift: %t): told that it %s; the neck conforms: %t", s, moment, drifts, impact.Outcome, good)
		}
	}
	t.Logf("told: %v", told)
	for _, o := range ImpactOutcomes {
		if told[o] < 8 {
			t.Errorf("%d necks of 120 were told %q: too few to show anything", told[o], o)
		}
	}
}

// BenchmarkImpactOf is one neck of 44 crowns and two strings, tried at 47 moments.
func BenchmarkImpactOf(b *testing.B) {
	k := newShaken(0.25, 1.8)
	for b.Loop() {
		if impact := k.impact(found(0.06)); impact.Moments != 47 {
			b.Fatalf("%d moments", impact.Moments)
		}
	}
}
