package bench

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/inspect/sweep"
	"sagitta/station/bench/routine"
)

// Limits of a sweep.
const (
	standsFor   = 1500 * time.Millisecond // a carriage that has moved and stands for this long has arrived
	standsMM    = 0.3                     // it stands while it stays within this
	leastWayMM  = 40.0                    // less way is no sweep yet
	longestPass = time.Minute
	mostFrames  = 40_000                 // of both gauges together: a minute at over 300 a second each
	shownEvery  = 100 * time.Millisecond // a running sweep changes the page no oftener
	ownBounce   = 500 * time.Millisecond // a key that would end the sweep this soon after it began is a bounce
)

// sweepRun is a sweep in progress: what both gauges sent since it began, nothing of it used before it ends.
type sweepRun struct {
	track, by          string // by is who began it
	indicator, encoder batch.Gauge
	began              time.Time
	frames             []devices.Reading // of both, as they came
	low, high          float64           // between which the encoder has been
	at                 float64           // where it stands, or last moved to
	moved              time.Time         // when it came there; zero before its first frame
	shown              time.Time
}

// sweepTrack is the track that is to be swept now, "" when none is: a point chosen out of turn is placed by itself.
func (n *neck) sweepTrack(gauges []batch.Gauge) string {
	p := n.point()
	if p == nil || n.Chosen != "" || n.Spec.Routine.Profile != "sweep" || !ofLaying(p.Point.Kind) || n.Purpose == routine.ToBeSure {
		return ""
	}
	if indicator, encoder := routine.Carriage(gauges); indicator == nil || encoder == nil {
		return ""
	}
	return p.Point.Track
}

// beginSweep begins a sweep: by the page's key, the indicator's data key or the foot switch.
func (b *Bench) beginSweep(n *neck) error {
	indicator, encoder := routine.Carriage(b.gauges)
	for _, g := range []*batch.Gauge{indicator, encoder} {
		if why := b.locked(g); why != "" {
			return batch.Conflict.Errorf("the %s is locked out: %s. Check it, then sweep", g.Name, why)
		}
		if b.now().Sub(b.line(g.ID).last.At) > fresh {
			return batch.Conflict.Errorf("the %s has sent nothing for a second: the sweep was not begun. Is it switched on and connected?", g.Name)
		}
	}
	b.line(indicator.ID).stands = nil
	b.become(sweeping{n, &sweepRun{
		track: n.sweepTrack(b.gauges), by: b.inspector, indicator: *indicator, encoder: *encoder, began: b.now(),
		low: math.Inf(1), high: math.Inf(-1),
	}})
	b.notice = nil
	return nil
}

// key ends the sweep, unless it is the bounce of the key that began it.
func (s sweeping) key(ctx context.Context, b *Bench) error {
	if b.now().Sub(s.run.began) < ownBounce {
		return nil
	}
	return s.end(ctx, b)
}

// collect takes a live frame of a carriage: into the sweep that runs, and a position outside a sweep for nothing but to
// know that the encoder is live. It says whether the frame needs nothing else; a data key always does.
func (b *Bench) collect(r devices.Reading) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	g := b.gauge(r.Gauge)
	if g == nil || r.Key || !r.Value.IsNumber() || !r.SilentSince.IsZero() && !g.OnlyPlaces() {
		return false
	}
	s, on := b.state.(sweeping)
	if !on || (r.Gauge != s.run.indicator.ID && r.Gauge != s.run.encoder.ID) {
		if g.OnlyPlaces() {
			b.line(g.ID).last = r
			return true
		}
		return false
	}
	b.line(g.ID).last = r
	s.run.add(r)
	switch {
	case s.run.over(r.At):
		if err := s.end(context.Background(), b); err != nil {
			b.say(true, tell.Sentence(err))
		}
	case r.Gauge != s.run.indicator.ID || r.At.Sub(s.run.shown) < shownEvery:
		return true
	default:
		s.run.shown = r.At
		b.shows(g, r)
	}
	b.publish()
	return true
}

// add collects one frame.
func (run *sweepRun) add(r devices.Reading) {
	run.frames = append(run.frames, r)
	if r.Gauge != run.encoder.ID {
		return
	}
	run.low, run.high = math.Min(run.low, r.Value.MM), math.Max(run.high, r.Value.MM)
	if run.moved.IsZero() || math.Abs(r.Value.MM-run.at) > standsMM {
		run.at, run.moved = r.Value.MM, r.At
	}
}

// over says that the carriage has arrived, or that this is no sweep any more.
func (run *sweepRun) over(at time.Time) bool {
	arrived := run.high-run.low >= leastWayMM && at.Sub(run.moved) >= standsFor
	return arrived || at.Sub(run.began) >= longestPass || len(run.frames) >= mostFrames
}

// sweepLost throws the running sweep away where one of its gauges is lost.
func (b *Bench) sweepLost(g *batch.Gauge) {
	s, on := b.state.(sweeping)
	if !on || g.ID != s.run.indicator.ID && g.ID != s.run.encoder.ID {
		return
	}
	b.lostSweep = b.now()
	b.settle(s.neck)
	b.say(true, fmt.Sprintf("The %s stopped sending in the middle of a sweep. %s", g.Name, b.lostWords()))
}

// lostWords says what is lost with a gauge's line: a sweep, which both gauges of one line are told of, or nothing; "" where what no longer
// counts is said.
func (b *Bench) lostWords() string {
	if b.now().Sub(b.lostSweep) < 2*time.Second {
		return "The sweep was thrown away and nothing of it was recorded; what was taken before is kept."
	}
	if n := b.neck(); n != nil && len(n.said) > 0 {
		return ""
	}
	return "Nothing taken so far is lost."
}

// end finds the crowns in what was collected and commits the good ones that are asked for, all in one transaction, with the
// frames they came from.
func (s sweeping) end(ctx context.Context, b *Bench) error {
	run, n := s.run, s.neck
	b.settle(n)
	side := inspect.Side(run.track)
	slices.SortStableFunc(run.frames, func(a, b devices.Reading) int { return a.At.Compare(b.At) }) // two ports deliver side by side
	if run.high-run.low < leastWayMM {
		return batch.Conflict.Errorf("the carriage hardly moved: nothing was recorded. Push it along the %s from before fret 1 to beyond the last", side)
	}
	if err := b.wholesome(run); err != nil {
		return err
	}
	heights, positions, index := run.streams()
	line := n.Spec.Fan().Track(n.Spec, run.track)
	found, err := sweep.Find(heights, positions, sweep.Options{
		FretsMM: line.FromNut(), NoiseMM: run.indicator.URepeat(), PositionStepMM: run.encoder.ResolutionMM,
	})
	if err != nil {
		return batch.Conflict.Errorf("nothing was recorded of this sweep along the %s: %w", side, err)
	}
	if err := b.endLayings(ctx, n); err != nil {
		return err
	}
	swept := n.judgeSwept(run.track, found)
	rows := b.sweepRows(n, run, found, index)
	if len(rows) == 0 {
		n.swept = swept
		return batch.Conflict.Errorf("this sweep along the %s gave no crown that is asked for: nothing was recorded. %s", side, swept.Words())
	}
	n.swept = nil
	before := len(n.Readings)
	err = b.keep(ctx, n, "the sweep was NOT recorded", rows)
	if len(n.Readings) > before {
		n.swept = swept
	}
	if err != nil {
		return err
	}
	b.line(run.indicator.ID).lastUnit = rows[0].Unit
	b.say(len(swept.Again) > 0, n.withSaid(swept.Words()))
	return nil
}

// wholesome refuses a sweep whose frames cannot be trusted as a whole.
func (b *Bench) wholesome(run *sweepRun) error {
	l := b.line(run.indicator.ID)
	unit := l.lastUnit
	for i := range run.frames {
		r := &run.frames[i]
		if r.Gauge != run.indicator.ID {
			continue
		}
		if unit != "" && r.Value.Unit != unit {
			l.lastUnit = r.Value.Unit
			return batch.Conflict.Errorf("the %s's unit changed from %s to %s: nothing was recorded. If that is meant, sweep again", run.indicator.Name, unit, r.Value.Unit)
		}
		unit = r.Value.Unit
		if run.indicator.TravelMM > 0 && math.Abs(r.Value.MM) > run.indicator.TravelMM {
			return batch.Conflict.Errorf("%s lies outside the %s's travel of %s: nothing was recorded. Did its counter slip?", lengthWords(r.Value.MM), run.indicator.Name, lengthWords(run.indicator.TravelMM))
		}
	}
	return nil
}

// streams parts the frames into heights, corrected but for zero and reference, and positions. index gives each height's
// place among the frames. Times are in whole microseconds, as the sweep's capture keeps them. Of one line with two
// fields, a height and the position right after it are a pair with one time, and a frame without its fellow is left out.
func (run *sweepRun) streams() (heights, positions []sweep.Sample, index []int) {
	bare := run.bare()
	pairs := routine.SameLine(&run.indicator, &run.encoder)
	for i, r := range run.frames {
		at := run.since(r).Seconds()
		if pairs {
			if r.Gauge == run.indicator.ID && i+1 < len(run.frames) && run.frames[i+1].Gauge == run.encoder.ID {
				heights = append(heights, sweep.Sample{AtS: at, MM: bare.Correct(r.Value.MM, 0, 0)})
				positions = append(positions, sweep.Sample{AtS: at, MM: run.frames[i+1].Value.MM})
				index = append(index, i)
			}
			continue
		}
		if r.Gauge == run.encoder.ID {
			positions = append(positions, sweep.Sample{AtS: at, MM: r.Value.MM})
			continue
		}
		heights = append(heights, sweep.Sample{AtS: at, MM: bare.Correct(r.Value.MM, 0, 0)})
		index = append(index, i)
	}
	return heights, positions, index
}

// bare is the indicator without its reference, which is known only where the carriage's place is.
func (run *sweepRun) bare() batch.Gauge {
	g := run.indicator
	g.Reference = nil
	return g
}

// since is when a frame came, from the sweep's first.
func (run *sweepRun) since(r devices.Reading) time.Duration {
	return r.At.Sub(run.frames[0].At).Round(time.Microsecond)
}

// askedAt is the point at a fret of a track that is asked for, a crown or, at the end of a profile, one once more; false where none is.
func (n *neck) askedAt(track string, fret int) (batch.Point, bool) {
	for _, k := range []batch.Kind{batch.Crown, batch.Closing} {
		if p := (batch.Point{Kind: k, Track: track, Fret: fret}); n.Asks(routine.Key(p)) {
			return p, true
		}
	}
	return batch.Point{}, false
}

// openOn are the frets of a track that a sweep is asked for.
func (n *neck) openOn(track string) []int {
	var open []int
	for fret := 1; fret <= n.Spec.Neck.Frets; fret++ {
		if _, asked := n.askedAt(track, fret); asked {
			open = append(open, fret)
		}
	}
	return open
}

// jumpMM is a step between neighbouring crowns of a sweep beyond anything a neck's shape allows: the indicator was off one of them.
const jumpMM = 2.0

// judgeSwept is what the page shows of a sweep. A crown that stands millimetres off the one before it is doubtful too.
func (n *neck) judgeSwept(track string, found *sweep.Found) *Swept {
	out := &Swept{Track: track, SpeedMMS: found.SpeedMMS, RadiusMM: found.RadiusMM}
	var last *sweep.Crown
	for i := range found.Crowns {
		c := &found.Crowns[i]
		_, asked := n.askedAt(track, c.Fret)
		if c.State == sweep.Good && last != nil && math.Abs(c.ZMM-last.ZMM) > jumpMM {
			c.State = sweep.Doubtful
			c.Why = fmt.Sprintf("fret %d is %s away from fret %d: was the indicator on the crowns?", c.Fret, lengthWords(math.Abs(c.ZMM-last.ZMM)), last.Fret)
		}
		if c.State == sweep.Good {
			last = c
		}
		out.Crowns = append(out.Crowns, SweptCrown{Crown: *c, Taken: asked && c.State == sweep.Good})
		switch {
		case asked && c.State == sweep.Good:
			out.Taken++
		case asked:
			out.Again = append(out.Again, c.Fret)
		}
	}
	return out
}

// sweepRows makes the record's rows of a sweep: the sweep itself with every byte and its time, then the crowns with the
// bytes of the stretch that each rests on. All have the same time, which ties them together.
//
// A crown's standard uncertainty is that of the fit, which holds the indicator's repeatability, with resolution,
// calibration and reference: u² = u_fit² + res²/12 + u_cal² + u_ref² (JCGM 100, 5.1.2).
func (b *Bench) sweepRows(n *neck, run *sweepRun, found *sweep.Found, index []int) []batch.Reading {
	g, bare := &run.indicator, run.bare()
	zero, check := b.zero(g.ID)
	last := run.frames[len(run.frames)-1]
	row := batch.Reading{
		InspectionID: n.Inspection.ID, By: run.by, At: last.At, Round: n.Round, GaugeID: g.ID, CheckID: check,
		Decoder: last.Decoder, Unit: run.frames[index[0]].Value.Unit,
	}
	line := n.Spec.Fan().Track(n.Spec, run.track)
	along := line.FromNut()
	var crowns []batch.Reading
	for _, c := range found.Crowns {
		p, asked := n.askedAt(run.track, c.Fret)
		if c.State != sweep.Good || !asked {
			continue
		}
		r := row
		r.Point, r.Laying = p, n.Laying
		r.Round, r.Supersedes = n.RoundOf(routine.Key(p)), n.Replaces(routine.Key(p))
		r.Decoded = c.ZMM
		r.Value = c.ZMM + g.Correct(0, along[c.Fret-1], zero) - bare.Correct(0, 0, 0) // less reference and zero
		if g.U() > 0 {
			r.URepeat = math.Hypot(c.UMM, g.ResolutionMM/math.Sqrt(12))
			r.U = math.Hypot(r.URepeat, math.Hypot(g.CalibrationU, g.ReferenceU))
		}
		stretch := run.frames[index[c.From] : index[c.To-1]+1]
		for _, f := range stretch {
			r.Raw = append(r.Raw, f.Raw...)
		}
		r.Offset = stretch[0].Offset
		crowns = append(crowns, r)
	}
	if len(crowns) == 0 {
		return nil
	}
	row.Point = batch.Point{Kind: batch.Sweep, Track: run.track}
	row.Value = float64(len(crowns))
	row.Raw = run.capture()
	row.Offset = run.frames[0].Offset
	return append([]batch.Reading{row}, crowns...)
}
