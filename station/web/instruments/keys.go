package instruments

import (
	"fmt"
	"strconv"
	"strings"

	"sagitta/inspect"
)

// key is a field of a wished set-up that is a value of the specification's file, by its path there.
type key struct {
	path, label string
	allowed     string
	choices     []string // of a text that is chosen
	whole       bool     // a whole number
	usual       string   // what an empty one means; "" where it may not be empty
	first       bool     // shown at once; the others are folded
}

// length says that the value is a length.
func (k key) length() bool { return strings.HasSuffix(k.path, "_mm") }

// keys are the fields of the neck and of how it is measured, in their order.
var keys = []key{
	{path: "neck.scale_mm", label: "Scale", first: true},
	{path: "neck.scale_bass_mm", label: "Scale, bass side", allowed: "of the outermost string", first: true},
	{path: "neck.scale_treble_mm", label: "Scale, treble side", allowed: "of the outermost string", first: true},
	{path: "neck.perpendicular_fret", label: "Fret square to the middle line", allowed: "0 is the nut", usual: "7", first: true},
	{path: "neck.frets", label: "Frets", whole: true, first: true},
	{path: "neck.joint_fret", label: "Fret at the joint", whole: true, first: true},
	{path: "neck.joint", label: "Joint", choices: inspect.Joints(), first: true},
	{path: "neck.rod", label: "Truss rod", choices: []string{"single", "double", "none"}, first: true},
	{path: "neck.bridge", label: "Bridge", choices: inspect.Bridges(), first: true},

	{path: "neck.nut_radius_mm", label: "Board radius at the nut", allowed: "0 is flat"},
	{path: "neck.last_fret_radius_mm", label: "Board radius at the last fret", allowed: "0 is flat; between the two it goes evenly"},
	{path: "neck.rod_end", label: "The rod's nut is turned", choices: inspect.RodEnds(), usual: "not said"},
	{path: "neck.rod_turns_left", label: "Turns left on the rod, tightening", allowed: "may stay empty", usual: "not known"},
	{path: "datum.first_fret", label: "Relief: first datum fret", whole: true, usual: "1"},
	{path: "datum.second_fret", label: "Relief: second datum fret", whole: true, allowed: "empty: where neck and body meet", usual: "the joint"},
	{path: "datum.relief_fret", label: "Relief is taken at fret", whole: true, usual: "7"},
	{path: "pluck.force_n", label: "Pluck, square to the board, N", allowed: "0 to 100"},
	{path: "pluck.distance_mm", label: "Pluck, from the saddle"},
	{path: "routine.posture", label: "Measured", choices: []string{"playing", "flat"}},
	{path: "routine.repairs", label: "What is more than a set-up", choices: inspect.Repairs()},
}

// applies says whether a neck has the key.
func (k key) applies(s *inspect.Spec) bool {
	switch k.path {
	case "neck.scale_mm":
		return !s.Neck.MultiScale()
	case "neck.scale_bass_mm", "neck.scale_treble_mm", "neck.perpendicular_fret":
		return s.Neck.MultiScale()
	case "neck.rod_turns_left", "neck.rod_end":
		return s.Neck.Rod != "none"
	case "pluck.force_n", "pluck.distance_mm":
		return s.Pluck != nil
	}
	return true
}

// stringKeys are the fields of each string, limitKeys those of each limit.
var (
	stringKeys = []string{"name", "diameter_mm", "mass_g_per_m"}
	limitKeys  = []string{"lower", "target", "upper"}
)

// limitField names a limit's fields by what it bounds, so that it keeps its name where others come and go.
func limitField(l inspect.Limit) string {
	name := "limit." + l.Characteristic
	if l.Track != "" {
		name += "." + l.Track
	}
	for _, at := range []inspect.Index{l.String, l.Fret} {
		if at != (inspect.Index{}) {
			name += "." + at.String()
		}
	}
	if l.HeldFret > 0 {
		name += "." + strconv.Itoa(l.HeldFret)
	}
	return name
}

// spans are the distances between the outermost strings, which the file has as each string's place.
var spans = []struct{ field, label, of string }{
	{"span.nut", "Outermost strings apart at the nut", "y_nut_mm"},
	{"span.saddle", "Outermost strings apart at the saddle", "y_saddle_mm"},
}

// at finds a value by its path, "limit[3].upper_mm"; nil where it is left out.
func at(values map[string]any, path string) any {
	name, rest, deeper := strings.Cut(path, ".")
	name, row, listed := strings.Cut(name, "[")
	v := values[name]
	if listed {
		n, err := strconv.Atoi(strings.TrimSuffix(row, "]"))
		list, _ := v.([]any)
		if err != nil || n < 1 || n > len(list) {
			return nil
		}
		v = list[n-1]
	}
	if !deeper {
		return v
	}
	table, _ := v.(map[string]any)
	return at(table, rest)
}

// put puts a value in its place, or with nil takes it out. What the path leads through is there, or made.
func put(values map[string]any, path string, v any) {
	name, rest, deeper := strings.Cut(path, ".")
	name, row, listed := strings.Cut(name, "[")
	switch {
	case listed:
		n, _ := strconv.Atoi(strings.TrimSuffix(row, "]"))
		put(values[name].([]any)[n-1].(map[string]any), rest, v)
	case !deeper && v == nil:
		delete(values, name)
	case !deeper:
		values[name] = v
	default:
		table, there := values[name].(map[string]any)
		if !there {
			table = map[string]any{}
			values[name] = table
		}
		put(table, rest, v)
	}
}

// row is the path of a list's row, from 1.
func row(list string, n int) string { return fmt.Sprintf("%s[%d]", list, n) }
