package inspect

import (
	"slices"
	"strings"
	"testing"
)

// What is left out has its default, what is given stays, and a list that is given empty stays empty.
func TestAlarmsDefaults(t *testing.T) {
	limits := []Limit{{Characteristic: "twist"}, {Characteristic: "action"}, {Characteristic: "relief"}}
	d := (&Spec{Limits: limits}).WithDefaults().Alarms
	if !slices.Equal(d.Characteristics, []string{"twist", "action", "relief"}) || !slices.Equal(d.Tests, []int{1}) || !*d.EWMA || *d.LeastNecks != 10 {
		t.Errorf("%+v", d)
	}
	given := &Spec{Alarms: &Alarms{Characteristics: []string{}, Tests: []int{1, 2}, LeastNecks: new(5)}}
	d = given.WithDefaults().Alarms
	if len(d.Characteristics) != 0 || !slices.Equal(d.Tests, []int{1, 2}) || !*d.EWMA || *d.LeastNecks != 5 || given.Alarms.EWMA != nil {
		t.Errorf("%+v", d)
	}
	for _, a := range []struct {
		given Alarms
		tests []int
		ewma  bool
	}{
		{Alarms{Tests: []int{}}, []int{}, false}, {Alarms{Tests: []int{}, EWMA: new(true)}, []int{}, true}, {Alarms{EWMA: new(false)}, []int{1}, false},
	} {
		if d := (&Spec{Alarms: &a.given}).WithDefaults().Alarms; !slices.Equal(d.Tests, a.tests) || *d.EWMA != a.ewma {
			t.Errorf("%+v: %v %v", a.given, d.Tests, *d.EWMA)
		}
	}
}

func TestAlarmsAreChecked(t *testing.T) {
	s := &Spec{Limits: []Limit{{Characteristic: "relief"}, {Characteristic: "action"}, {Characteristic: "action"}},
		Alarms: &Alarms{Characteristics: []string{"relief", "twist", "relief"}, Tests: []int{1, 9, 1, 0}, LeastNecks: new(0)}}
	var got []string
	for _, f := range s.Check() {
		if strings.HasPrefix(f.Field, "alarms") {
			got = append(got, f.Field+": "+f.Found+"; "+f.Allowed)
		}
	}
	want := []string{
		`alarms.characteristics[2]: "twist"; a characteristic with a limit here: "relief", "action"`,
		`alarms.characteristics[3]: "relief" again; each characteristic once`,
		"alarms.tests[2]: 9; a whole number from 1 to 8",
		"alarms.tests[3]: 1 again; each test once",
		"alarms.tests[4]: 0; a whole number from 1 to 8",
		"alarms.least_necks: 0; a whole number from 1 to 100000",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}

func TestPlannedReasonsAreChecked(t *testing.T) {
	s := &Spec{Limits: []Limit{{Characteristic: "relief"}},
		Plan: &Plan{Reasons: []PlannedReason{{"relief", 10}, {"relief", 5}, {"twist", 101}}}}
	var got []string
	for _, f := range s.Check() {
		if strings.HasPrefix(f.Field, "plan") {
			got = append(got, f.Field+": "+f.Found+"; "+f.Allowed)
		}
	}
	want := []string{
		`plan.reason[2].characteristic: "relief" again; each characteristic once`,
		`plan.reason[3].characteristic: "twist"; a characteristic with a limit here: "relief"`,
		"plan.reason[3].most_percent: 101; a share from 0 to 100 percent",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}
