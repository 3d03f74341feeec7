package bench

import (
	"fmt"
	"slices"
	"testing"

	"sagitta/station/bench"
)

// signature is a sound's rhythm with its direction from note to note: "s+l" is a short note and a higher, long one.
func (s sound) signature() string {
	text := ""
	before := 0.0
	for i, n := range s.notes() {
		if i > 0 {
			text += map[bool]string{true: "+", false: "-"}[n.Hz > before]
			if n.Hz == before {
				text = text[:len(text)-1] + "="
			}
		}
		text += map[int]string{shortNote: "s", longNote: "l"}[n.For]
		before = n.Hz
	}
	return text
}

// rhythm is a sound's rhythm alone.
func (s sound) rhythm() string {
	text := ""
	for _, n := range s.notes() {
		text += map[int]string{shortNote: "s", longNote: "l"}[n.For]
	}
	return text
}

// TestSoundLanguage: everything that happens has its sound, told from every other by rhythm and direction whatever its pitch, the verdicts
// by their rhythm alone; each is short, what is heard most is shortest.
func TestSoundLanguage(t *testing.T) {
	signatures, rhythms := map[string]bench.Sound{}, map[string]bench.Sound{}
	var named []bench.Sound
	length := func(s sound) int { last := s.notes()[len(s.notes())-1]; return last.At + last.For }
	for _, s := range language {
		named = append(named, s.Name)
		if other, twice := signatures[s.signature()]; twice {
			t.Errorf("%s and %s are both %s", s.Name, other, s.signature())
		}
		signatures[s.signature()] = s.Name
		if slices.Contains([]bench.Sound{bench.Passed, bench.ToRework, bench.ToRepair, bench.Undecided, bench.Refused}, s.Name) {
			if other, twice := rhythms[s.rhythm()]; twice {
				t.Errorf("%s and %s have the same rhythm", s.Name, other)
			}
			rhythms[s.rhythm()] = s.Name
		}
		if ms := length(s); ms > 1000 || ms < length(language[0]) {
			t.Errorf("%s lasts %d ms", s.Name, ms)
		}
		for _, n := range s.notes() {
			if n.Hz < 250 || n.Hz > 1000 {
				t.Errorf("%s has a note of %g Hz", s.Name, n.Hz)
			}
		}
	}
	all := slices.Clone(bench.Sounds)
	slices.Sort(all)
	slices.Sort(named)
	if !slices.Equal(all, named) {
		t.Errorf("sounds of %v, want of %v", named, all)
	}
	if got := fmt.Sprint(language[0].notes()); language[0].Name != bench.Taken || got != "[{416 0 70}]" {
		t.Errorf("taken sounds %s", got)
	}
}
