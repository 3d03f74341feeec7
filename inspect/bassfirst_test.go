package inspect

import (
	"slices"
	"testing"
)

func TestBassFirst(t *testing.T) {
	given := []Characteristic{{Name: Action, String: 1, Fret: 12}, {Name: Action, String: 6, Fret: 12}, {Name: NutHeight, String: 1}, {Name: NutHeight, String: 2}, {Name: NutHeight, String: 6}, {Name: Relief, Track: "bass"}, {Name: Relief, Track: "treble"}}
	before := slices.Clone(given)
	got := map[string][]int{}
	var tracks []string
	for _, c := range BassFirst(given) {
		got[c.Name] = append(got[c.Name], c.String)
		if c.Name == Relief {
			tracks = append(tracks, c.Track)
		}
	}
	if !slices.Equal(got[NutHeight], []int{6, 2, 1}) || !slices.Equal(got[Action], []int{6, 1}) || !slices.Equal(tracks, []string{"bass", "treble"}) {
		t.Errorf("strings %v, tracks %v", got, tracks)
	}
	if !slices.EqualFunc(given, before, func(a, b Characteristic) bool { return a.Name == b.Name && a.String == b.String && a.Track == b.Track }) {
		t.Error("the result's own order changed")
	}
}
