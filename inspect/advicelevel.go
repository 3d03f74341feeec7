package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// leastCrownMM is the crown height below which a fret is replaced; common practice, no source.
const leastCrownMM = 0.75

// What single crowns are taken down for: rounds of finding the high ones again after the others, and the least worth
// another one, mm.
const (
	mostRounds  = 4
	leastOffMM  = 0.002
	halfOfLimit = 0.5 // of a zone: a crown that stands out more is high
	mostEven    = 0.1 // of a zone: where none stands out more, no single crown is behind it
)

// crownWork is metal to take off one crown.
type crownWork struct {
	track string
	fret  int
	mm    float64 // 0 where it cannot be told, negative for a low fret seated or replaced
}

// level says which crowns to take down and by how much, and which are low.
func (p *plan) level(a *Advice, rows []*Characteristic, _ rodState) error {
	e := p.then
	off, err := p.crownsOff(rows)
	if err != nil {
		return err
	}
	high := map[rowKey]bool{}
	metal, known := false, true
	for _, w := range off {
		high[rowKey{track: w.track, fret: w.fret}] = true
		item := e.takeOff(w)
		a.Items = append(a.Items, item)
		if strings.HasSuffix(item.Note, "refret") && a.Defects == nil {
			a.Defects = []string{lowCrown.Defect}
		}
		if w.mm > 0 {
			metal = true
			known = known && e.crownMM(w) != nil
		}
	}
	for _, c := range rows {
		switch at := (rowKey{track: c.Track, fret: c.Fret}); {
		case c.Name == Rocker || c.Name == LevelDeviation:
			if miss(c) > 0 || high[at] || e.besideHigh(high, c) {
				continue
			}
			high[at] = true
			a.Items = append(a.Items, AdviceItem{Track: c.Track, Fret: c.Fret, Note: "low: seat it and glue it, or replace it; nothing can be taken off"})
			off = append(off, crownWork{c.Track, c.Fret, e.standsOut(c.Track, c.Fret)}) // brought up
		case c.Name == FallAway && miss(c) < 0:
			dress := e.dressEnd(c)
			for i := range dress {
				a.Items = append(a.Items, AdviceItem{Track: c.Track, Fret: dress[i].fret, AmountMM: &dress[i].mm, Note: "the frets over the body rise: dress them down together"})
			}
			off = append(off, dress...)
		case c.Name == FallAway:
			a.Items = append(a.Items, AdviceItem{Track: c.Track, Fret: e.frets, Note: "the frets over the body fall away too far: level the whole board" + e.spec.byWhom(", or leave it to a repairer", "")})
		case c.Name == BoardRadius:
			a.Items = append(a.Items, AdviceItem{Fret: c.Fret, Note: "radius out of limits: level with a block of the board's radius"})
		}
	}
	slices.SortStableFunc(a.Items, func(x, y AdviceItem) int { return cmp.Or(cmp.Compare(x.Track, y.Track), x.Fret-y.Fret) })
	if metal && !known {
		a.Why += fmt.Sprintf(". Measure the crowns' own height first: below %.2f mm afterwards means a new fret", leastCrownMM)
	}
	if err := p.do(a, false, func(n *neck, r *Readings, _ aside) { n.takeDown(r, off) }); err != nil {
		return err
	}
	switch left := standing(p.then.failing(StepLevel)); {
	case len(left) > 0 && metal:
		a.Why += ". Single crowns do not bring all of it inside (" + p.then.causes(left) + "): level all frets at strung shape"
	case len(left) > 0:
		a.Why += ". No single crown is behind it (" + p.then.causes(left) + "): level all frets at strung shape"
	}
	return nil
}

// dressEnd lowers the frets over the body in proportion to their distance from fret b, so that the last falls away as much as
// is wanted.
func (e *evaluation) dressEnd(c *Characteristic) []crownWork {
	t := e.track(c.Track)
	by := targetOf(c, *c.Value) - *c.Value
	from, last := t.line.At(e.b), t.line.At(e.frets)
	var off []crownWork
	for fret := e.b + 1; fret <= e.frets; fret++ {
		if t.measured(fret) {
			off = append(off, crownWork{c.Track, fret, by * (t.line.At(fret) - from) / (last - from)})
		}
	}
	return off
}

// takeDown takes metal off several crowns; a negative amount is a crown brought up.
func (n *neck) takeDown(r *Readings, off []crownWork) {
	for _, w := range off {
		n.lower(r, w.track, w.fret, w.mm)
	}
}

// crownsOff finds the crowns to take down: the high ones, then those that are high once these are down, until no more fail
// or nothing worth it is left.
func (p *plan) crownsOff(rows []*Characteristic) ([]crownWork, error) {
	var off []crownWork
	e := p.then
	for round := range mostRounds {
		more := false
		for _, at := range e.highCrowns(rows) {
			mm := e.standsOut(at.track, at.fret)
			if round == 0 && !(mm > 0) { // its neighbours are low, though inside their limits
				t := e.track(at.track)
				mm = t.rocker(t.z, t.bend, at.fret)
			}
			enough := mm > 0 && (round == 0 || mm >= leastOffMM)
			more = more || enough
			i := slices.IndexFunc(off, func(w crownWork) bool { return w.track == at.track && w.fret == at.fret })
			switch {
			case enough && i >= 0:
				off[i].mm += mm
			case enough:
				off = append(off, crownWork{at.track, at.fret, mm})
			case round == 0:
				off = append(off, crownWork{at.track, at.fret, 0})
			}
		}
		if !more {
			break
		}
		r := p.then.readings.clone()
		p.then.takeDown(r, off)
		var err error
		if e, err = p.simulate(r); err != nil {
			return nil, err
		}
		if err := p.judge(e, [len(asides)]map[rowKey]float64{}); err != nil {
			return nil, err
		}
		rows = slices.DeleteFunc(standing(e.failing(StepLevel)), func(c *Characteristic) bool { return c.Name == Straightness || c.Name == Flatness })
		if len(rows) == 0 {
			break
		}
	}
	return off, nil
}

// standing returns the rows that metal off a crown can mend: high frets and zones.
func standing(rows []*Characteristic) []*Characteristic {
	return slices.DeleteFunc(rows, func(c *Characteristic) bool {
		switch c.Name {
		case Rocker, LevelDeviation, Straightness, Flatness, LevelZone:
			return miss(c) <= 0
		}
		return true
	})
}

// highCrowns returns the crowns out of limits above, and where no single fret is but a zone over many: on each track
// concerned those standing more than half the zone's limit above the bend curve, and else the highest of all that stands out.
// In the order of the rows, each once.
func (e *evaluation) highCrowns(rows []*Characteristic) []rowKey {
	var high []rowKey
	add := func(c *Characteristic) {
		if at := (rowKey{track: c.Track, fret: c.Fret}); !slices.Contains(high, at) {
			high = append(high, at)
		}
	}
	for _, c := range rows {
		if (c.Name == Rocker || c.Name == LevelDeviation) && miss(c) > 0 && !e.besideLow(rows, c) {
			add(c)
		}
	}
	if len(high) > 0 {
		return high
	}
	for _, zone := range rows {
		if !overMany(zone.Name) || zone.Upper == nil {
			continue
		}
		var highest *Characteristic
		for _, c := range e.above(zone.Track) {
			if *c.Value > halfOfLimit**zone.Upper {
				add(c)
			}
			if *c.Value > mostEven**zone.Upper && (highest == nil || *c.Value > *highest.Value) {
				highest = c
			}
		}
		if len(high) == 0 && highest != nil {
			add(highest)
		}
	}
	return high
}

// overMany says that a characteristic is a zone over many crowns.
func overMany(name string) bool { return name == Straightness || name == Flatness || name == LevelZone }

// above returns the level deviations of crowns that stand above the bend curve, on one track or, with "", on all.
func (e *evaluation) above(track string) []*Characteristic {
	var all []*Characteristic
	for i := range e.rows {
		if c := &e.rows[i]; c.Name == LevelDeviation && c.Value != nil && *c.Value > 0 && (track == "" || track == c.Track) {
			all = append(all, c)
		}
	}
	return all
}

// besideHigh reports that a low rocker is only the shadow of a high neighbour.
func (e *evaluation) besideHigh(high map[rowKey]bool, c *Characteristic) bool {
	return c.Name == Rocker && (high[rowKey{track: c.Track, fret: c.Fret - 1}] || high[rowKey{track: c.Track, fret: c.Fret + 1}])
}

// standsOut is how far a crown stands above the bend curve, or beyond it above the neighbours; negative below.
func (e *evaluation) standsOut(track string, fret int) float64 {
	t := e.track(track)
	if mm := t.level(t.z, t.bend, fret); !math.IsNaN(mm) {
		return mm
	}
	return t.rocker(t.z, t.bend, fret)
}

// besideLow reports that a high rocker is only the shadow of a low neighbour: one that is out of its limits below, while the
// crown itself stands above the bend curve by less than half of what the rocker shows.
func (e *evaluation) besideLow(rows []*Characteristic, c *Characteristic) bool {
	if c.Name != Rocker || 2*e.standsOut(c.Track, c.Fret) >= *c.Value {
		return false
	}
	return slices.ContainsFunc(rows, func(o *Characteristic) bool {
		return o.Track == c.Track && (o.Fret == c.Fret-1 || o.Fret == c.Fret+1) && (o.Name == Rocker || o.Name == LevelDeviation) && miss(o) < 0
	})
}

// crownMM is the height of a crown over the board, nil where it was not given.
func (e *evaluation) crownMM(w crownWork) *float64 {
	if t := e.track(w.track); len(t.crown) > 0 {
		return t.crown[w.fret-1]
	}
	return nil
}

// takeOff says how much metal to take off a crown and how much will be left.
func (e *evaluation) takeOff(w crownWork) AdviceItem {
	item := AdviceItem{Track: w.track, Fret: w.fret}
	if w.mm == 0 {
		item.Note = "high: dress it to its neighbours"
		return item
	}
	item.AmountMM = &w.mm
	if crown := e.crownMM(w); crown != nil {
		if left := *crown - w.mm; left < leastCrownMM {
			item.Note = fmt.Sprintf("%.2f mm of crown would be left, below %.2f mm: refret", left, leastCrownMM)
		} else {
			item.Note = fmt.Sprintf("%.2f mm of crown will be left", left)
		}
	}
	return item
}
