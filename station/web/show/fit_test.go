package show

import (
	"slices"
	"testing"

	"sagitta/inspect"
)

// TestLeftOut names what went: alone where none of it stays, else which strings, else the limits themselves.
func TestLeftOut(t *testing.T) {
	of := func(name string, strings ...int) (all []inspect.Limit) {
		for _, n := range strings {
			all = append(all, inspect.Limit{Characteristic: name, String: inspect.Index{Number: n}})
		}
		return all
	}
	action := of(inspect.Action, 1, 2, 3, 4, 5, 6)
	tracks := []inspect.Limit{{Characteristic: inspect.Straightness, Track: "bass"}, {Characteristic: inspect.Straightness, Track: "treble"}}
	for _, c := range []struct {
		had  []inspect.Limit
		left []int
		want []string
	}{
		{action, []int{1, 2, 3, 4}, []string{"action of strings 2 to 5"}},
		{action, []int{1}, []string{"action of string 2"}},
		{action, []int{0, 1, 3}, []string{"action of strings 1, 2, 4"}},
		{action, []int{0, 1, 2, 3, 4, 5}, []string{"action"}},
		{append(of(inspect.NutHeight, 1, 6), action...), []int{0, 1, 3}, []string{"nut height", "action of string 2"}},
		{tracks, []int{0}, []string{"straightness, bass track"}},
		{tracks, nil, nil},
	} {
		if got := LeftOut(c.left, c.had); !slices.Equal(got, c.want) {
			t.Errorf("%v of %d: %q, want %q", c.left, len(c.had), got, c.want)
		}
	}
}
