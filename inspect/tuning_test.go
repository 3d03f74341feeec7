package inspect

import (
	"reflect"
	"slices"
	"strings"
	"testing"
)

// TestPitchComesFirst: what fails whatever the pitch is does not hide that relief and action wait for it, and the step says
// which strings, whether pitch has a limit or not (definition).
func TestPitchComesFirst(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = s.Limits[:len(s.Limits)-1] // pitch was the last
	r.NutHeight[2].HeightMM = 0.8
	for _, c := range []struct {
		name, why string
		pitch     []PitchReading
		items     []AdviceItem
	}{
		{"off", "string 1 is 329 cents off pitch", append([]PitchReading{{String: 1, Cents: number(-329)}}, r.Pitch[1:]...), []AdviceItem{{String: 1, Cents: number(329)}}},
		{"unread", "no pitch reading of string 1", r.Pitch[1:], []AdviceItem{{String: 1, Note: "no pitch reading: tune it and measure its pitch"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			out := *r
			out.Pitch = c.pitch
			res := mustEvaluate(t, s, &out, Options{})
			if res.Disposition != Rework || len(res.Advice) != 2 || res.Advice[0].What != "pitch" || res.Advice[1].What != "nut slots" || !res.Advice[1].Waits {
				t.Fatalf("%s: %+v", res.Disposition, res.Advice)
			}
			a := res.Advice[0]
			if !strings.HasPrefix(a.Why, c.why) || a.Waits || !reflect.DeepEqual(a.Items, c.items) {
				t.Errorf("%+v", a)
			}
			out.NutHeight = slices.Clone(r.NutHeight)
			out.NutHeight[2].HeightMM = r.NutHeight[1].HeightMM // nothing but the pitch
			res = mustEvaluate(t, s, &out, Options{})
			if res.Disposition != Remeasure || !strings.HasPrefix(res.Why, c.why+": ") {
				t.Errorf("pitch alone: %s, %s", res.Disposition, res.Why)
			}
			if len(res.Advice) != 1 || res.Advice[0].What != "pitch" || !reflect.DeepEqual(res.Advice[0].Items, c.items) || res.Advice[0].Waits {
				t.Errorf("pitch alone: %+v", res.Advice)
			}
		})
	}
}

// TestPitchBeforeTheRepairer: where the pitch keeps a limited value from a verdict it is the first step, before a hump too, and
// what then fails is not told as taken out of limits by it (definition).
func TestPitchBeforeTheRepairer(t *testing.T) {
	s, r := readNeck(t, "W5-hump")
	r.Pitch = nil
	s.Limits = append(s.Limits, Limit{Characteristic: Action, String: NumberIndex(2), UpperMM: number(0.5)})
	res := mustEvaluate(t, s, r, Options{})
	var what []string
	for _, a := range res.Advice {
		what = append(what, a.What)
	}
	if want := []string{"pitch", "repairer", "action"}; res.Disposition != Repair || !slices.Equal(what, want) { // its clearance fails as measured
		t.Errorf("%s: %q, want %q", res.Disposition, what, want)
	}
	for _, a := range res.Advice {
		if strings.Contains(a.Why, "take out of limits") || len(a.Items) > 0 && a.What == "action" {
			t.Errorf("%+v", a)
		}
	}
	if len(res.Advice[0].Items) != len(s.Strings) {
		t.Errorf("%+v", res.Advice[0])
	}
}

// TestPitchNotDeclared: where the routine lets the inspector declare the pitch and nobody did, that is the first advice.
func TestPitchNotDeclared(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits = s.Limits[:len(s.Limits)-1] // pitch was the last
	s.Routine = &Routine{Tracks: []string{bass, treble}, Pitch: "declared"}
	r.Pitch = nil
	res := mustEvaluate(t, s, r, Options{})
	if res.Disposition != Remeasure || len(res.Advice) != 1 || res.Advice[0].What != "pitch" || len(res.Advice[0].Items) != 0 ||
		!strings.HasPrefix(res.Advice[0].Why, "nobody has confirmed that the instrument is at pitch") {
		t.Errorf("%s: %+v", res.Disposition, res.Advice)
	}
}
