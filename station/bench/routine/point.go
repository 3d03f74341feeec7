// Package routine works out what a measuring routine asks for: which points, in which order, in which round, what comes next and
// whether it is complete. Everything in it is a function of the specification and of the readings that stand: an inspection that
// was interrupted goes on where it was.
package routine

import (
	"cmp"
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// Point is one point to measure and what has been read of it.
type Point struct {
	Key     string // stable name, see Key
	Point   batch.Point
	XMM     float64 // place on the board; points without a place (pitch declared) have Drawn false
	AlongMM float64 // place along its own track or string, from that one's nut: where a beam or a carriage stands
	YMM     float64
	Drawn   bool
	Words   string       // e.g. "crown, bass side, fret 7"
	GaugeID string       // gauge that measures it, "" when typed
	Taken   bool         // a reading of it stands
	Skipped bool         // marked as not to be measured
	Value   float64      // mean of the rounds taken, mm or cents
	Zone    inspect.Zone // state of the worst characteristic that rests on it alone, NoLimit otherwise
	InDoubt bool         // its reading is in doubt
}

// Key is a point's stable name, e.g. "crown/bass/7/0/0": kind, track, fret, string, fret at which the string is pressed.
func Key(p batch.Point) string {
	track := p.Track
	if track == "" {
		track = "-"
	}
	return fmt.Sprintf("%s/%s/%d/%d/%d", p.Kind, track, p.Fret, p.String, p.HeldFret)
}

// Points lists what the specification's routine asks for, in order: pitch first (tension is what bends a neck), then
// the profile, nut heights and action. The way is the least: up one track from the nut and down the next, across the strings from the bass
// side and back over the next fret. Places are mm on the board; gauges serve the kinds they are registered for.
func Points(s *inspect.Spec, gauges []batch.Gauge) []Point {
	l := list{spec: s.WithDefaults(), fan: s.Fan(), gauges: gauges}
	l.pitch()
	for i, name := range l.spec.Routine.Tracks {
		l.profile(name, i%2 == 1)
	}
	numbers := l.strings()
	if l.nutHeights() {
		l.over(batch.NutHeight, numbers, 0)
	}
	for _, fret := range l.spec.Routine.ActionFrets {
		slices.Reverse(numbers)
		l.over(batch.ActionHeight, numbers, fret)
	}
	return l.points
}

// list is a routine being written down.
type list struct {
	spec   *inspect.Spec
	fan    *inspect.Fan
	gauges []batch.Gauge
	points []Point
}

// add puts a point at the end and returns it; line is what it lies on, nil for a point without a place, at a fret or at the nut, 0.
func (l *list) add(p batch.Point, line *inspect.Line, fret int) *Point {
	point := Point{Key: Key(p), Point: p, Drawn: line != nil, Words: tell.Point(p), Zone: inspect.NoLimit}
	if line != nil {
		point.XMM, point.YMM, point.AlongMM = line.At(fret), line.YNutMM, line.At(fret)-line.Nut
		if fret > 0 {
			point.YMM = line.Y[fret-1]
		}
	}
	for i := range l.gauges { // one with a line before one that is read by eye
		if g := &l.gauges[i]; g.Serves(p.Kind) {
			point.GaugeID = cmp.Or(point.GaugeID, g.ID)
			if !g.ByEye() {
				point.GaugeID = g.ID
				break
			}
		}
	}
	l.points = append(l.points, point)
	return &l.points[len(l.points)-1]
}

// pitch asks for every string's pitch, whichever strings the routine gauges, or for one word that all are at pitch.
func (l *list) pitch() {
	if l.spec.Routine.Pitch == "declared" {
		l.add(batch.Point{Kind: batch.PitchDeclared}, nil, 0)
		return
	}
	for _, str := range l.spec.Strings {
		line := l.fan.Line(str.YNutMM, str.YSaddleMM)
		p := l.add(batch.Point{Kind: batch.Pitch, String: str.Number}, &line, 0)
		p.Words = fmt.Sprintf("pitch of string %d, %s: cents from %.2f Hz", str.Number, str.Name, str.PitchHz)
	}
}

// profile asks for the relief of one track in the way that the specification chooses; down is from the last fret to the nut.
func (l *list) profile(track string, down bool) {
	relief, last := l.spec.Datum.ReliefFret, l.spec.Neck.Frets
	line := l.fan.Track(l.spec, track)
	on := func(k batch.Kind, fret int) *Point {
		return l.add(batch.Point{Kind: k, Track: track, Fret: fret}, &line, fret)
	}
	switch l.spec.Routine.Profile {
	case "each fret":
		for n := 1; n <= last; n++ {
			if down {
				on(batch.Crown, last+1-n)
			} else {
				on(batch.Crown, n)
			}
		}
	case "sweep":
		indicator, _ := Carriage(l.gauges)
		for n := 1; n <= last; n++ {
			if p := on(batch.Crown, n); indicator != nil {
				p.GaugeID = indicator.ID
			}
		}
	case "beam":
		on(batch.BeamReading, relief)
	case "leaves":
		on(batch.LeafPasses, relief)
		on(batch.LeafStops, relief)
	}
}

// strings are the numbers of the strings that the routine gauges, from the bass side to the treble side.
func (l *list) strings() []int {
	across := slices.Clone(l.spec.Strings)
	slices.SortStableFunc(across, func(a, b inspect.String) int { return cmp.Compare(a.YNutMM, b.YNutMM) })
	var numbers []int
	for _, str := range across {
		if r := l.spec.Routine.Strings; r.Each || slices.Contains(r.Numbers, str.Number) {
			numbers = append(numbers, str.Number)
		}
	}
	return numbers
}

// nutHeights says whether nut heights are worth asking for: a limit is of what is computed from them, or they do not rest on a person's eye.
func (l *list) nutHeights() bool {
	kind := batch.NutHeight
	needed := slices.ContainsFunc(l.spec.Limits, func(lim inspect.Limit) bool {
		return slices.Contains(inspect.KindOf(lim.Characteristic).Points, string(kind))
	})
	eye := false
	for i := range l.gauges {
		if g := &l.gauges[i]; g.Serves(kind) {
			if !g.ByEye() {
				return true
			}
			eye = true
		}
	}
	return needed || !eye
}

// over asks for the height of strings over a fret; fret 0 is the nut, whose height is read over fret 1.
func (l *list) over(k batch.Kind, numbers []int, fret int) {
	for _, n := range numbers {
		for _, str := range l.spec.Strings {
			if str.Number == n {
				line := l.fan.Line(str.YNutMM, str.YSaddleMM)
				l.add(batch.Point{Kind: k, String: n, Fret: fret}, &line, max(fret, 1))
			}
		}
	}
}
