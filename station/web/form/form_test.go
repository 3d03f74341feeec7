package form

import "testing"

// A form of lengths says in which unit its page showed them.
func TestFormSaysItsUnit(t *testing.T) {
	for want, fields := range map[string][]Field{
		"":   {{Name: "name"}, {Name: "hours", Unit: "h"}},
		"mm": {{Name: "hours", Unit: "h"}, {Name: "zero", Unit: "mm"}},
		"in": {{Name: "zero", Unit: "in"}},
	} {
		if got := (&Form{Groups: []Group{{}, {Fields: fields}}}).ShownIn(); got != want {
			t.Errorf("%v: %q, want %q", fields, got, want)
		}
	}
}
