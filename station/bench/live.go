package bench

import (
	"context"
	"time"
)

// liveEvery is the shortest time between two snapshots that differ in nothing but live frames. A display needs no more
// than thirty a second; sixty-four gauges at a hundred frames each a second would cost a snapshot for every frame.
const liveEvery = time.Second / 30

// frame runs what one frame of a gauge brings about. A press, and whatever leads to a notice, is published at once, like
// every command; a live frame alone waits for the next turn of live frames.
func (b *Bench) frame(key bool, command func() error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	before := b.notice
	err := b.watchClock(context.Background())
	if err == nil {
		err = command()
	}
	if err != nil {
		b.say(true, Sentence(err))
	}
	if key || b.notice != before {
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

// Snapshot returns what the page shows now. Live frames that have not been published are in it, unless the bench is busy
// with a reading: then that one's own snapshot is about to come.
func (b *Bench) Snapshot() *Snapshot {
	if b.stale.Load() && b.mu.TryLock() {
		b.publish()
		b.mu.Unlock()
	}
	return b.snap.Load()
}

// askedPoint is the point that the newest snapshot asks for, zero when none is: what live frames need to know without
// the routine being replayed for each. Whatever changes it publishes a snapshot before the next frame.
func (b *Bench) askedPoint() PointLine {
	if s := b.snap.Load(); s.Next >= 0 {
		return s.Points[s.Next]
	}
	return PointLine{}
}
