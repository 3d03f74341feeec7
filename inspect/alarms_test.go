package inspect

import (
	"slices"
	"strings"
	"testing"
)

// What is left out has its default, what is given stays, and a list that is given empty stays empty.
func TestAlarmsDefaults(t *testing.T) {
	limits := []Limit{{Characteristic: "twist"}, {Characteristic: "action"}, {Characteristic: "relief"}}
	if d := (&Spec{Limits: limits[:2]}).WithDefaults().Alarms; !slices.Equal(d.Characteristics, []string{"twist"}) {
		t.Errorf("without a limit on relief: %+v", d)
	}
	d := (&Spec{Limits: limits}).WithDefaults().Alarms
	if !slices.Equal(d.Characteristics, []string{"relief", "twist"}) || !slices.Equal(d.Tests, []int{1, 2, 3}) || *d.LeastNecks != 10 {
		t.Errorf("%+v", d)
	}
	given := &Spec{Alarms: &Alarms{Characteristics: []string{}, LeastNecks: new(5)}}
	d = given.WithDefaults().Alarms
	if len(d.Characteristics) != 0 || !slices.Equal(d.Tests, []int{1, 2, 3}) || *d.LeastNecks != 5 || given.Alarms.Tests != nil {
		t.Errorf("%+v", d)
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
