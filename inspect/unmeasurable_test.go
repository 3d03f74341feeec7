package inspect

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// TestUnmeasurable: each limit that the routine cannot measure is named with the part of the routine that leaves it out
// (definition of the routine's points), and a routine that measures everything gets no warning.
func TestUnmeasurable(t *testing.T) {
	worked, _ := readNeck(t, "W1-good-neck")
	full := worked.WithDefaults()
	full.Routine.Tracks = []string{bass, centre, treble}
	full.Pluck = &Pluck{ForceN: 3, DistanceMM: 130}
	full.Limits = nil
	for _, name := range CharacteristicNames() {
		k := kinds[name]
		l := Limit{Characteristic: name}
		switch k.Unit {
		case "deg":
			l.UpperDeg = number(1)
		case "cents":
			l.UpperCents = number(5)
		default:
			l.UpperMM = number(1)
		}
		if k.Track {
			l.Track = each
		}
		if k.String {
			l.String = Index{Each: true}
		}
		if k.Fret {
			l.Fret = Index{Each: true}
		}
		full.Limits = append(full.Limits, l)
	}
	if faults := full.Check(); len(faults) > 0 {
		t.Fatal(Faults(faults))
	}
	var crowns, threeTracks []string
	for _, k := range Catalogue() {
		if k.Limited && k.Name != Relief && slices.Contains(k.Points, PointCrown) {
			crowns = append(crowns, k.Name)
		}
		if k.Limited && k.Tracks == 3 {
			threeTracks = append(threeTracks, k.Name)
		}
	}
	for _, c := range []struct {
		name   string
		change func(*Spec)
		want   []string // characteristics, in the order of a result
		says   string   // of the first
	}{
		{"everything", func(*Spec) {}, nil, ""},
		{"sweep", func(s *Spec) { s.Routine.Profile = "sweep" }, nil, ""},
		{"leaves", func(s *Spec) { s.Routine.Profile = "leaves" }, crowns, `profile is "leaves"`},
		{"beam", func(s *Spec) { s.Routine.Profile = "beam" }, crowns, `profile is "beam"`},
		{"none", func(s *Spec) { s.Routine.Profile = "none" }, append([]string{Relief}, crowns...), `profile is "none"`},
		{"two tracks", func(s *Spec) { s.Routine.Tracks = []string{bass, treble} }, threeTracks, "three tracks and the routine has 2"},
		{"a track left out", func(s *Spec) {
			s.Routine.Tracks = []string{bass, treble}
			s.Limits = []Limit{{Characteristic: Relief, Track: centre, UpperMM: number(1)}}
		}, []string{Relief}, `track "centre" is not among`},
		{"a string left out", func(s *Spec) { s.Routine.Strings = StringList{Numbers: []int{1, 2, 3, 4, 5}} },
			[]string{Action, NutHeight, LeastClearance, ClearanceMargin}, "string 6 is not among"},
		{"a fret left out", func(s *Spec) {
			s.Routine.ActionFrets = []int{7}
			s.Limits = []Limit{{Characteristic: Action, String: NumberIndex(1), UpperMM: number(3)}}
		}, []string{Action}, "fret 12 is not among"},
		{"held", func(s *Spec) {
			s.Limits = []Limit{{Characteristic: Action, String: NumberIndex(1), HeldFret: 1, UpperMM: number(3)}}
		}, []string{Action}, "open"},
		{"no pluck", func(s *Spec) { s.Pluck = nil }, []string{ClearanceMargin}, "no pluck"},
		{"declared", func(s *Spec) { s.Routine.Pitch = "declared" }, []string{Pitch}, "declared"},
	} {
		t.Run(c.name, func(t *testing.T) {
			spec := *full
			routine := *full.Routine
			spec.Routine = &routine
			spec.Alarms = nil // the charts watched follow the limits
			c.change(&spec)
			got := spec.Unmeasurable()
			var names []string
			for i := range spec.Limits {
				if slices.ContainsFunc(got, func(f Fault) bool { return f.Field == fmt.Sprintf("limit[%d]", i+1) }) {
					names = append(names, spec.Limits[i].Characteristic)
				}
			}
			if !slices.Equal(names, c.want) || len(got) > 0 && !strings.Contains(got[0].Found, c.says) {
				t.Errorf("got %v %v, want %v", names, got, c.want)
			}
		})
	}
}
