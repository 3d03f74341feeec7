package batch

import (
	"maps"
	"math"
	"slices"
	"time"

	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// How rows of crowns tell layings. A laying lasts while neck and carriage keep their places (see inspect/laying); the inspection's
// first is 1, and every row of a crown holds the one that it was taken in.
//
// A crown of a laying is the row of that laying that no row of the same laying replaces or takes back. A row that takes another one
// back holds that one's laying. So a crown that was measured again within its laying has its newest height, and a crown measured
// again in a later laying keeps its earlier height too:
//
// A link is a crown of a later laying, of round 1, at a point that laying.Links names of the earlier ones'. Its row replaces the
// earlier one (Supersedes) in the same round, and from then on it alone counts there. Other rows that replace one of an earlier laying
// (somebody chose the point, or its reading was in doubt) count for themselves and are no links.
//
// What is in one plane is a frame: the crowns of its laying, and those of the frame before carried into it. Laying 1 is carried into 2,
// and that frame into 3. A laying that ended before its links were in is left out: the one before it is linked to the next.
//
// Where something moved, the crowns taken since are withdrawn and a new laying begins. A crown that was asked about, measured again as
// before and said to be so is replaced by a row of the same reading with the Reason SaidToBeSo. A step in a track's shape is noted by a
// row of kind ShapeStep: found again when the track was measured in one go, it is the neck's own.
//
// Where the links disagree, or carrying is not worth it, what stands of the earlier layings is withdrawn: for each row one with
// Withdrawn, Supersedes and a Reason. Rows that are not withdrawn yet take no part all the same.

// SaidToBeSo is the reason of a row by which somebody says that a crown that is far from what the others say is so.
const SaidToBeSo = "measured again and said to be so"

// Carrying is how far the crowns of earlier layings are brought into a later one.
type Carrying int

// What becomes of them. From TooFew on they are withdrawn.
const (
	NothingOld    Carrying = iota // none of an earlier laying stands, or all were measured anew
	Linking                       // links are to be measured first
	LinksAgree                    // they are carried
	TooFew                        // they are fewer than laying.FewestCarried
	TooOld                        // more than laying.MostTime lies between
	Changed                       // the neck was worked on meanwhile, or its air changed by more than laying.MostHumidity
	Undetermined                  // the links do not determine the plane or cannot be tested
	LinksDisagree                 // the neck changed, or something moved in the laying itself
)

// Withdrawn reports that the old crowns no longer count.
func (c Carrying) Withdrawn() bool { return c >= TooFew }

// Present is the laying that crowns are read in now.
type Present struct {
	Laying  int       // 0: the newest that a crown was read in
	Since   time.Time // when it began; zero: with its first crown
	Changed bool      // the neck changed before it
}

// Laid is what the crowns of an inspection's layings have to do with each other.
type Laid struct {
	Laying   int // that all heights are in
	State    Carrying
	Old      int            // crowns of earlier layings
	Links    []Point        // to be measured, of round 1, by track and along it; while Linking
	Fit      []laying.Link  // how each link fits, once all are in
	Shifts   []laying.Shift // what carrying adds
	Withdraw []Reading      // rows that stand and no longer count: each is to be withdrawn

	rows  []Reading
	frame frame
}

// frame is crowns in one plane, by point and round.
type frame map[Point]map[int]sum

// sum is a crown's height as a sum of rows' values times weights; row is the one that was taken there.
type sum struct {
	row     int
	weights map[int]float64
}

func (s *sum) add(weight float64, other sum) {
	for i, w := range other.weights {
		s.weights[i] += weight * w
	}
}

// height is the sum's value, mm.
func (l *Laid) height(s sum) float64 {
	z := 0.0
	for _, i := range sortedRows(s.weights) {
		z += s.weights[i] * l.rows[i].Value
	}
	return z
}

// sortedRows are the rows that have a weight, in order.
func sortedRows(weights map[int]float64) []int {
	var rows []int
	for i := range weights {
		rows = append(rows, i)
	}
	slices.Sort(rows)
	return rows
}

// Lay works out which crowns are in one plane, which are carried into it by which links, and which no longer count. The readings are all
// of one inspection, those replaced and taken back included.
func Lay(s *inspect.Spec, readings []Reading, now Present) Laid {
	l := Laid{Laying: now.Laying, rows: readings}
	standing := map[string]bool{}
	for _, r := range Standing(readings) {
		standing[r.ID] = !r.Withdrawn
	}
	layings := l.crowns(s)
	for _, of := range layings {
		l.Laying = max(l.Laying, of.laying)
	}
	if len(layings) == 0 || layings[len(layings)-1].laying < l.Laying {
		layings = append(layings, layingOf{laying: l.Laying, crowns: frame{}})
	}
	c := carrying{Laid: &l, spec: s, tracks: s.TracksOf(), standing: standing}
	var from layingOf // the laying that the frame is of
	for i, into := range layings {
		if len(l.frame) == 0 {
			l.frame, from = into.crowns, into
			continue
		}
		last := i == len(layings)-1
		if into.first.IsZero() {
			into.first = now.Since
		}
		c.changed = last && now.Changed
		state, frame := c.carry(from, into)
		switch {
		case state == Linking && !last: // left out: the frame is linked to the next laying
			l.lose(into.crowns, standing)
			continue
		case state.Withdrawn():
			l.lose(l.frame, standing)
		}
		if last {
			l.State = state
		}
		l.frame, from = frame, into
	}
	if l.State != Linking {
		l.Links = nil
	}
	for p, rounds := range l.frame {
		for round, sum := range rounds {
			if !standing[l.rows[sum.row].ID] {
				delete(rounds, round)
			}
		}
		if len(rounds) == 0 {
			delete(l.frame, p)
		}
	}
	slices.SortFunc(l.Withdraw, func(a, b Reading) int { return int(a.Seq - b.Seq) })
	return l
}

// layingOf is the crowns of one laying.
type layingOf struct {
	laying      int
	crowns      frame
	first, last time.Time
}

// crowns are the layings that have crowns on tracks and frets of the specification, in order.
func (l *Laid) crowns(s *inspect.Spec) []layingOf {
	at := map[string]int{}
	for i, r := range l.rows {
		at[r.ID] = i
	}
	gone := make([]bool, len(l.rows))
	for _, r := range l.rows {
		if i, ok := at[r.Supersedes]; ok && r.Supersedes != "" && l.rows[i].Laying == r.Laying {
			gone[i] = true
		}
	}
	tracks := s.TracksOf()
	all := map[int]*layingOf{}
	for i, r := range l.rows {
		p := r.Point
		if p.Kind != Crown || r.Withdrawn || gone[i] || p.Fret < 1 || p.Fret > s.Neck.Frets ||
			!slices.ContainsFunc(tracks, func(t inspect.TrackSpec) bool { return t.Name == p.Track }) {
			continue
		}
		of := all[r.Laying]
		if of == nil {
			of = &layingOf{laying: r.Laying, crowns: frame{}, first: r.At}
			all[r.Laying] = of
		}
		if of.crowns[p] == nil {
			of.crowns[p] = map[int]sum{}
		}
		of.crowns[p][max(r.Round, 1)] = sum{row: i, weights: map[int]float64{i: 1}}
		of.last = r.At
	}
	var layings []layingOf
	for _, of := range all {
		layings = append(layings, *of)
	}
	slices.SortFunc(layings, func(a, b layingOf) int { return a.laying - b.laying })
	return layings
}

// LaidCrown is a crown that takes part.
type LaidCrown struct {
	Point   Point
	Row     Reading // its newest round's
	Height  float64 // mm, in the plane of Laid.Laying; the mean of its rounds
	URepeat float64 // mm, of one reading
}

// Crowns are those that take part, in the order taken.
func (l *Laid) Crowns(s *inspect.Spec) []LaidCrown {
	crowns := make([]LaidCrown, 0, len(l.frame))
	for p, rounds := range l.frame {
		c := LaidCrown{Point: p}
		for _, round := range slices.Sorted(maps.Keys(rounds)) {
			c.Height += l.height(rounds[round]) / float64(len(rounds))
			c.Row = l.rows[rounds[round].row]
			c.URepeat = max(c.URepeat, URepeat(s, c.Row))
		}
		crowns = append(crowns, c)
	}
	slices.SortFunc(crowns, func(a, b LaidCrown) int { return int(a.Row.Seq - b.Row.Seq) })
	return crowns
}

// Developed are crowns as inspect/laying takes them, on the tracks of LayingNeck, with the board's radius taken out.
func Developed(s *inspect.Spec, crowns []LaidCrown) []laying.Crown {
	fan, tracks := s.Fan(), s.TracksOf()
	lines := make([]inspect.Line, len(tracks))
	for i, t := range tracks {
		lines[i] = fan.Line(t.YNutMM, t.YSaddleMM)
	}
	var all []laying.Crown
	for _, c := range crowns {
		i := slices.IndexFunc(tracks, func(t inspect.TrackSpec) bool { return t.Name == c.Point.Track })
		y, radius := lines[i].Y[c.Point.Fret-1], fan.Radius(lines[i].At(c.Point.Fret))
		all = append(all, laying.Crown{Track: i, Fret: c.Point.Fret, Z: inspect.Developed(c.Height, y, radius)})
	}
	return all
}

// lose notes the standing rows of a frame that take no part.
func (l *Laid) lose(old frame, standing map[string]bool) {
	for _, rounds := range old {
		for _, s := range rounds {
			if standing[l.rows[s.row].ID] {
				l.Withdraw = append(l.Withdraw, l.rows[s.row])
			}
		}
	}
}

// put sets a crown's value in a round.
func (f frame) put(p Point, round int, s sum) {
	if f[p] == nil {
		f[p] = map[int]sum{}
	}
	f[p][round] = s
}

// URepeat is the part of a crown's standard uncertainty, mm, that differs from reading to reading, resolution and repeatability: its
// own, or that of the specification's gauge.
func URepeat(s *inspect.Spec, r Reading) float64 {
	switch {
	case r.U > 0 && r.URepeat > 0 && r.URepeat < r.U:
		return r.URepeat
	case r.U > 0:
		return r.U
	}
	return math.Hypot(s.Uncertainty.ResolutionMM/math.Sqrt(12), s.Uncertainty.RepeatabilityMM)
}

// LayingNeck is the geometry of a specification's neck as inspect/laying takes it, all tracks of the specification in their order.
func LayingNeck(s *inspect.Spec) laying.Neck {
	d, fan := s.WithDefaults().Datum, s.Fan()
	withNut := func(nut float64, frets []float64) []float64 { return append([]float64{nut}, frets...) }
	n := laying.Neck{Scale: fan.ScaleMM, Datum: d.FirstFret, Relief: d.ReliefFret, Joint: d.SecondFret, Last: s.Neck.Frets}
	n.Centre = withNut(fan.Centre.Nut, fan.Centre.X)
	for _, t := range s.TracksOf() {
		l := fan.Line(t.YNutMM, t.YSaddleMM)
		n.Tracks = append(n.Tracks, laying.Track{X: withNut(l.Nut, l.X), Y: withNut(t.YNutMM, l.Y)})
	}
	return n
}
