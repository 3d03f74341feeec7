package bench

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
)

// liveEvery is the shortest time between two snapshots that differ in nothing but live frames. A display needs no more
// than thirty a second; sixty-four gauges at a hundred frames each a second would cost a snapshot for every frame.
const liveEvery = time.Second / 30

// screen is what was shown last, and who looks.
type screen struct {
	version   uint64
	scene     uint64
	showing   string      // what the scene's number stands for
	published time.Time   // when the newest snapshot was made, by the machine's own clock
	stale     atomic.Bool // live frames came since
	due       bool        // refresh is about to come

	snap     atomic.Pointer[Snapshot]
	watchMu  sync.Mutex
	watchers map[chan struct{}]bool
}

// Watch returns a channel that is signalled after every change, several changes as one signal, until stop is called.
func (s *screen) Watch() (changed <-chan struct{}, stop func()) {
	ch := make(chan struct{}, 1)
	s.watchMu.Lock()
	s.watchers[ch] = true
	s.watchMu.Unlock()
	return ch, func() {
		s.watchMu.Lock()
		delete(s.watchers, ch)
		s.watchMu.Unlock()
	}
}

// show keeps a new snapshot and signals the pages. It never waits for them.
func (s *screen) show(shot Snapshot) {
	s.version++
	if scene := shot.scene(); scene != s.showing {
		s.scene, s.showing = s.scene+1, scene
	}
	s.published = time.Now()
	s.stale.Store(false)
	shot.Version, shot.Scene = s.version, s.scene
	s.snap.Store(&shot)
	s.watchMu.Lock()
	defer s.watchMu.Unlock()
	for ch := range s.watchers {
		select {
		case ch <- struct{}{}:
		default: // it has not looked since the last signal
		}
	}
}

// do runs one command under the lock, unless what it was meant for is gone, and publishes what it changed. An error is also shown as
// a notice.
func (b *Bench) do(ctx context.Context, command func() error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	err := b.run(func() error {
		if err := b.hits(ctx); err != nil {
			return err
		}
		return command()
	})
	b.publish()
	return err
}

// run runs a command unless the clock was set back and that could not be noted.
func (b *Bench) run(command func() error) error {
	err := b.watchClock(context.Background())
	b.handEnds()
	if err == nil {
		err = command()
	}
	if err != nil {
		b.say(true, tell.Sentence(err))
	}
	return err
}

// framed runs what one frame of a gauge brings about. A press, and whatever leads to a notice, is published at once, like
// every command; a live frame alone waits for the next turn of live frames.
func (b *Bench) framed(key bool, command func() error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	before := b.notice
	if _ = b.run(command); key || b.notice != before {
		b.publish()
		return
	}
	b.stale.Store(true)
	switch wait := liveEvery - time.Since(b.published); {
	case b.due: // its turn is coming
	case wait > 0:
		b.due = true
		time.AfterFunc(wait, b.refresh)
	default:
		b.publish()
	}
}

// refresh publishes what live frames have changed, unless a command has done so meanwhile.
func (b *Bench) refresh() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.due = false
	if b.stale.Load() {
		b.publish()
	}
}

// Refresh publishes what time alone has changed: a check that has become due, a shift that has begun, a certificate that
// has run out. It is called every now and then and does nothing when nothing has changed.
func (b *Bench) Refresh() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.handEnds(); b.inspector != b.snap.Load().Inspector || !slices.Equal(b.gaugeLines(), b.snap.Load().Gauges) {
		b.publish()
	}
}

// Snapshot returns what the page shows now. Live frames that have not been published are in it, unless the bench is busy
// with a reading: then that one's own snapshot is about to come.
func (b *Bench) Snapshot() *Snapshot {
	if b.stale.Load() && b.mu.TryLock() {
		b.publish()
		b.mu.Unlock()
	}
	return b.snap.Load()
}

// Working shows a sentence while necks are inspected unattended; empty ends it.
func (b *Bench) Working(sentence string) {
	_ = b.do(context.Background(), func() error { b.working = sentence; return nil })
}

// Refuse shows an error that came about outside the bench's own commands.
func (b *Bench) Refuse(err error) {
	_ = b.do(context.Background(), func() error { return err })
}

// say sets the notice.
func (b *Bench) say(refused bool, text string) {
	id := uint64(1)
	if b.notice != nil {
		id = b.notice.ID + 1
	}
	if refused {
		b.sounds(Refused)
	}
	b.notice = &Notice{ID: id, Refused: refused, Text: text, At: b.now()}
}

// publish shows the present state. It changes nothing of it.
func (b *Bench) publish() {
	s := b.picture()
	b.hear(&s)
	b.screen.show(s)
}

// picture is the present state as pages see it, its version apart.
func (b *Bench) picture() Snapshot {
	s := Snapshot{
		Stage: b.stage(), Batch: b.batch, Counts: b.counts, Inspector: b.inspector, SignsOn: b.signsOn, Left: b.left, Climate: b.climate,
		Gauges: b.gaugeLines(), Next: -1, Live: b.live, Notice: b.notice, Demo: b.demo, Working: b.working,
		Alarms: b.alarmsHere(), AllAlarms: len(b.alarms), Concerns: b.concerns,
	}
	for i := range b.gauges {
		if g := &b.gauges[i]; g.Capture == devices.CaptureTyped {
			s.Typing = append(s.Typing, g.Prefix)
		}
	}
	if HourOf(b.now()).Equal(b.hour) { // else nothing was judged in it yet
		s.JudgedInHour = b.judged
	}
	s.Waiting = b.waiting(s.Gauges)
	b.state.shown(b, &s)
	return s
}

// stage is how far the neck on the bench is, for pages.
func (b *Bench) stage() Stage {
	switch b.base().kind() {
	case isMeasuring, isQuestioned, isSweeping:
		return Measuring
	case isDeciding:
		return PersonDecides
	case isDecided, isDoubled:
		return Decided
	}
	if b.batch == nil {
		return NoBatch
	}
	return Idle
}

// alarmsHere are the alarms of the batch on the bench and of gauges.
func (b *Bench) alarmsHere() []batch.Alarm {
	var here []batch.Alarm
	for _, a := range b.alarms {
		if a.BatchID == "" || (b.batch != nil && a.BatchID == b.batch.ID) {
			here = append(here, a)
		}
	}
	return here
}

// readAlarms reads which alarms stand.
func (b *Bench) readAlarms(ctx context.Context) error {
	all, err := b.shop.OpenAlarms(ctx)
	if err == nil {
		b.alarms = all
	}
	return err
}

// ReloadAlarms reads which alarms stand; they are shown until they are acknowledged.
func (b *Bench) ReloadAlarms(ctx context.Context) error {
	return b.do(ctx, func() error { return b.readAlarms(ctx) })
}
