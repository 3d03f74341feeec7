// Package bench runs a measuring routine at one inspection station: it takes gauges' readings, commits each one to the
// record before it counts, evaluates what has been measured so far, and publishes what the page shows.
//
// What lies on the bench is one of the states in state.go; from which one which other is reached, and what is refused where, are
// the tables in transitions.go and refusal.go. All state changes happen under one lock, on the goroutine that brings them (a
// gauge's, or a page's request). Pages read an immutable Snapshot and are told of changes by a signal that never waits for them.
package bench

import (
	"context"
	"fmt"
	"sync"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/gate"
)

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
	// Reworked is told of every recorded rework step with the advice it followed; the demo's simulated necks obey it.
	Reworked func(serial string, done batch.ReworkAction, advice []inspect.Advice) error
}

// Bench is one inspection station's bench. Its methods may be called from any goroutine.
type Bench struct {
	shop        Shop
	inspections Inspections
	studies     Studies

	now      func() time.Time
	demo     bool
	shifts   []time.Duration
	reworked func(serial string, done batch.ReworkAction, advice []inspect.Advice) error
	ask      func(gaugeID string) error

	mu sync.Mutex
	shelf
	state     state
	words     tell.Words   // of the house
	batch     *batch.Batch // nil while none is open on the bench
	counts    batch.Counts
	hour      time.Time // that judged is of
	judged    int       // inspections that were judged in it
	climate   inspect.Climate
	alarms    []batch.Alarm
	waits     Waiting
	concerns  []Concern
	live      Live
	notice    *Notice
	sound     Sound   // of what has just happened, "" for none
	heard     []Heard // the newest sounds that were published
	working   string
	previous  *profileOf // crowns of the neck before
	studied   string     // gauge whose study was on the bench since a neck was, "" when none was
	lostSweep time.Time  // when a running sweep was last thrown away with its gauge
	latest    time.Time  // the latest time of day known, to see the clock set back

	hand
	screen
	changes func(from, to kind) // told of every transition; nil but in tests
}

// New opens the bench on a record and resumes the inspection that was open when the station stopped.
func New(ctx context.Context, opt Options) (*Bench, error) {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	b := &Bench{
		shop: opt.Record, inspections: opt.Record, studies: opt.Record, shelf: shelf{rec: opt.Record, lines: map[string]*line{}},
		now: opt.Now, demo: opt.Demo, reworked: opt.Reworked, ask: opt.Ask, shifts: opt.Shifts,
		state: noBatch{}, screen: screen{
			watchers: map[chan struct{}]bool{},
			scene:    uint64(max(0, opt.Now().UnixMilli())), // no page of the station's last start shows one of this
		},
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, begin := range []func(context.Context) error{b.shelf.load, b.unwatched, b.startClock, b.readHouse, b.resume, b.readAlarms, b.readPeople} {
		if err := begin(ctx); err != nil {
			return nil, err
		}
	}
	b.publish()
	return b, nil
}

// resume takes up the inspections that the record holds open: the newest goes on the bench, any other waits parked.
func (b *Bench) resume(ctx context.Context) error {
	open, err := b.inspections.OpenInspections(ctx)
	if err != nil {
		return err
	}
	for i := len(open) - 1; i >= 0; i-- {
		in := open[i]
		if in.State != batch.Open {
			continue
		}
		if b.inspector, err = b.measuredLast(ctx, in); err != nil {
			return err
		}
		b.climate = in.Climate
		n, err := b.load(ctx, in, batch.Interruption{Kind: batch.StationBegun})
		if err != nil {
			return fmt.Errorf("the interrupted inspection of %s cannot be taken up: %w", in.Serial, err)
		}
		b.say(false, n.withSaid(fmt.Sprintf("%s, attempt %d, was interrupted. It %s",
			in.Serial, in.Attempt, n.goesOn())))
		break
	}
	if err := b.listParked(ctx); err != nil {
		return err
	}
	if b.batch == nil {
		if err := b.onlyBatch(ctx); err != nil {
			return err
		}
	}
	return b.recount(ctx)
}

// measuredLast is whose an inspection's newest reading is: who measured when the station stopped. Before the first it is who began it.
func (b *Bench) measuredLast(ctx context.Context, in batch.Inspection) (string, error) {
	readings, err := b.inspections.Readings(ctx, in.ID)
	if err != nil {
		return "", err
	}
	if k := len(readings); k > 0 && readings[k-1].By != "" {
		return readings[k-1].By, nil
	}
	return in.Inspector, nil
}

// onlyBatch puts the one batch that is open on the bench; of several the inspector chooses.
func (b *Bench) onlyBatch(ctx context.Context) error {
	rows, err := b.shop.Batches(ctx)
	if err != nil {
		return err
	}
	var open []*batch.Batch
	for i := range rows {
		if rows[i].ClosedAt.IsZero() {
			open = append(open, &rows[i].Batch)
		}
	}
	if len(open) == 1 {
		b.batch = open[0]
		b.become(b.rest())
	}
	return nil
}

// recount reads the batch's counts and what holds the neck on the bench again.
func (b *Bench) recount(ctx context.Context) error {
	if b.batch == nil {
		b.counts, b.waits.InDoubt, b.waits.Held = batch.Counts{}, batch.NeckPage{}, batch.NeckPage{}
		return nil
	}
	var err error
	if n := b.neck(); n != nil {
		if n.holds, err = b.inspections.HeldBy(ctx, n.Inspection.NeckID); err != nil {
			return err
		}
	}
	if b.counts, err = b.shop.Counts(ctx, b.batch.ID); err != nil {
		return err
	}
	b.hour = HourOf(b.now())
	if b.judged, err = b.shop.JudgedSince(ctx, b.hour); err != nil {
		return err
	}
	return b.listWaiting(ctx)
}

// moment is now, for the gate.
func (b *Bench) moment() gate.Moment {
	return gate.Moment{Now: b.now(), Inspector: b.inspector, Shifts: b.shifts}
}

// clock is the local time of day, with the date when it is not today.
func (b *Bench) clock(t time.Time) string { return gate.Clock(t, b.now()) }
