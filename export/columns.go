package export

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/inspect"
)

// key names a characteristic of a neck. Where a track has one value per fret, the key stands for the worst of them.
type key struct {
	name, track          string
	string, fret, heldAt int
}

// group is a characteristic's columns: first and last value, and the fret of each where the worst fret is shown.
type group struct {
	key     key
	unit    string // "mm", "deg", "cents"
	datum   *[2]int
	fret    bool // the worst over frets, with its fret
	between bool // at a fret that the value itself decides, e.g. of the largest relief
	lower   *float64
	target  *float64
	upper   *float64
}

// keyOf is the column group that a characteristic belongs to.
func keyOf(c *inspect.Characteristic) key {
	k := key{name: c.Name, track: c.Track, string: c.String, fret: c.Fret, heldAt: c.HeldFret}
	if kind := inspect.KindOf(c.Name); kind.AtEveryFret() || kind.Found {
		k.fret = 0
	}
	return k
}

// limited says whether a characteristic has a bound.
func limited(c *inspect.Characteristic) bool { return c.Lower != nil || c.Upper != nil }

// groupsOf lists the column groups of some results, in the catalogue's order. Everything limited is in; of the rest, what the
// catalogue gives a column.
func groupsOf(results []*inspect.Result) []group {
	seen := map[key]int{}
	var groups []group
	for _, r := range results {
		for i := range r.Characteristics {
			c := &r.Characteristics[i]
			kind := inspect.KindOf(c.Name)
			if !limited(c) && (!kind.Column || c.Value == nil) {
				continue
			}
			k := keyOf(c)
			at, ok := seen[k]
			if !ok {
				at = len(groups)
				seen[k] = at
				groups = append(groups, group{key: k, unit: c.Unit, fret: kind.AtEveryFret(), between: kind.Found})
			}
			g := &groups[at]
			if g.datum == nil {
				g.datum = c.Datum
			}
			if g.lower == nil && g.upper == nil {
				g.lower, g.target, g.upper = c.Lower, c.Target, c.Upper
			}
		}
	}
	all := inspect.Catalogue()
	rank := func(name string) int {
		if i := slices.IndexFunc(all, func(k inspect.Kind) bool { return k.Name == name }); i >= 0 {
			return i
		}
		return len(all)
	}
	slices.SortStableFunc(groups, func(a, b group) int {
		return cmp.Or(
			cmp.Compare(rank(a.key.name), rank(b.key.name)),
			cmp.Compare(a.key.name, b.key.name),
			cmp.Compare(side(a.key.track), side(b.key.track)),
			cmp.Compare(b.key.string, a.key.string), // the lowest string first, as on the bass side
			cmp.Compare(a.key.fret, b.key.fret),
			cmp.Compare(a.key.heldAt, b.key.heldAt))
	})
	return groups
}

// side orders tracks from bass to treble, others after them in their own order.
func side(track string) int {
	if i := slices.Index([]string{"bass", "centre", "treble"}, track); i >= 0 {
		return i
	}
	return 3
}

// head is the head of a group's column: the characteristic, where, over which frets, which inspection, the unit.
func (g *group) head(which, unit string) string {
	s := g.key.words()
	if g.fret {
		s += ", worst"
	}
	if g.datum != nil {
		s += fmt.Sprintf(" over frets %d–%d", g.datum[0], g.datum[1])
	}
	return s + ", " + which + " (" + unit + ")"
}

// fretHead is the head of the column with the fret that the value was found at.
func (g *group) fretHead(which string) string { return g.key.words() + ", at fret, " + which }

// words names a characteristic and its place in words.
func (k key) words() string {
	s := inspect.Name(k.name)
	if place := inspect.Place(k.track, k.string, k.fret); place != "" {
		s += ", " + place
	}
	if k.heldAt > 0 {
		s += ", " + inspect.Pressed(k.heldAt)
	}
	return s
}

// worse says whether a needs looking at before b: by zone, then by distance from the target (the middle of the limits,
// zero with one limit or none).
func worse(a, b *inspect.Characteristic) bool {
	if ra, rb := a.Zone.Rank(), b.Zone.Rank(); ra != rb {
		return ra > rb
	}
	if a.Value == nil || b.Value == nil {
		return a.Value != nil && b.Value == nil
	}
	return math.Abs(*a.Value-aim(a)) > math.Abs(*b.Value-aim(b))
}

// aim is what a characteristic's value is compared with.
func aim(c *inspect.Characteristic) float64 {
	switch {
	case c.Target != nil:
		return *c.Target
	case c.Lower != nil && c.Upper != nil:
		return (*c.Lower + *c.Upper) / 2
	}
	return 0
}

// worst finds the characteristic that needs looking at first among the limited ones: by zone, then by its margin in
// multiples of the expanded uncertainty. The margin is the distance to the nearer limit, negative outside, over U = 2 u
// (ISO 14253-1); nil where value or uncertainty is missing.
func worst(r *inspect.Result) (c *inspect.Characteristic, margin *float64) {
	for i := range r.Characteristics {
		d := &r.Characteristics[i]
		if !limited(d) {
			continue
		}
		m := marginOver(d)
		if c == nil || d.Zone.Rank() > c.Zone.Rank() ||
			d.Zone.Rank() == c.Zone.Rank() && m != nil && (margin == nil || *m < *margin) {
			c, margin = d, m
		}
	}
	return c, margin
}

// marginOver is a value's distance to its nearer limit in multiples of U.
func marginOver(c *inspect.Characteristic) *float64 {
	m, ok := inspect.WorstMargin(*c)
	if !ok || c.U == nil || *c.U <= 0 {
		return nil
	}
	m /= 2 * *c.U
	return &m
}
