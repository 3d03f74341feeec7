package batch

import (
	"maps"
	"slices"

	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// carrying brings one frame into another laying.
type carrying struct {
	*Laid
	spec     *inspect.Spec
	tracks   []inspect.TrackSpec
	standing map[string]bool
	changed  bool
}

// carry returns the frame of a laying: its own crowns and, where the links agree, those of the frame before.
func (c *carrying) carry(from, into layingOf) (Carrying, frame) {
	old := c.old()
	c.Old, c.Links, c.Fit, c.Shifts = len(old), nil, nil, nil
	neck := LayingNeck(c.spec)
	asked, err := laying.Links(neck, old)
	var links []laying.Crown
	u := 0.0
	for _, l := range asked {
		p := c.point(l)
		own, measured := into.crowns[p][1]
		if !measured {
			c.Links = append(c.Links, p)
			continue
		}
		l.Z = c.height(own)
		links = append(links, l)
		u = max(u, URepeat(c.spec, c.rows[own.row]), URepeat(c.spec, c.rows[c.frame[p][1].row]))
	}
	switch {
	case !c.waiting(into.crowns):
		if err == nil && len(c.Links) == 0 { // a later laying may be linked to some that were replaced since
			if state, frame := c.bring(neck, old, links, u, into); state == LinksAgree {
				return NothingOld, frame
			}
		}
		return NothingOld, into.crowns
	case err != nil:
		return Undetermined, into.crowns
	case len(old) < laying.FewestCarried:
		return TooFew, into.crowns
	case !from.last.IsZero() && !into.first.IsZero() && into.first.Sub(from.last) > laying.MostTime:
		return TooOld, into.crowns
	case c.changed:
		return Changed, into.crowns
	case len(c.Links) > 0:
		return Linking, into.crowns
	}
	return c.bring(neck, old, links, u, into)
}

// old returns the frame's crowns of round 1.
func (c *carrying) old() (old []laying.Crown) {
	for i := range c.tracks {
		for fret := 1; fret <= c.spec.Neck.Frets; fret++ {
			crown := laying.Crown{Track: i, Fret: fret}
			if s, ok := c.frame[c.point(crown)][1]; ok {
				crown.Z = c.height(s)
				old = append(old, crown)
			}
		}
	}
	return old
}

// point is where a crown is.
func (c *carrying) point(of laying.Crown) Point {
	return Point{Kind: Crown, Track: c.tracks[of.Track].Name, Fret: of.Fret}
}

// waiting reports whether a crown of the frame stands that the laying has not.
func (c *carrying) waiting(into frame) bool {
	for p, rounds := range c.frame {
		for round, s := range rounds {
			if _, measured := into[p][round]; !measured && c.standing[c.rows[s.row].ID] {
				return true
			}
		}
	}
	return false
}

// bring carries the frame into a laying by its links, all of which are in.
func (c *carrying) bring(neck laying.Neck, old, links []laying.Crown, u float64, into layingOf) (Carrying, frame) {
	carried, err := laying.Carry(neck, old, links, u)
	if err != nil {
		return Undetermined, into.crowns
	}
	c.Fit, c.Shifts = carried.Links, carried.Shifts
	if !carried.Agree {
		if !slices.ContainsFunc(carried.Links, func(l laying.Link) bool { return l.Tested }) {
			return Undetermined, into.crowns
		}
		return LinksDisagree, into.crowns
	}
	linked := map[Point]bool{}
	for _, l := range links {
		linked[c.point(l)] = true
	}
	whole := frame{}
	for p, rounds := range into.crowns {
		whole[p] = maps.Clone(rounds)
	}
	for j, o := range old {
		p := c.point(o)
		if linked[p] {
			continue // it takes its new reading
		}
		shift := sum{weights: map[int]float64{}} // by the frame's other crowns and by the links' new readings
		for i, w := range carried.Old[j] {
			if i != j && w != 0 {
				shift.add(w, c.frame[c.point(old[i])][1])
			}
		}
		for i, w := range carried.New[j] {
			shift.add(w, into.crowns[c.point(links[i])][1])
		}
		for round, s := range c.frame[p] {
			if _, measured := into.crowns[p][round]; !measured {
				moved := sum{row: s.row, weights: map[int]float64{}}
				moved.add(1, s)
				moved.add(1, shift)
				whole.put(p, round, moved)
			}
		}
	}
	return LinksAgree, whole
}
