package inspect

import (
	"fmt"
	"slices"
)

// Alarms is what a station watches while a batch is inspected; it judges no neck. What is left out has its default: the
// charts of relief and twist where they have limits, run tests 1, 2 and 3, a yield from 10 inspected necks on. An empty list
// watches nothing.
type Alarms struct {
	Characteristics []string `toml:"characteristics,omitempty" json:"characteristics,omitempty"` // whose control charts are watched
	Tests           []int    `toml:"tests,omitempty" json:"tests,omitempty"`                     // run tests that raise an alarm, numbered as in ISO 7870-2
	LeastNecks      *int     `toml:"least_necks,omitempty" json:"least_necks,omitempty"`         // inspected necks from which a yield is compared with its plan
}

// DefaultLeastNecks is how many inspected necks a yield is judged from: common practice, no source.
const DefaultLeastNecks = 10

// runTests is how many run tests ISO 7870-2 has.
const runTests = 8

// fillAlarms fills in what raises alarms. Every further chart or test would add false alarms; a batch's page shows them
// all.
func (s *Spec) fillAlarms() {
	var a Alarms
	if s.Alarms != nil {
		a = *s.Alarms
	}
	if a.Characteristics == nil {
		limited := s.limited()
		a.Characteristics = slices.DeleteFunc([]string{Relief, Twist}, func(name string) bool { return !slices.Contains(limited, name) })
	}
	if a.Tests == nil {
		a.Tests = []int{1, 2, 3} // a point outside, a shift, a trend
	}
	if a.LeastNecks == nil {
		a.LeastNecks = new(DefaultLeastNecks)
	}
	s.Alarms = &a
}

// limited are the characteristics with a limit, each once.
func (s *Spec) limited() []string {
	var names []string
	for _, l := range s.Limits {
		if !slices.Contains(names, l.Characteristic) {
			names = append(names, l.Characteristic)
		}
	}
	return names
}

// alarms checks what raises alarms: charts are drawn of what has a limit.
func (c *checker) alarms(s *Spec) {
	limited := s.limited()
	allowed := "a characteristic with a limit here: " + quoted(limited)
	if len(limited) == 0 {
		allowed = "none, for nothing has a limit here"
	}
	a := s.Alarms
	c.forEach("alarms.characteristics", len(a.Characteristics), func(i int) {
		name := a.Characteristics[i]
		switch {
		case !slices.Contains(limited, name):
			c.fault("", fmt.Sprintf("%q", name), allowed)
		case slices.Index(a.Characteristics, name) < i:
			c.fault("", fmt.Sprintf("%q again", name), "each characteristic once")
		}
	})
	c.forEach("alarms.tests", len(a.Tests), func(i int) {
		c.whole("", a.Tests[i], 1, runTests)
		if slices.Index(a.Tests, a.Tests[i]) < i {
			c.fault("", fmt.Sprintf("%d again", a.Tests[i]), "each test once")
		}
	})
	if a.LeastNecks != nil {
		c.whole("alarms.least_necks", *a.LeastNecks, 1, 100000)
	}
}
