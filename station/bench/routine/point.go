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
	l := list{spec: s.WithDefaults(), gauges: gauges}
	l.pitch()
	for i, name := range l.spec.Routine.Tracks {
		l.profile(name, i%2 == 1)
	}
	numbers := l.strings()
	l.over(batch.NutHeight, numbers, 0)
	for _, fret := range l.spec.Routine.ActionFrets {
		slices.Reverse(numbers)
		l.over(batch.ActionHeight, numbers, fret)
	}
	return l.points
}

// list is a routine being written down.
type list struct {
	spec   *inspect.Spec
	gauges []batch.Gauge
	points []Point
}

// add puts a point at the end and returns it.
func (l *list) add(p batch.Point, x, y float64, drawn bool) *Point {
	point := Point{Key: Key(p), Point: p, XMM: x, YMM: y, Drawn: drawn, Words: tell.Point(p), Zone: inspect.NoLimit}
	for i := range l.gauges {
		if l.gauges[i].Serves(p.Kind) {
			point.GaugeID = l.gauges[i].ID
			break
		}
	}
	l.points = append(l.points, point)
	return &l.points[len(l.points)-1]
}

// pitch asks for every string's pitch, whichever strings the routine gauges, or for one word that all are at pitch.
func (l *list) pitch() {
	if l.spec.Routine.Pitch == "declared" {
		l.add(batch.Point{Kind: batch.PitchDeclared}, 0, 0, false)
		return
	}
	for _, str := range l.spec.Strings {
		p := l.add(batch.Point{Kind: batch.Pitch, String: str.Number}, 0, str.YNutMM, true)
		p.Words = fmt.Sprintf("pitch of string %d, %s: cents from %.2f Hz", str.Number, str.Name, str.PitchHz)
	}
}

// profile asks for the relief of one track in the way that the specification chooses; down is from the last fret to the nut.
func (l *list) profile(track string, down bool) {
	relief, last := l.spec.Datum.ReliefFret, l.spec.Neck.Frets
	switch l.spec.Routine.Profile {
	case "each fret":
		for n := 1; n <= last; n++ {
			if down {
				l.on(batch.Crown, track, last+1-n)
			} else {
				l.on(batch.Crown, track, n)
			}
		}
	case "sweep":
		indicator, _ := Carriage(l.gauges)
		for n := 1; n <= last; n++ {
			if p := l.on(batch.Crown, track, n); indicator != nil {
				p.GaugeID = indicator.ID
			}
		}
	case "beam":
		l.on(batch.BeamReading, track, relief)
	case "leaves":
		l.on(batch.LeafPasses, track, relief)
		l.on(batch.LeafStops, track, relief)
	}
}

// on asks for a point of a track at a fret.
func (l *list) on(k batch.Kind, track string, fret int) *Point {
	scale := l.spec.Neck.ScaleMM
	x, y := inspect.FretX(scale, fret), 0.0
	for _, t := range l.spec.TracksOf() {
		if t.Name == track {
			y = inspect.TrackY(t.YNutMM, t.YSaddleMM, scale, x)
		}
	}
	return l.add(batch.Point{Kind: k, Track: track, Fret: fret}, x, y, true)
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

// over asks for the height of strings over a fret; fret 0 is the nut, whose height is read over fret 1.
func (l *list) over(k batch.Kind, numbers []int, fret int) {
	scale := l.spec.Neck.ScaleMM
	x := inspect.FretX(scale, max(fret, 1))
	for _, n := range numbers {
		for _, str := range l.spec.Strings {
			if str.Number == n {
				l.add(batch.Point{Kind: k, String: n, Fret: fret}, x, inspect.TrackY(str.YNutMM, str.YSaddleMM, scale, x), true)
			}
		}
	}
}
