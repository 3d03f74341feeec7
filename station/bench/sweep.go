package bench

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/inspect/sweep"
)

// Limits of a pass.
const (
	standsFor   = 1500 * time.Millisecond // a carriage that has moved and stands for this long has arrived
	standsMM    = 0.3                     // it stands while it stays within this
	passMM      = 40.0                    // less way is no pass yet
	longestPass = time.Minute
	mostFrames  = 40_000                 // of both gauges together: a minute at over 300 a second each
	shownEvery  = 100 * time.Millisecond // a running pass changes the page no oftener
	ownBounce   = 500 * time.Millisecond // a key that would end the pass this soon after it began is a bounce
)

// sweepRun is a pass in progress: what both gauges sent since it began, nothing of it used before it ends.
type sweepRun struct {
	inspection, track  string
	indicator, encoder batch.Gauge
	began              time.Time
	frames             []devices.Reading // of both, as they came
	low, high          float64           // between which the encoder has been
	at                 float64           // where it stands, or last moved to
	moved              time.Time         // when it came there; zero before its first frame
	shown              time.Time
}

// sweepPair finds the indicator and the position encoder of the carriage that is swept: the encoder, and the indicator
// on the same line as it, else the first one that sends by itself.
func sweepPair(gauges []batch.Gauge) (indicator, encoder *batch.Gauge) {
	for i := range gauges {
		if g := &gauges[i]; g.Serves(batch.Position) && g.Capture != "key" {
			encoder = g
			break
		}
	}
	if encoder == nil {
		return nil, nil
	}
	for i := range gauges {
		g := &gauges[i]
		if !g.Serves(batch.Crown) || g.Capture == "key" {
			continue
		}
		if sameLine(g, encoder) {
			return g, encoder
		}
		if indicator == nil {
			indicator = g
		}
	}
	return indicator, encoder
}

// sameLine says that two gauges send over one port, each on its own channel.
func sameLine(a, b *batch.Gauge) bool {
	if a.USBVendor != "" || b.USBVendor != "" {
		return a.USBVendor == b.USBVendor && a.USBProduct == b.USBProduct && a.USBSerial == b.USBSerial
	}
	return a.Path == b.Path
}

// sweepTrack is the track that is to be swept now, "" when none is: a point chosen out of turn is placed by itself.
func (b *Bench) sweepTrack() string {
	j := b.job
	if j == nil || j.chosen != "" || j.spec.Routine.Profile != "sweep" {
		return ""
	}
	i := j.next()
	if i < 0 || j.points[i].Point.Kind != batch.Crown {
		return ""
	}
	if indicator, encoder := sweepPair(b.gauges); indicator == nil || encoder == nil {
		return ""
	}
	return j.points[i].Point.Track
}

// sweepKey begins a pass or ends the one that runs: the page's key, the indicator's data key or the foot switch.
func (b *Bench) sweepKey(ctx context.Context) error {
	if b.sweep != nil {
		if b.now().Sub(b.sweep.began) < ownBounce {
			return nil
		}
		return b.endSweep(ctx)
	}
	indicator, encoder := sweepPair(b.gauges)
	for _, g := range []*batch.Gauge{indicator, encoder} {
		if why := b.locked(g); why != "" {
			return fmt.Errorf("the %s is locked out: %s. Check it, then sweep", g.Name, why)
		}
		if b.now().Sub(b.state(g.ID).last.At) > fresh {
			return fmt.Errorf("the %s has sent nothing for a second: the pass was not begun. Is it switched on and connected?", g.Name)
		}
	}
	b.sweep = &sweepRun{
		inspection: b.job.inspection.ID, track: b.sweepTrack(), indicator: *indicator, encoder: *encoder, began: b.now(),
		low: math.Inf(1), high: math.Inf(-1),
	}
	b.notice = nil
	return nil
}

// collect takes a live frame of a carriage: into the pass that runs, and a position outside a pass for nothing but to
// know that the encoder is live. It says whether the frame needs nothing else; a data key always does.
func (b *Bench) collect(r devices.Reading) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	g := b.gauge(r.Gauge)
	if g == nil || r.Key || !r.Value.IsNumber() || !r.SilentSince.IsZero() && !g.OnlyPlaces() {
		return false
	}
	run := b.sweep
	if run == nil || (r.Gauge != run.indicator.ID && r.Gauge != run.encoder.ID) {
		if g.OnlyPlaces() {
			b.state(g.ID).last = r
			return true
		}
		return false
	}
	b.state(g.ID).last = r
	run.frames = append(run.frames, r)
	if r.Gauge == run.encoder.ID {
		run.low, run.high = math.Min(run.low, r.Value.MM), math.Max(run.high, r.Value.MM)
		if run.moved.IsZero() || math.Abs(r.Value.MM-run.at) > standsMM {
			run.at, run.moved = r.Value.MM, r.At
		}
	}
	arrived := run.high-run.low >= passMM && r.At.Sub(run.moved) >= standsFor
	switch {
	case arrived, r.At.Sub(run.began) >= longestPass, len(run.frames) >= mostFrames:
		if err := b.endSweep(context.Background()); err != nil {
			b.say(true, Sentence(err))
		}
	case r.Gauge != run.indicator.ID || r.At.Sub(run.shown) < shownEvery:
		return true
	default:
		run.shown = r.At
		b.show(g, r)
	}
	b.publish()
	return true
}

// sweepLost throws the running pass away where one of its gauges is lost.
func (b *Bench) sweepLost(g *batch.Gauge) {
	if run := b.sweep; run != nil && (g.ID == run.indicator.ID || g.ID == run.encoder.ID) {
		b.sweep, b.passLost = nil, b.now()
		b.say(true, fmt.Sprintf("The %s stopped sending in the middle of a pass. %s", g.Name, b.lostWords()))
	}
}

// lostWords says what is lost with a gauge's line: a pass, which both gauges of one line are told of, or nothing.
func (b *Bench) lostWords() string {
	if b.now().Sub(b.passLost) < 2*time.Second {
		return "The pass was thrown away and nothing of it was recorded; what was taken before is kept."
	}
	return "Nothing taken so far is lost."
}

// endSweep finds the crowns in what was collected and commits the good ones that are asked for, all in one transaction,
// with the pass they came from.
func (b *Bench) endSweep(ctx context.Context) error {
	run, j := b.sweep, b.job
	b.sweep = nil
	if j == nil || j.inspection.ID != run.inspection {
		return nil
	}
	side := inspect.Side(run.track)
	slices.SortStableFunc(run.frames, func(a, b devices.Reading) int { return a.At.Compare(b.At) }) // two ports deliver side by side
	if run.high-run.low < passMM {
		return fmt.Errorf("the carriage hardly moved: nothing was recorded. Push it along the %s from before fret 1 to beyond the last", side)
	}
	if err := b.wholesome(run); err != nil {
		return err
	}
	heights, positions, index := run.streams()
	pass, err := sweep.Find(heights, positions, sweep.Options{
		ScaleMM: j.spec.Neck.ScaleMM, Frets: j.spec.Neck.Frets,
		NoiseMM: run.indicator.URepeat(), PositionStepMM: run.encoder.ResolutionMM,
	})
	if err != nil {
		return fmt.Errorf("nothing was recorded of this pass along the %s: %w", side, err)
	}
	j.swept = b.judgeSwept(run.track, pass)
	rows := b.sweepRows(run, pass, index)
	if len(rows) == 0 {
		return fmt.Errorf("this pass along the %s gave no crown that is asked for: nothing was recorded. %s", side, j.swept.Words())
	}
	if err := b.keep(ctx, "the pass was NOT recorded", rows); err != nil {
		j.swept = nil
		return err
	}
	b.state(run.indicator.ID).lastUnit = rows[0].Unit
	b.say(len(j.swept.Again) > 0, j.swept.Words())
	return nil
}

// keep makes readings durable in one commit, all or none, and only then lets them count; failed says what did not happen.
func (b *Bench) keep(ctx context.Context, failed string, rows []batch.Reading) error {
	ctx = context.WithoutCancel(ctx)
	done, err := b.rec.AppendReadings(ctx, rows)
	if err != nil {
		return fmt.Errorf("%s: %w", failed, err)
	}
	j := b.job
	j.readings = append(j.readings, done...)
	j.chosen, j.verdict, b.notice, b.live.Fresh = "", nil, nil, false
	return b.progress(ctx)
}

// wholesome refuses a pass whose frames cannot be trusted as a whole.
func (b *Bench) wholesome(run *sweepRun) error {
	st := b.state(run.indicator.ID)
	unit := st.lastUnit
	for i := range run.frames {
		r := &run.frames[i]
		if r.Gauge != run.indicator.ID {
			continue
		}
		if unit != "" && r.Value.Unit != unit {
			st.lastUnit = r.Value.Unit
			return fmt.Errorf("the %s's unit changed from %s to %s: nothing was recorded. If that is meant, sweep again", run.indicator.Name, unit, r.Value.Unit)
		}
		unit = r.Value.Unit
		if run.indicator.TravelMM > 0 && math.Abs(r.Value.MM) > run.indicator.TravelMM {
			return fmt.Errorf("%s lies outside the %s's travel of %s: nothing was recorded. Did its counter slip?", lengthWords(r.Value.MM), run.indicator.Name, lengthWords(run.indicator.TravelMM))
		}
	}
	return nil
}

// streams parts the frames into heights, corrected but for zero and reference, and positions. index gives each height's
// place among the frames. Times are in whole microseconds, as the pass's capture keeps them. Of one line with two
// fields, a height and the position right after it are a pair with one time, and a frame without its fellow is left out.
func (run *sweepRun) streams() (heights, positions []sweep.Sample, index []int) {
	bare := run.bare()
	pairs := sameLine(&run.indicator, &run.encoder)
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

// since is when a frame came, from the pass's first.
func (run *sweepRun) since(r devices.Reading) time.Duration {
	return r.At.Sub(run.frames[0].At).Round(time.Microsecond)
}

// asksFor says whether a fret of a track has no reading yet, or one in doubt only, that this round asks for.
func (j *job) asksFor(track string, fret int) bool {
	key := Key(batch.Point{Kind: batch.Crown, Track: track, Fret: fret})
	return j.asked[key] && j.have()[key][j.round] == nil
}

// judgeSwept is what the page shows of a pass. A crown that stands millimetres off the one before it is doubtful too.
func (b *Bench) judgeSwept(track string, pass *sweep.Pass) *Swept {
	out := &Swept{Track: track, SpeedMMS: pass.SpeedMMS, RadiusMM: pass.RadiusMM}
	var last *sweep.Crown
	for i := range pass.Crowns {
		c := &pass.Crowns[i]
		asked := b.job.asksFor(track, c.Fret)
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

// sweepRows makes the record's rows of a pass: the pass itself with every byte and its time, then the crowns with the
// bytes of the stretch that each rests on. All have the same time, which ties them together.
//
// A crown's standard uncertainty is that of the fit, which holds the indicator's repeatability, with resolution,
// calibration and reference: u² = u_fit² + res²/12 + u_cal² + u_ref² (JCGM 100, 5.1.2).
func (b *Bench) sweepRows(run *sweepRun, pass *sweep.Pass, index []int) []batch.Reading {
	g, bare := &run.indicator, run.bare()
	zero, check := b.zero(g.ID)
	last := run.frames[len(run.frames)-1]
	row := batch.Reading{
		InspectionID: run.inspection, By: b.inspector, At: last.At, Round: b.job.round, GaugeID: g.ID, CheckID: check,
		Decoder: last.Decoder, Unit: run.frames[index[0]].Value.Unit,
	}
	var crowns []batch.Reading
	for _, c := range pass.Crowns {
		if c.State != sweep.Good || !b.job.asksFor(run.track, c.Fret) {
			continue
		}
		r := row
		r.Point = batch.Point{Kind: batch.Crown, Track: run.track, Fret: c.Fret}
		r.Supersedes = b.job.replaces(Key(r.Point))
		r.Decoded = c.ZMM
		x := inspect.FretX(b.job.spec.Neck.ScaleMM, c.Fret)
		r.Value = c.ZMM + g.Correct(0, x, zero) - bare.Correct(0, 0, 0) // less reference and zero
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

// passOf lists the standing readings that came with one: the whole pass, where it came by one.
func (j *job) passOf(r *batch.Reading) []batch.Reading {
	var all []batch.Reading
	swept := false
	for _, other := range batch.Standing(j.readings) {
		if !other.At.Equal(r.At) || other.GaugeID != r.GaugeID || other.Withdrawn {
			continue
		}
		switch other.Point.Kind {
		case batch.Sweep:
			swept = true
		case batch.Crown:
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

var errSweeping = errors.New("a pass is running: end it with Space or throw it away with F2 first")
