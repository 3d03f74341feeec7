package routine

import (
	"cmp"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// Purpose is why a point is asked for.
type Purpose int

// The purposes. All but the first come with a sentence, Progress.Why.
const (
	ToMeasure Purpose = iota
	ToLink            // measured in a laying before
	ToAsk             // asked about, or measured before the one asked about
	ToBeSure          // measured again as before: a person says that it is so (Attempt.SaidSo), or it is measured again
	ToClose           // at the end of the profile
)

// End is why rows no longer count. Its rows are recorded in one commit, and where something moved a new laying begins (NextLaying).
// Until that is done no verdict is due.
type End struct {
	Withdraw []batch.Reading
	Step     *batch.Point // a step to be noted
	StepMM   float64
	Moved    bool   // a new laying begins
	Why      string // a sentence
}

// Rows are what is recorded, by an inspector in a laying.
func (e *End) Rows(inspectionID, by string, laying int) []batch.Reading {
	var rows []batch.Reading
	for _, r := range e.Withdraw {
		rows = append(rows, batch.Reading{InspectionID: inspectionID, Point: r.Point, Round: r.Round, Laying: r.Laying, By: by, Withdrawn: true,
			Supersedes: r.ID, Reason: e.Why})
	}
	if e.Step != nil {
		rows = append(rows, batch.Reading{InspectionID: inspectionID, Point: *e.Step, Laying: laying, By: by, Value: e.StepMM, Reason: e.Why})
	}
	return rows
}

// NextLaying is the number of a laying that begins now.
func NextLaying(readings []batch.Reading) int {
	next := 1
	for _, r := range readings {
		next = max(next, r.Laying+1)
	}
	return next
}

// SaidSo is the row by which a person says that the crown asked about is so.
func (a *Attempt) SaidSo(p *Progress, by string) batch.Reading {
	row := *p.Stands(p.Points[p.Next].Key)
	row.Supersedes, row.ID, row.Seq, row.By, row.Reason = row.ID, "", 0, by, batch.SaidToBeSo
	return row
}

// LayDown begins a new laying: what crowns are read from now on has nothing to do with those before until links are measured. by is what
// ended the one before; while no crown was read since, what ended it first stays.
func (a *Attempt) LayDown(at time.Time, by batch.Interruption) {
	next := NextLaying(a.Readings)
	if next != a.Laying || a.EndedBy.Kind == "" {
		a.EndedBy = by
	}
	a.Laying, a.LaidAt = next, at
}

// lie brings what layings ask for into the progress: links before the next crown, the pair of a crown that is asked about, a step in
// the shape, the closing reading.
func (a *Attempt) lie(p *Progress) {
	l := &layings{Attempt: a, Progress: p, neck: batch.LayingNeck(a.Spec), of: a.Laying}
	laid := p.Laid
	l.own = slices.ContainsFunc(a.Readings, func(r batch.Reading) bool { return r.Point.Kind == batch.Crown && r.Laying == a.Laying })
	if !l.own { // what was left open in the laying before is seen to
		laid = batch.Lay(a.Spec, a.Readings, batch.Present{})
		l.of = laid.Laying
	}
	l.crowns = laid.Crowns(a.Spec)
	for _, c := range l.crowns {
		l.u = max(l.u, c.URepeat)
		if i := l.Index(Key(c.Point)); i >= 0 {
			l.Points[i].Value = c.Height
		}
	}
	asked := p.Next >= 0 && p.Points[p.Next].Point.Kind == batch.Crown
	chosen := p.Point(a.Chosen)
	asked = asked || chosen != nil && chosen.Point.Kind == batch.Crown
	asked = asked || l.of != a.Laying && !a.Concluded && p.Next < 0 && !l.closed() // it can be closed only as it lies now
	switch {
	case !a.Concluded && l.of != a.Laying && (l.question() || l.step() || l.close()):
	case len(p.Laid.Withdraw) > 0 && (!p.Laid.State.Withdrawn() || asked || l.own):
		l.end(End{Withdraw: p.Laid.Withdraw, Why: tell.NotCarried(&p.Laid, a.EndedBy)})
	case p.Laid.State == batch.Linking && (asked || l.own):
		l.link()
	case a.Concluded || l.of != a.Laying || l.question() || l.step():
	default:
		l.close()
	}
	l.count()
}

// layings is one look at what layings ask for.
type layings struct {
	*Attempt
	*Progress
	neck   laying.Neck
	of     int               // the laying looked at: the present one, or the one before while that has no crowns
	crowns []batch.LaidCrown // that take part
	u      float64           // the largest of their repeatabilities
	own    bool              // whether the present laying has crowns
}

// ask asks for a point before all others.
func (l *layings) ask(key string, round int, purpose Purpose, why string) {
	l.first[key] = round
	if l.Purpose == ToMeasure {
		l.Next, l.Purpose, l.Why = l.Index(key), purpose, why
	}
}

// end says that rows no longer count; their crowns come next.
func (l *layings) end(e End) {
	l.End = &e
	l.Why = e.Why
	l.Next = max(l.Next, 0) // no verdict is due
	for _, r := range e.Withdraw {
		if i := l.Index(Key(r.Point)); i >= 0 {
			l.Next = i
			return
		}
	}
}

// link asks for the links that are not in yet.
func (l *layings) link() {
	for _, p := range l.Laid.Links {
		if key := Key(p); l.Index(key) >= 0 {
			l.ask(key, 1, ToLink, tell.AskLink(p, l.EndedBy))
		}
	}
}

// since are the standing rows of crowns of the laying looked at that fit.
func (l *layings) since(fits func(batch.Reading) bool) (rows []batch.Reading) {
	for _, r := range batch.Standing(l.Readings) {
		if r.Point.Kind == batch.Crown && !r.Withdrawn && r.Laying == l.of && fits(r) {
			rows = append(rows, r)
		}
	}
	return rows
}

// pendingCrown reports whether this round still asks for a crown, on a track or on any.
func (p *Progress) pendingCrown(track string) bool {
	return slices.ContainsFunc(p.Points, func(o Point) bool {
		return o.Point.Kind == batch.Crown && (track == "" || o.Point.Track == track) && p.Asks(o.Key)
	})
}

// step looks for a step in the shape of the tracks that are complete; true when there is one that the neck is not known to have.
func (l *layings) step() bool {
	var complete []batch.LaidCrown
	for _, c := range l.crowns {
		if !l.pendingCrown(c.Point.Track) {
			complete = append(complete, c)
		}
	}
	if len(complete) == 0 {
		return false
	}
	shape, err := laying.FindStep(l.neck, batch.Developed(l.Spec, complete), l.u)
	if err != nil || !shape.Moved {
		return false // a geometry that no step can be told in has none
	}
	mm := shape.Step.Offset
	at := batch.Point{Kind: batch.ShapeStep, Track: l.Spec.TracksOf()[shape.Of.Track].Name, Fret: shape.Step.After, HeldFret: shape.Step.Before}
	of := func(c batch.LaidCrown) bool { return shape.Of.Difference || c.Point.Track == at.Track }
	noted, inOne := l.noted(at, mm), true
	part := map[batch.Point]bool{} // that the step is told by
	first, newest := complete[0].Row.Laying, map[string]int64{}
	for i, c := range slices.Collect(filter(complete, of)) {
		if i == 0 {
			first = c.Row.Laying
		}
		inOne = inOne && c.Row.Laying == first
		part[c.Point] = true
		if c.Point.Fret == at.Fret || c.Point.Fret == at.HeldFret {
			newest[c.Point.Track] = max(newest[c.Point.Track], c.Row.Seq)
		}
	}
	e := End{Step: &at, StepMM: mm, Moved: true}
	switch {
	case noted != nil && inOne && noted.Laying < first:
		l.OwnStep = tell.StepOwn(at, mm)
		return false
	case noted != nil:
		e.Step, e.Why = nil, tell.StepAgain(at, mm)
		e.Withdraw = l.rowsAt(func(c batch.LaidCrown) bool { return part[c.Point] })
	default:
		from := newest[at.Track] // the later of the two crowns beside the place was taken after the move
		for _, seq := range newest {
			from = min(from, seq)
		}
		e.Why = tell.StepMoved(at, mm)
		e.Withdraw = l.rowsAt(func(c batch.LaidCrown) bool { return c.Row.Seq >= from })
	}
	l.end(e)
	return true
}

// noted is the newest note of a step at the same place.
func (l *layings) noted(at batch.Point, mm float64) (noted *batch.Reading) {
	for _, r := range batch.Standing(l.Readings) {
		if r.Point == at && r.Value-mm <= laying.SameOffset && mm-r.Value <= laying.SameOffset {
			noted = &r
		}
	}
	return noted
}

// rowsAt are the standing rows of the crowns that fit, in all rounds.
func (l *layings) rowsAt(fits func(batch.LaidCrown) bool) (rows []batch.Reading) {
	points := map[batch.Point]bool{}
	for _, c := range l.crowns {
		points[c.Point] = fits(c)
	}
	for _, r := range batch.Standing(l.Readings) {
		if points[r.Point] && !r.Withdrawn {
			rows = append(rows, r)
		}
	}
	return rows
}

// closings are the crowns that end a profile of the crowns given, of one laying; none where the specification leaves them out.
func (l *layings) closings(taken []batch.LaidCrown) []batch.LaidCrown {
	if r := l.Spec.Routine; r == nil || r.Closing != nil && !*r.Closing {
		return nil
	}
	if len(taken) == 0 {
		return nil
	}
	if l.Spec.Routine.Profile == "sweep" {
		ends := slices.SortedFunc(filter(taken, func(c batch.LaidCrown) bool { return c.Point.Track == taken[0].Point.Track }),
			func(a, b batch.LaidCrown) int { return cmp.Compare(a.Point.Fret, b.Point.Fret) })
		if len(ends) == 1 {
			return ends
		}
		return []batch.LaidCrown{ends[0], ends[len(ends)-1]}
	}
	var closings []batch.LaidCrown
	for _, c := range laying.Closing(batch.Developed(l.Spec, taken), l.neck.Joint) {
		name := l.Spec.TracksOf()[c.Track].Name
		at := slices.IndexFunc(taken, func(t batch.LaidCrown) bool { return t.Point.Track == name && t.Point.Fret == c.Fret })
		closings = append(closings, taken[at])
	}
	return closings
}

// again is the standing row that closes with a crown: of its laying and later than every crown of it.
func (l *layings) again(c batch.LaidCrown) *batch.Reading {
	newest := int64(0)
	for _, o := range l.crowns {
		if o.Row.Laying == c.Row.Laying {
			newest = max(newest, o.Row.Seq)
		}
	}
	p := c.Point
	p.Kind = batch.Closing
	if r := l.all[Key(p)][1]; r != nil && r.Laying == c.Row.Laying && r.Seq > newest {
		return r
	}
	return nil
}

// closed reports whether every closing crown was measured once more.
func (l *layings) closed() bool {
	return !slices.ContainsFunc(l.closings(l.taken(l.of)), func(c batch.LaidCrown) bool { return l.again(c) == nil })
}

// close asks for the closing reading once every crown is in, and judges it; true where it shows that something moved.
func (l *layings) close() bool {
	if len(l.crowns) == 0 || l.pendingCrown("") {
		return false
	}
	closings := l.closings(l.taken(l.of))
	for i, c := range closings {
		l.insert(c.Point)
		again := l.again(c)
		if again == nil || laying.Agrees(c.Height, again.Value, max(c.URepeat, batch.URepeat(l.Spec, *again))) {
			continue
		}
		e := End{Moved: true, Why: tell.ClosingMoved(c.Point, again.Value-c.Height)}
		e.Withdraw = l.since(func(batch.Reading) bool { return true })
		for _, o := range closings[:i+1] {
			if r := l.again(o); r != nil {
				e.Withdraw = append(e.Withdraw, *r)
			}
		}
		l.end(e)
		return true
	}
	for _, c := range closings {
		if l.again(c) == nil && l.of == l.Attempt.Laying {
			p := c.Point
			p.Kind = batch.Closing
			l.ask(Key(p), 1, ToClose, tell.AskClosing(p))
		}
	}
	return false
}

// insert puts a closing point after the last crown.
func (l *layings) insert(crown batch.Point) {
	p := crown
	p.Kind = batch.Closing
	if l.Index(Key(p)) >= 0 {
		return
	}
	from := l.Point(Key(crown))
	if from == nil {
		return
	}
	point := Point{Key: Key(p), Point: p, XMM: from.XMM, YMM: from.YMM, AlongMM: from.AlongMM, Words: tell.Point(p), GaugeID: from.GaugeID, Zone: inspect.NoLimit}
	at := 0
	for i := range l.Points {
		if k := l.Points[i].Point.Kind; k == batch.Crown || k == batch.Closing {
			at = i + 1
		}
	}
	if l.Next >= at {
		l.Next++
	}
	l.Points = slices.Insert(l.Points, at, l.Progress.read(point, l.Doubted))
}

// filter yields the crowns that fit.
func filter(crowns []batch.LaidCrown, fits func(batch.LaidCrown) bool) func(func(batch.LaidCrown) bool) {
	return func(yield func(batch.LaidCrown) bool) {
		for _, c := range crowns {
			if fits(c) && !yield(c) {
				return
			}
		}
	}
}
