package tell

import (
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/life"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// measured is a neck measured once a quarter at the humidities given, whose relief at each is what of says.
func measured(of func(visit int, humidity float64) float64, humidities ...float64) (n life.Neck) {
	at := time.Date(2022, 1, 10, 9, 0, 0, 0, time.UTC)
	for i, h := range humidities {
		n.Measured = append(n.Measured, life.Measurement{At: at.AddDate(0, 3*i, 0), Visit: i + 1, HumidityPercent: &h,
			Relief: []life.Relief{{Track: "bass", First: 1, Second: 14, Fret: 7, MM: of(i, h), U: 0.004}}})
	}
	return n
}

// around is a planted slope with a scatter that belongs to the visit and not to the humidity.
func around(slope, scatter float64) func(int, float64) float64 {
	signs := []float64{1, -1, -1, 1, -1, 1, 1, -1}
	return func(visit int, humidity float64) float64 {
		return 0.25 + slope*(humidity-45) + scatter*signs[visit%len(signs)]
	}
}

// Each state of what is known of humidity is told of a neck of which it is true, and of no other.
func TestLifeHumidity(t *testing.T) {
	swing := []float64{38, 55, 40, 57, 36, 54, 41, 56}
	for _, c := range []struct {
		name  string
		neck  life.Neck
		wants []string
		never []string
	}{
		{"rises", measured(around(0.004, 0.004), swing...), []string{"Its relief rises by 0.04", "told from 8 visits at 36 to 57 % RH"}, []string{"falls", "cannot"}},
		{"falls", measured(around(-0.004, 0.004), swing...), []string{"Its relief falls by 0.04", "8 visits"}, []string{"rises", "−0.0"}},
		{"slight", measured(around(0, 0.004), swing...), []string{"Humidity does little to its relief: no more than 0.00"}, []string{"rises", "falls"}},
		{"unsettled", measured(around(0, 0.06), swing...), []string{"cannot be told yet: for each 10 % RH of damper air it moves by something between −0.0", "more visit"}, []string{"rises", "falls"}},
		{"few", measured(around(0.004, 0), 38, 55, 40), []string{"it takes 4 visits that can be compared", "there are 3 so far"}, []string{"rises"}},
		{"alike", measured(around(0.004, 0), 44, 46, 45, 47, 48), []string{"too much alike, 4 % RH apart at the most", "another season"}, []string{"rises"}},
		{"nothing", life.Neck{}, []string{"there are 0 so far"}, []string{"rises"}},
	} {
		words := LifeHumidity(c.neck.HumidityOf(), unit.Millimetre)
		for _, want := range c.wants {
			if !strings.Contains(words, want) {
				t.Errorf("%s: %q does not say %q", c.name, words, want)
			}
		}
		for _, never := range c.never {
			if strings.Contains(words, never) {
				t.Errorf("%s: %q says %q", c.name, words, never)
			}
		}
	}
}

// Work after the last measurement, a slope without a sign, a month of too few days: nothing is said of the relief to come, and why.
func TestLifeNotExpected(t *testing.T) {
	swing := []float64{38, 55, 40, 57, 36, 54, 41, 56}
	var airs [12]life.Air
	for i := range airs {
		airs[i] = life.Air{Month: time.Month(i + 1), Days: 10, Mean: 40 + float64(i), SD: 2}
	}
	told := func(n life.Neck, airs [12]life.Air) string {
		h := n.HumidityOf()
		return strings.Join(LifeMonths(h, airs, n.Months(h, airs), unit.Millimetre), " ")
	}
	n := measured(around(0.004, 0.004), swing...)
	// At 40 % RH the planted relief is 0.25 - 0.02 mm, at 51 % RH 0.25 + 0.024 mm.
	if words := told(n, airs); !strings.Contains(words, "in January (40 % RH on the average of 10 days) expect a relief of +0.23 mm") || !strings.Contains(words, "in December (51 % RH on the average of 10 days) expect a relief of +0.27 mm") {
		t.Error(words)
	}
	worked := n
	worked.Done = []life.Work{{At: n.Measured[7].At.Add(time.Hour), Visit: 8, Bends: true}}
	if words := told(worked, airs); !strings.HasPrefix(words, "Nothing is said of the relief to come: work that changes relief was done after its last measurement") {
		t.Error(words)
	}
	if words := told(measured(around(0, 0.06), swing...), airs); words != "" {
		t.Errorf("without a sign: %q", words)
	}
	if words := told(n, [12]life.Air{}); !strings.Contains(words, "of no month the air of 5 days is known") {
		t.Error(words)
	}
}

// A neck that gave 0.08 mm to 100 N is told so; one that never showed it is given what is common, and it is called that.
func TestLifeStrings(t *testing.T) {
	light, heavy := life.Strings{Name: "light", PullN: 400, U: 2}, life.Strings{Name: "heavy", PullN: 500, U: 2}
	n := measured(around(0, 0), 45, 45)
	n.Measured[0].Visit, n.Measured[1].Visit = 1, 1
	n.Measured[0].Strings, n.Measured[1].Strings = light, heavy
	n.Measured[1].Relief[0].MM += 0.08
	n.Done = []life.Work{{At: n.Measured[0].At, Visit: 1, Bends: true, Strings: true}}
	g := n.GivingOf()
	if words := LifeGiving(g, unit.Millimetre); !strings.HasPrefix(words, "Its relief changes by +0.080 mm for each 100 N that its strings pull more") || strings.Contains(words, "commonly") {
		t.Error(words)
	}
	back, _ := g.Restring(heavy, light)
	if words := LifeRestrung("light", back, unit.Millimetre); !strings.HasPrefix(words, "Light would pull 100 N less (± ") || !strings.Contains(words, "expect −0.08 mm of relief") {
		t.Error(words)
	}
	n.Done = append(n.Done, life.Work{At: n.Measured[0].At, Visit: 1, Bends: true}) // the rod was turned too
	g = n.GivingOf()
	if words := LifeGiving(g, unit.Millimetre); !strings.Contains(words, "is not known") || !strings.Contains(words, "no figure of this neck's") {
		t.Error(words)
	}
	r, _ := g.Restring(light, heavy)
	if words := LifeRestrung("heavy", r, unit.Millimetre); !strings.Contains(words, "commonly 0.05 to 0.15 mm more relief; this neck has not shown it") {
		t.Error(words)
	}
	same, _ := g.Restring(light, light)
	if words := LifeRestrung("light", same, unit.Millimetre); !strings.Contains(words, "no other relief is to be expected") {
		t.Error(words)
	}
	if days := life.AirOf([]batch.AirDay{{At: time.Date(2026, 5, 1, 12, 0, 0, 0, time.Local), HumidityPercent: 50}}); days[4].Days != 1 || days[4].Mean != 50 || days[3].Days != 0 {
		t.Errorf("air %+v", days)
	}
}

// TestStayDone: works stand in the order in which they were done, a set of strings where it was put on, by its name.
func TestStayDone(t *testing.T) {
	at := func(hour int) time.Time { return time.Date(2026, 3, 1, hour, 0, 0, 0, time.UTC) }
	rod := batch.ReworkAction{What: inspect.StepRod, Turns: 0.125, Direction: "tighten", At: at(11)}
	for want, stay := range map[string]life.Stay{
		"strings: light; truss rod, tighten 1/8 turn":                {Done: []batch.ReworkAction{{What: inspect.WorkStrings, At: at(10)}, rod}, Fitted: []batch.StringSet{{Name: "light", At: at(10)}}},
		"truss rod, tighten 1/8 turn; strings: light":                {Done: []batch.ReworkAction{rod, {What: inspect.WorkStrings, At: at(12)}}, Fitted: []batch.StringSet{{Name: "light", At: at(12)}}},
		"strings: heavy; truss rod, tighten 1/8 turn":                {Done: []batch.ReworkAction{rod}, Fitted: []batch.StringSet{{Name: "heavy", At: at(9)}}},
		"truss rod, tighten 1/8 turn; strings: a set without a name": {Done: []batch.ReworkAction{rod}, Fitted: []batch.StringSet{{At: at(12)}}},
		"tuned to pitch": {Done: []batch.ReworkAction{{What: inspect.StepPitch, At: at(10)}}},
		"":               {},
	} {
		if is := StayDone(stay, unit.Millimetre); is != want {
			t.Errorf("%q, want %q", is, want)
		}
	}
}

// TestStayMeasuredByLeaves: between which leaves relief lies is told as the leaves are, not rounded.
func TestStayMeasuredByLeaves(t *testing.T) {
	value := func(v float64) *float64 { return &v }
	in := &life.Seen{Result: &inspect.Result{Characteristics: []inspect.Characteristic{
		{Name: inspect.Relief, Track: "bass", Value: value(0.525), IntervalMM: &[2]*float64{value(0.5), value(0.55)}},
		{Name: inspect.Relief, Track: "treble", Value: value(0.325), IntervalMM: &[2]*float64{value(0.3), value(0.35)}},
	}}}
	if is := StayMeasured(in, unit.Millimetre); is != "relief bass side 0.50 to 0.55, treble side 0.30 to 0.35 mm" {
		t.Error(is)
	}
}
