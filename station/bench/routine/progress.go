package routine

import (
	"maps"
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
)

// Progress is how far an attempt's readings have brought it. It is not changed once it is made.
type Progress struct {
	Points   []Point // of the routine, with what was read
	Round    int     // 1, or 2 and 3 while undecided points are measured again
	Next     int     // index of the first point that this round asks for and has not got beyond doubt, -1 when it is complete
	Measured *inspect.Readings
	Result   *inspect.Result // of all readings so far

	Purpose Purpose    // of the point that is next
	Why     string     // a sentence, where it is asked for because of layings, or End's
	End     *End       // rows that no longer count: to be recorded before anything else
	OwnStep string     // a sentence about a step that the neck has, measured twice
	Laid    batch.Laid // what the crowns of its layings have to do with each other
	closing [2]int     // closing readings that are not among the points: those that are known to come, those that a verdict rests on

	first map[string]int  // keys asked for before all others, with their round
	asked map[string]bool // keys asked for in this round
	all   byPoint         // what stands
	have  byPoint         // what need not be asked for: those that stand and, before a verdict, are not in doubt
}

// byPoint are readings by the point's key and the round.
type byPoint map[string]map[int]*batch.Reading

// standing sorts the readings that stand.
func standing(readings []batch.Reading) byPoint {
	sorted := byPoint{}
	for _, r := range batch.Standing(readings) {
		if r.Point.Kind == batch.ShapeStep {
			continue // a note
		}
		key := Key(r.Point)
		if sorted[key] == nil {
			sorted[key] = map[int]*batch.Reading{}
		}
		sorted[key][r.Round] = &r
	}
	return sorted
}

// without leaves readings in doubt out.
func (b byPoint) without(doubted map[string]bool) byPoint {
	rest := byPoint{}
	for key, rounds := range b {
		rest[key] = map[int]*batch.Reading{}
		for n, r := range rounds {
			if !doubted[r.ID] {
				rest[key][n] = r
			}
		}
	}
	return rest
}

// Replay works out from the readings alone which round the routine is in, which points it asks for and whether it is
// complete. An undecided result opens another round for the points it rests on, up to maxRounds. On an error, which
// inspect.Evaluate gives, the progress says what is asked for and has no result.
func (a *Attempt) Replay() (Progress, error) {
	p := Progress{Round: 1, asked: map[string]bool{}, first: map[string]int{}, all: standing(a.Readings)}
	readings := a.Readings
	if a.Laying > 0 {
		p.Laid = batch.Lay(a.Spec, a.Readings, batch.Present{Laying: a.Laying, Since: a.LaidAt, Changed: a.EndedBy.Changed != ""})
		readings = a.settled(&p)
	}
	p.have = p.all
	if len(a.Doubted) > 0 && !a.Concluded {
		p.have = p.all.without(a.Doubted)
	}
	for _, point := range a.points() {
		p.asked[point.Key] = true
		p.Points = append(p.Points, p.read(point, a.Doubted))
	}
	for p.Next = p.pending(); p.Next < 0 && p.Round < maxRounds; p.Next = p.pending() {
		some := upTo(readings, p.Round)
		measured, res, err := a.Judge(some)
		if err != nil {
			return p, err
		}
		if len(some) == len(readings) {
			p.Measured, p.Result = measured, res
		}
		again := p.undecided(a.Spec, res)
		if res.Disposition != inspect.Remeasure || len(again) == 0 {
			break
		}
		p.Round++
		p.asked = again
	}
	if p.Result == nil {
		var err error
		if p.Measured, p.Result, err = a.Judge(readings); err != nil {
			return p, err
		}
	}
	p.colour()
	if a.Laying > 0 {
		a.lie(&p)
	}
	return p, nil
}

// settled are the readings that are judged: until the links are in, those of the layings before.
func (a *Attempt) settled(p *Progress) []batch.Reading {
	if p.Laid.State != batch.Linking {
		return a.Readings
	}
	var settled []batch.Reading
	for _, r := range a.Readings {
		if r.Point.Kind != batch.Crown || r.Laying != a.Laying {
			settled = append(settled, r)
		}
	}
	return settled
}

// read is a point with what was read of it.
func (p *Progress) read(point Point, doubted map[string]bool) Point {
	n, rounds := 0, p.all[point.Key]
	for _, round := range slices.Sorted(maps.Keys(rounds)) {
		r := rounds[round]
		if r.Withdrawn {
			point.Skipped = true
		} else {
			point.Value += r.Value
			n++
		}
		point.InDoubt = point.InDoubt || doubted[r.ID]
	}
	if n > 0 {
		point.Value /= float64(n)
		point.Taken, point.Skipped = true, false
	}
	return point
}

// upTo are the readings of the rounds up to n.
func upTo(readings []batch.Reading, n int) []batch.Reading {
	var some []batch.Reading
	for _, r := range readings {
		if r.Round <= n {
			some = append(some, r)
		}
	}
	return some
}

// pending is the index of the first point that this round asks for and has not got, -1 when it is complete.
func (p *Progress) pending() int {
	for i := range p.Points {
		if p.Asks(p.Points[i].Key) {
			return i
		}
	}
	return -1
}

// undecided are the points that lie under an undecided characteristic and can be read again.
func (p *Progress) undecided(spec *inspect.Spec, res *inspect.Result) map[string]bool {
	again := map[string]bool{}
	for _, c := range res.Characteristics {
		if c.Zone != inspect.Undecided {
			continue
		}
		for _, ref := range inspect.Involved(spec, c) {
			if key := Key(batch.PointOf(ref)); p.canBeReadAgain(key) {
				again[key] = true
			}
		}
	}
	return again
}

// canBeReadAgain says that a point of the routine was measured, not declared.
func (p *Progress) canBeReadAgain(key string) bool {
	point := p.Point(key)
	return point != nil && point.Taken && point.Point.Kind != batch.PitchDeclared
}

// Point is the routine's point with a key, nil when it has none.
func (p *Progress) Point(key string) *Point {
	if i := p.Index(key); i >= 0 {
		return &p.Points[i]
	}
	return nil
}

// Index is the place of a key among the points, -1 when the routine has none.
func (p *Progress) Index(key string) int {
	for i := range p.Points {
		if p.Points[i].Key == key {
			return i
		}
	}
	return -1
}

// Asks says whether this round asks for a point that has no reading yet, or one in doubt only.
func (p *Progress) Asks(key string) bool {
	_, first := p.first[key]
	return first || p.asked[key] && p.have[key][p.Round] == nil
}

// Open are the frets of a track whose crowns are asked for.
func (p *Progress) Open(track string, frets int) []int {
	var open []int
	for n := 1; n <= frets; n++ {
		if p.Asks(Key(batch.Point{Kind: batch.Crown, Track: track, Fret: n})) {
			open = append(open, n)
		}
	}
	return open
}

// RoundOf is the round that a reading of a point belongs to: the present one, or the newest that it was asked for in.
func (p *Progress) RoundOf(key string) int {
	if round, first := p.first[key]; first {
		return round
	}
	if p.asked[key] {
		return p.Round
	}
	newest := 1
	for round := range p.all[key] {
		newest = max(newest, round)
	}
	return newest
}

// Stands is the reading of a point that stands in the round that a new one would belong to, nil when there is none.
func (p *Progress) Stands(key string) *batch.Reading { return p.all[key][p.RoundOf(key)] }

// Replaces is the ID of the reading that a new one of a point replaces, "" when it is the first of its round.
func (p *Progress) Replaces(key string) string {
	if old := p.Stands(key); old != nil {
		return old.ID
	}
	return ""
}

// Of counts the points that the attempt asks for, the closing readings that are known to come among them.
func (p *Progress) Of() int { return len(p.Points) + p.closing[0] + p.closing[1] }

// Done counts the points, of those, that have a reading or were marked as not to be measured.
func (p *Progress) Done() int {
	n := p.closing[1]
	for i := range p.Points {
		if p.Points[i].Taken || p.Points[i].Skipped {
			n++
		}
	}
	return n
}

// InDoubt counts the points whose reading is in doubt.
func (p *Progress) InDoubt() int {
	n := 0
	for i := range p.Points {
		if p.Points[i].InDoubt {
			n++
		}
	}
	return n
}

// Newest is the newest standing row, nil when there is none.
func (p *Progress) Newest() *batch.Reading {
	return p.newest(func(*batch.Reading) bool { return true })
}

// LastOf is the newest standing reading of a gauge, nil when there is none.
func (p *Progress) LastOf(gaugeID string) *batch.Reading {
	return p.newest(func(r *batch.Reading) bool { return r.GaugeID == gaugeID && !r.Withdrawn })
}

func (p *Progress) newest(fits func(*batch.Reading) bool) *batch.Reading {
	var last *batch.Reading
	for _, rounds := range p.all {
		for _, r := range rounds {
			if fits(r) && (last == nil || r.Seq > last.Seq) {
				last = r
			}
		}
	}
	return last
}

// OnBoard says whether a reading stands that knows sides; pitch does not.
func (p *Progress) OnBoard() bool {
	return p.newest(func(r *batch.Reading) bool {
		return !r.Withdrawn && r.Point.Kind != batch.Pitch && r.Point.Kind != batch.PitchDeclared
	}) != nil
}

// CameWith are the standing rows that came with one: the whole sweep, where it came by one; of leaves the one that passes and the one that
// does not, where both were tapped at once.
func (a *Attempt) CameWith(r *batch.Reading) []batch.Reading {
	if r.Point.Kind.IsLeaf() {
		return a.tappedWith(r)
	}
	var all []batch.Reading
	swept := false
	for _, other := range batch.Standing(a.Readings) {
		if !other.At.Equal(r.At) || other.GaugeID != r.GaugeID || other.Withdrawn {
			continue
		}
		switch other.Point.Kind {
		case batch.Sweep:
			swept = true
		case batch.Crown, batch.Closing:
		default:
			continue
		}
		all = append(all, other)
	}
	if !swept {
		return []batch.Reading{*r}
	}
	return all
}

func (a *Attempt) tappedWith(r *batch.Reading) []batch.Reading {
	var both []batch.Reading
	for _, other := range batch.Standing(a.Readings) {
		if !other.Point.Kind.IsLeaf() || other.Point.Track != r.Point.Track {
			continue
		}
		if other.ID == r.ID || other.GaugeID != "" && other.GaugeID == r.GaugeID && other.At.Equal(r.At) {
			both = append(both, other)
		}
	}
	return both
}
