package tell

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Revised is one thing that two revisions of a specification say otherwise: what it was and what it is, "" where it was or is not
// there.
type Revised struct{ What, Was, Is string }

// SpecChanges lists what a revision changes, its limits before the rest: "relief, bass track, upper limit", "0.36 mm", "0.4 mm". Defaults are
// what is meant where a key is left out. Nil where nothing that counts differs.
func SpecChanges(was, is *inspect.Spec, in unit.Unit) []Revised {
	was, is = was.WithDefaults(), is.WithDefaults()
	var changes []Revised
	note := func(what, before, after string) {
		if before != after {
			changes = append(changes, Revised{what, before, after})
		}
	}
	note("Name", was.Name, is.Name)
	note("Revision", was.Revision, is.Revision)
	const limits = "Limits"
	changes = append(changes, limitChanges(was, is, in)...)
	before := Spec(was, in)
	after := Spec(is, in)
	for _, p := range merged(titlesOf(before), titlesOf(after)) {
		if p == limits {
			continue
		}
		old, now := fieldsOf(before, p), fieldsOf(after, p)
		for _, name := range merged(namesOf(old), namesOf(now)) {
			note(p+": "+Lower(name), valueOf(old, name), valueOf(now, name))
		}
	}
	return changes
}

// limitChanges lists what became of the limits, bound by bound.
func limitChanges(was, is *inspect.Spec, in unit.Unit) []Revised {
	var changes []Revised
	find := func(s *inspect.Spec, name string) *inspect.Limit {
		for i := range s.Limits {
			if LimitName(s.Limits[i]) == name {
				return &s.Limits[i]
			}
		}
		return nil
	}
	for _, l := range was.Limits {
		name := LimitName(l)
		now := find(is, name)
		if now == nil {
			changes = append(changes, Revised{What: "Limit of " + name, Was: Bounds(l, in)})
			continue
		}
		for i, bound := range []string{"lower limit", "target", "upper limit"} {
			if a, b := boundOf(l, i, in), boundOf(*now, i, in); a != b {
				changes = append(changes, Revised{Upper(name) + ", " + bound, a, b})
			}
		}
	}
	for _, l := range is.Limits {
		if name := LimitName(l); find(was, name) == nil {
			changes = append(changes, Revised{What: "Limit of " + name, Is: Bounds(l, in)})
		}
	}
	return changes
}

// boundOf writes a limit's lower bound, target or upper bound; "" for none.
func boundOf(l inspect.Limit, which int, in unit.Unit) string {
	lower, target, upper := l.Bounds()
	v := [3]*float64{lower, target, upper}[which]
	if v == nil {
		return ""
	}
	switch inspect.KindOf(l.Characteristic).Unit {
	case "deg":
		return exact(*v) + "°"
	case "cents":
		return exact(*v) + " cents"
	}
	return Nominal(*v, in)
}

// merged are two lists of names as one, each once, the first one's order first.
func merged(a, b []string) []string {
	all := slices.Clone(a)
	for _, name := range b {
		if !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	return all
}

func titlesOf(parts []Part) []string {
	titles := make([]string, len(parts))
	for i, p := range parts {
		titles[i] = p.Title
	}
	return titles
}

func namesOf(fields []Field) []string {
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	return names
}

// fieldsOf are the fields of the part of a title, each with a name of its own: the second of a name is "name (2)".
func fieldsOf(parts []Part, title string) []Field {
	at := slices.IndexFunc(parts, func(p Part) bool { return p.Title == title })
	if at < 0 {
		return nil
	}
	seen := map[string]int{}
	out := slices.Clone(parts[at].Fields)
	for i := range out {
		name := out[i].Name
		seen[name]++
		if n := seen[name]; n > 1 {
			out[i].Name = fmt.Sprintf("%s (%d)", name, n)
		}
	}
	return out
}

func valueOf(fields []Field, name string) string {
	for _, f := range fields {
		if f.Name == name {
			return f.Value
		}
	}
	return ""
}

// RoutineLasts says how many points a routine asks for and about how long they take: "57 points, about 4:10 min".
func RoutineLasts(points int, took time.Duration) string {
	return Count(points, "point") + ", about " + Takt(took)
}

// BoundsInShort writes a limit's bounds where there is little room: "0.2 to 0.36 mm", "≤ 0.12 mm".
func BoundsInShort(l inspect.Limit, in unit.Unit) string {
	lower, upper := boundOf(l, 0, in), boundOf(l, 2, in)
	switch {
	case lower == "":
		return "≤ " + upper
	case upper == "":
		return "≥ " + lower
	}
	for _, unit := range []string{" " + in.String(), " cents"} {
		lower = strings.TrimSuffix(lower, unit)
	}
	return lower + " to " + upper
}

// WholeNeck lists the limits that are of no string or track: "twist, −0.5° to 0.5°".
func WholeNeck(s *inspect.Spec, in unit.Unit) []string {
	var all []string
	for _, l := range s.Limits {
		if k := inspect.KindOf(l.Characteristic); !k.Track && !k.String {
			all = append(all, LimitName(l)+" "+Bounds(l, in))
		}
	}
	return all
}
