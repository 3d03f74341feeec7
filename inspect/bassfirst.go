package inspect

import (
	"cmp"
	"slices"
)

// BassFirst returns characteristics in the order of lists for people: kinds as in the catalogue, the strings of one from bass to
// treble (6 to 1); what is left stays in its order. A result and its files keep theirs, from string 1 on.
func BassFirst(all []Characteristic) []Characteristic {
	return slices.SortedStableFunc(slices.Values(all), func(a, b Characteristic) int {
		return cmp.Or(cmp.Compare(kindOf(a.Name).place, kindOf(b.Name).place), cmp.Compare(b.String, a.String))
	})
}
