package inspect

import (
	"fmt"
	"slices"
)

// Alarms is what a station watches while a batch is inspected; it judges no neck. What is left out has its default: every
// characteristic with a limit, test 1 (a value beyond its limits) and an EWMA, a yield from 10 inspected necks on. An empty list
// watches nothing.
type Alarms struct {
	Characteristics []string `toml:"characteristics,omitempty" json:"characteristics,omitempty"` // whose control charts are watched
	Tests           []int    `toml:"tests,omitempty" json:"tests,omitempty"`                     // run tests that raise an alarm, numbered as in ISO 7870-2
	EWMA            *bool    `toml:"ewma,omitempty" json:"ewma,omitempty"`                       // an EWMA with them; left out, it is watched unless tests is empty
	LeastNecks      *int     `toml:"least_necks,omitempty" json:"least_necks,omitempty"`         // inspected necks from which a yield is compared with its plan
}

// DefaultLeastNecks is how many inspected necks a yield is judged from: common practice, no source.
const DefaultLeastNecks = 10

// runTests is how many run tests ISO 7870-2 has.
const runTests = 8

// fillAlarms fills in what raises alarms. Further run tests would add false alarms.
func (s *Spec) fillAlarms() {
	var a Alarms
	if s.Alarms != nil {
		a = *s.Alarms
	}
	if a.Characteristics == nil {
		a.Characteristics = s.limited()
	}
	if a.EWMA == nil {
		a.EWMA = new(a.Tests == nil || len(a.Tests) > 0)
	}
	if a.Tests == nil {
		a.Tests = []int{1}
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

// plan checks what is planned.
func (c *checker) plan(s *Spec) {
	c.optional("plan.first_pass_percent", s.Plan.FirstPassPercent, 0, 100, "a share from 0 to 100 percent")
	c.optional("plan.final_percent", s.Plan.FinalPercent, 0, 100, "a share from 0 to 100 percent")
	limited, seen := s.limited(), []string(nil)
	c.forEach("plan.reason", len(s.Plan.Reasons), func(i int) {
		r := s.Plan.Reasons[i]
		switch {
		case !slices.Contains(limited, r.Characteristic):
			c.fault(".characteristic", fmt.Sprintf("%q", r.Characteristic), allowedOf(limited))
		case slices.Contains(seen, r.Characteristic):
			c.fault(".characteristic", fmt.Sprintf("%q again", r.Characteristic), "each characteristic once")
		}
		seen = append(seen, r.Characteristic)
		c.number(".most_percent", r.MostPercent, 0, 100, "a share from 0 to 100 percent")
	})
}

// allowedOf says which characteristics can be named.
func allowedOf(limited []string) string {
	if len(limited) == 0 {
		return "none, for nothing has a limit here"
	}
	return "a characteristic with a limit here: " + quoted(limited)
}

// alarms checks what raises alarms: charts are drawn of what has a limit.
func (c *checker) alarms(s *Spec) {
	limited := s.limited()
	allowed := allowedOf(limited)
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
