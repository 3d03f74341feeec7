package inspect

import (
	"cmp"
	"fmt"
	"slices"
)

// leastCrownMM is the crown height below which a fret is replaced; common practice, no source.
const leastCrownMM = 0.75

// adviseLevel says which crowns to take down and by how much, and which are low.
func (e *evaluation) adviseLevel(a *Advice, res *Result, rows []*Characteristic) error {
	a.Why = e.causes(rows)
	high := map[rowKey]bool{}
	for _, c := range rows {
		if c.Fret > 0 && miss(c) > 0 && c.Name != boardRadius {
			high[rowKey{track: c.Track, fret: c.Fret}] = true
		}
	}
	if len(high) == 0 {
		e.highestCrowns(high, res, rows)
	}
	for at := range high {
		a.Items = append(a.Items, e.takeOff(at.track, at.fret))
	}
	for _, c := range rows {
		switch {
		case (c.Name == rocker || c.Name == levelDeviation) && miss(c) < 0 && !e.besideHigh(high, c):
			at := rowKey{track: c.Track, fret: c.Fret}
			if !high[at] {
				high[at] = true
				a.Items = append(a.Items, AdviceItem{Track: c.Track, Fret: c.Fret, Note: "low: seat it and glue it, or replace it; nothing can be taken off"})
			}
		case c.Name == fallAway:
			note := "the frets over the body rise: dress them down together"
			if miss(c) > 0 {
				note = "the frets over the body fall away too far: level the whole board, or leave it to a repairer"
			}
			a.Items = append(a.Items, AdviceItem{Track: c.Track, Fret: len(e.x), Note: note})
		case c.Name == boardRadius:
			a.Items = append(a.Items, AdviceItem{Fret: c.Fret, Note: "radius out of limits: level with a block of the board's radius"})
		}
	}
	slices.SortStableFunc(a.Items, func(x, y AdviceItem) int { return cmp.Or(cmp.Compare(x.Track, y.Track), x.Fret-y.Fret) })
	if len(a.Items) > 0 && slices.ContainsFunc(a.Items, func(i AdviceItem) bool { return i.AmountMM != nil }) && !e.everyCrownKnown(a.Items) {
		a.Why += fmt.Sprintf(". Measure the crowns' own height first: below %.2f mm afterwards means a new fret", leastCrownMM)
	}
	return e.predict(a, res, e.dressed(a.Items))
}

// dressed returns the readings as they should be once crowns have been taken down. The strings' heights are left out: what
// they will be over a lower crown is measured again before action is judged.
func (e *evaluation) dressed(items []AdviceItem) *Readings {
	after := e.readings.clone()
	after.Action, after.NutHeight = nil, nil
	for i := range items {
		if items[i].AmountMM == nil {
			continue
		}
		for j := range after.Profile {
			if t := &after.Profile[j]; t.Track == items[i].Track {
				*t.ZMM[items[i].Fret-1] -= *items[i].AmountMM
			}
		}
	}
	return after
}

// highestCrowns marks the crowns to take down where no single fret is out of its limit but a zone over many is: on each track
// concerned those standing more than half the zone's limit above the bend curve, and else the highest of all.
func (e *evaluation) highestCrowns(high map[rowKey]bool, res *Result, rows []*Characteristic) {
	for _, zone := range rows {
		if zone.Upper == nil || zone.Name != straightness && zone.Name != flatness && zone.Name != levelZone {
			continue
		}
		var highest *Characteristic
		for i := range res.Characteristics {
			c := &res.Characteristics[i]
			if c.Name != levelDeviation || c.Value == nil || *c.Value <= 0 || zone.Track != "" && zone.Track != c.Track {
				continue
			}
			if *c.Value > *zone.Upper/2 {
				high[rowKey{track: c.Track, fret: c.Fret}] = true
			}
			if highest == nil || *c.Value > *highest.Value {
				highest = c
			}
		}
		if len(high) == 0 && highest != nil {
			high[rowKey{track: highest.Track, fret: highest.Fret}] = true
		}
	}
}

// besideHigh reports that a low rocker is only the shadow of a high neighbour.
func (e *evaluation) besideHigh(high map[rowKey]bool, c *Characteristic) bool {
	return c.Name == rocker && (high[rowKey{track: c.Track, fret: c.Fret - 1}] || high[rowKey{track: c.Track, fret: c.Fret + 1}])
}

// takeOff says how much metal to take off a crown: what stands above the bend curve, or beyond it above the neighbours.
func (e *evaluation) takeOff(name string, fret int) AdviceItem {
	item := AdviceItem{Track: name, Fret: fret}
	t := e.track(name)
	amount := t.level(t.z, t.bend, fret)
	if !(amount > 0) {
		amount = t.rocker(t.z, t.bend, fret)
	}
	if !(amount > 0) {
		item.Note = "high: dress it to its neighbours"
		return item
	}
	item.AmountMM = &amount
	if len(t.crown) > 0 && t.crown[fret-1] != nil {
		if left := *t.crown[fret-1] - amount; left < leastCrownMM {
			item.Note = fmt.Sprintf("%.2f mm of crown would be left, below %.2f mm: refret", left, leastCrownMM)
		} else {
			item.Note = fmt.Sprintf("%.2f mm of crown will be left", left)
		}
	}
	return item
}

// everyCrownKnown reports that the crown height of every fret to be taken down was given.
func (e *evaluation) everyCrownKnown(items []AdviceItem) bool {
	for i := range items {
		if items[i].AmountMM == nil {
			continue
		}
		if t := e.track(items[i].Track); len(t.crown) == 0 || t.crown[items[i].Fret-1] == nil {
			return false
		}
	}
	return true
}
