// Package bench runs a measuring routine at one inspection station: it takes gauges' readings, commits each one to the
// record before it counts, evaluates what has been measured so far, and publishes what the page shows.
//
// All state changes happen under one lock, on the goroutine that brings them (a gauge's, or a page's request). Pages
// read an immutable Snapshot and are told of changes by a signal that never waits for them.
package bench

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"
	"unicode/utf8"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
)

// Record is what the bench needs of the record. Every Append returns only once the row is durable.
type Record interface {
	Batch(ctx context.Context, number string) (batch.Batch, error)
	Batches(ctx context.Context) ([]batch.BatchRow, error)
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	AddNecks(ctx context.Context, by, batchID string, serials []string) ([]batch.Neck, error)
	People(ctx context.Context) ([]batch.Person, error)
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	AppendGaugeCheck(ctx context.Context, c batch.GaugeCheck) (batch.GaugeCheck, error)
	EventSinceCheck(ctx context.Context, gaugeID string) (*batch.GaugeEvent, error)
	AppendGaugeEvent(ctx context.Context, e batch.GaugeEvent) (batch.GaugeEvent, error)
	DoubtedReadings(ctx context.Context, inspectionID string) ([]string, error)
	HeldBy(ctx context.Context, neckID string) (*batch.OutgoingFinding, error)
	LastSeen(ctx context.Context) (time.Time, error)
	StartInspection(ctx context.Context, in batch.Inspection) (batch.Inspection, error)
	SetInspectionState(ctx context.Context, by, inspectionID string, st batch.InspectionState, reason string) error
	SetClimate(ctx context.Context, by, inspectionID string, c inspect.Climate) error
	SetHanded(ctx context.Context, by, inspectionID, handed string) error
	OpenInspections(ctx context.Context) ([]batch.Inspection, error)
	Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error)
	AppendReading(ctx context.Context, r batch.Reading) (batch.Reading, error)
	AppendReadings(ctx context.Context, readings []batch.Reading) ([]batch.Reading, error)
	Readings(ctx context.Context, inspectionID string) ([]batch.Reading, error)
	AppendVerdict(ctx context.Context, v batch.Verdict) (batch.Verdict, error)
	LatestVerdict(ctx context.Context, inspectionID string) (*batch.Verdict, error)
	AppendRework(ctx context.Context, a batch.ReworkAction) (batch.ReworkAction, error)
	Rework(ctx context.Context, neckID string) ([]batch.ReworkAction, error)
	RodSteps(ctx context.Context, neckID string, attempt int) ([]inspect.RodStep, error)
	OpenAlarms(ctx context.Context) ([]batch.Alarm, error)
	Study(ctx context.Context, id string) (batch.GaugeStudy, error)
	StudyReadings(ctx context.Context, studyID string) ([]batch.StudyReading, error)
	AppendStudyReading(ctx context.Context, r batch.StudyReading) (batch.StudyReading, error)
	EndStudy(ctx context.Context, by, studyID string, state batch.StudyState, reason string) error
	RodModel(ctx context.Context, specName, exceptNeckID string) ([]inspect.RodStep, error)
}

// Options configure a bench.
type Options struct {
	Record Record
	Now    func() time.Time // time.Now unless given
	// Shifts are the local times of day at which shifts begin, from midnight; midnight alone unless given. A gauge that is
	// checked each shift is locked out from then until it is checked.
	Shifts []time.Duration
	Demo   bool
	// Ask has a gauge that sends when asked be asked, and returns at once; nil where no such gauge can be.
	Ask func(gaugeID string) error
	// Reworked is told of every recorded rework with the advice it followed; the demo's simulated necks obey it.
	Reworked func(serial string, done batch.ReworkAction, advice []inspect.Advice) error
}

// Bench is one inspection station's bench. Its methods may be called from any goroutine.
type Bench struct {
	rec  Record
	now  func() time.Time
	demo bool

	shifts   []time.Duration
	reworked func(serial string, done batch.ReworkAction, advice []inspect.Advice) error
	ask      func(gaugeID string) error

	mu        sync.Mutex
	batch     *batch.Batch
	counts    batch.Counts
	inspector string
	climate   inspect.Climate
	gauges    []batch.Gauge
	line      map[string]*gaugeState
	job       *job
	held      *heldReading
	sweep     *sweepRun
	passLost  time.Time // when a running pass was last thrown away with its gauge
	check     *checkRun
	study     *studyRun
	alarms    []batch.Alarm
	parked    []ParkedNeck
	live      Live
	notice    *Notice
	working   string
	version   uint64
	previous  *profileOf

	latest    time.Time   // the latest time of day known, to see the clock set back
	published time.Time   // when the newest snapshot was made, by the machine's own clock
	stale     atomic.Bool // live frames came since
	due       bool        // refresh is about to come

	snap     atomic.Pointer[Snapshot]
	watchMu  sync.Mutex
	watchers map[chan struct{}]bool
}

// New opens the bench on a record and resumes the inspection that was open when the station stopped.
func New(ctx context.Context, opt Options) (*Bench, error) {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	b := &Bench{
		rec: opt.Record, now: opt.Now, demo: opt.Demo, reworked: opt.Reworked, ask: opt.Ask, shifts: opt.Shifts,
		line: map[string]*gaugeState{}, watchers: map[chan struct{}]bool{},
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.loadGauges(ctx); err != nil {
		return nil, err
	}
	if err := b.unwatched(ctx); err != nil {
		return nil, err
	}
	if err := b.startClock(ctx); err != nil {
		return nil, err
	}
	if err := b.resume(ctx); err != nil {
		return nil, err
	}
	alarms, err := b.rec.OpenAlarms(ctx)
	if err != nil {
		return nil, err
	}
	b.alarms = alarms
	b.publish()
	return b, nil
}

// resume takes up the inspections that the record holds open: the newest goes on the bench, any other waits parked.
func (b *Bench) resume(ctx context.Context) error {
	open, err := b.rec.OpenInspections(ctx)
	if err != nil {
		return err
	}
	for i := len(open) - 1; i >= 0; i-- {
		in := open[i]
		if in.State == batch.Open && b.job == nil {
			j, err := b.load(ctx, in)
			if err != nil {
				return fmt.Errorf("the interrupted inspection of %s cannot be taken up: %w", in.Serial, err)
			}
			b.inspector, b.climate = in.Inspector, in.Climate
			b.say(false, fmt.Sprintf("%s, attempt %d, was interrupted. It goes on where it was: %d of %d points are done.",
				in.Serial, in.Attempt, j.done(), len(j.points)))
		}
	}
	if err := b.listParked(ctx); err != nil {
		return err
	}
	if b.batch == nil {
		rows, err := b.rec.Batches(ctx)
		if err != nil {
			return err
		}
		openBatches := 0
		for i := range rows {
			if rows[i].ClosedAt.IsZero() {
				openBatches++
				b.batch = &rows[i].Batch
			}
		}
		if openBatches != 1 { // several: the inspector chooses
			b.batch = nil
		}
	}
	return b.recount(ctx)
}

// recount reads the batch's counts and what holds the neck on the bench again.
func (b *Bench) recount(ctx context.Context) error {
	if b.batch == nil {
		b.counts = batch.Counts{}
		return nil
	}
	var err error
	if b.job != nil {
		if b.job.holds, err = b.rec.HeldBy(ctx, b.job.inspection.NeckID); err != nil {
			return err
		}
	}
	b.counts, err = b.rec.Counts(ctx, b.batch.ID)
	return err
}

// listParked reads which necks wait.
func (b *Bench) listParked(ctx context.Context) error {
	open, err := b.rec.OpenInspections(ctx)
	if err != nil {
		return err
	}
	b.parked = nil
	for _, in := range open {
		if b.job != nil && b.job.inspection.ID == in.ID {
			continue
		}
		readings, err := b.rec.Readings(ctx, in.ID)
		if err != nil {
			return err
		}
		taken := 0
		for _, rounds := range standing(readings) {
			if len(rounds) > 0 {
				taken++
			}
		}
		bt, err := b.rec.Batch(ctx, in.BatchNumber)
		if err != nil {
			return err
		}
		b.parked = append(b.parked, ParkedNeck{
			Serial: in.Serial, Attempt: in.Attempt, Since: in.StateAt, Reason: in.StateReason,
			Taken: taken, Of: len(Points(bt.Spec.Spec, b.gauges)),
		})
	}
	return nil
}

// Watch returns a channel that is signalled after every change, several changes as one signal, until stop is called.
func (b *Bench) Watch() (changed <-chan struct{}, stop func()) {
	ch := make(chan struct{}, 1)
	b.watchMu.Lock()
	b.watchers[ch] = true
	b.watchMu.Unlock()
	return ch, func() {
		b.watchMu.Lock()
		delete(b.watchers, ch)
		b.watchMu.Unlock()
	}
}

// do runs one command under the lock and publishes what it changed. An error is also shown as a notice.
func (b *Bench) do(command func() error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	err := b.watchClock(context.Background())
	if err == nil {
		err = command()
	}
	if err != nil {
		b.say(true, Sentence(err))
	}
	b.publish()
	return err
}

// say sets the notice.
func (b *Bench) say(refused bool, text string) {
	id := uint64(1)
	if b.notice != nil {
		id = b.notice.ID + 1
	}
	b.notice = &Notice{ID: id, Refused: refused, Text: text, At: b.now()}
}

// Sentence is an error's text for people: it begins with a capital letter and ends with a full stop. A serial number, or
// the name of a file or key, that it begins with stays as it is.
func Sentence(err error) string {
	text := strings.TrimSpace(err.Error())
	if text == "" {
		return ""
	}
	if word, _, _ := strings.Cut(text, " "); !strings.ContainsAny(word, "._/:0123456789") {
		first, size := utf8.DecodeRuneInString(text)
		text = string(unicode.ToUpper(first)) + text[size:]
	}
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return text
}

// stage says what the bench is doing.
func (b *Bench) stage() Stage {
	switch {
	case b.batch == nil:
		return NoBatch
	case b.job == nil:
		return Idle
	case b.job.verdict == nil || b.job.chosen != "":
		return Measuring
	case b.job.verdict.Disposition == inspect.Remeasure:
		return PersonDecides
	}
	return Decided
}

// unsettled says that the neck on the bench still waits for readings or for a person's word.
func (b *Bench) unsettled() bool {
	s := b.stage()
	return s == Measuring || s == PersonDecides
}

// publish makes a new snapshot of the state and signals the pages. It never waits for them.
func (b *Bench) publish() {
	b.version++
	b.published = time.Now()
	b.stale.Store(false)
	if b.sweep != nil && (b.check != nil || b.study != nil || b.sweepTrack() != b.sweep.track) {
		b.sweep = nil // something else is done now
	}
	s := &Snapshot{
		Version: b.version, Stage: b.stage(), Batch: b.batch, Counts: b.counts, Inspector: b.inspector, Climate: b.climate,
		Gauges: b.gaugeLines(), Next: -1, Live: b.live, Parked: b.parked, Notice: b.notice, Demo: b.demo, Working: b.working,
	}
	if j := b.job; j != nil {
		in := j.inspection
		s.Serial, s.Inspection, s.Round = in.Serial, &in, j.round
		s.Result, s.Readings, s.Verdict, s.Rework = j.result, j.measured, j.verdict, j.rework
		s.RodTaught = rodWords(j.model, j.measured.RodSteps)
		s.Sweep, s.Swept = b.shownSweep(), j.swept
		s.Next, s.Taken = j.next(), len(j.readings)
		s.SidesFree = !j.onBoard()
		j.colour()
		s.Doubt = j.doubtWords()
		s.Hold = j.holdWords()
		s.Points = append([]PointLine(nil), j.points...)
		if s.Next >= 0 {
			b.limitsOf(&s.Live, s.Points[s.Next].Point)
		}
	}
	for i := range b.gauges {
		if g := &b.gauges[i]; g.Capture == devices.CaptureTyped {
			s.Typing = append(s.Typing, g.Prefix)
		}
	}
	if b.held != nil {
		s.Held = &b.held.Held
	}
	if b.check != nil {
		s.Check = b.check.shown(b.gauge)
	}
	s.Alarms, s.AllAlarms = b.alarmsHere(), len(b.alarms)
	if b.study != nil {
		s.Study = b.study.shown()
	}
	b.snap.Store(s)
	b.watchMu.Lock()
	defer b.watchMu.Unlock()
	for ch := range b.watchers {
		select {
		case ch <- struct{}{}:
		default: // it has not looked since the last signal
		}
	}
}

// rodWords says what the rod model rests on.
func rodWords(m inspect.RodModel, own []inspect.RodStep) string {
	if m.Pairs == 0 && len(own) == 0 {
		return "The rod's effect is the trade's usual 0.5 mm a turn until this model has been turned and measured again."
	}
	mean, sd := m.NewNeck()
	mean, sd = inspect.UpdateRod(mean, sd, own)
	return fmt.Sprintf("The rod's effect is taken as %.2f mm a turn, give or take %.2f, from %d turns of this model and %d of this neck.",
		mean, 2*sd, m.Pairs, len(own))
}

// limitsOf fills the tolerance of the characteristic that a point decides alone.
func (b *Bench) limitsOf(l *Live, p batch.Point) {
	if b.job.result == nil || (p.Kind != batch.ActionHeight && p.Kind != batch.NutHeight) {
		return
	}
	for _, c := range b.job.result.Characteristics {
		if (c.Name == "action" || c.Name == "nut_height") && ownPoint(c) == Key(p) {
			l.Lower, l.Target, l.Upper = c.Lower, c.Target, c.Upper
			return
		}
	}
}

// done counts the points that have a reading or were noted as not to be measured.
func (j *job) done() int {
	n := 0
	for _, p := range j.points {
		if p.Taken || p.Skipped {
			n++
		}
	}
	return n
}

// Working shows a sentence while necks are inspected unattended; empty ends it.
func (b *Bench) Working(sentence string) {
	_ = b.do(func() error { b.working = sentence; return nil })
}

// Refuse shows an error that came about outside the bench's own commands.
func (b *Bench) Refuse(err error) {
	_ = b.do(func() error { return err })
}

var (
	errNoNeck  = errors.New("no neck is on the bench: scan or type its serial number")
	errNoBatch = errors.New("no batch is open on the bench: choose one first")
)
