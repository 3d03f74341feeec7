package signon

import (
	"context"
	"sync"
	"time"

	"sagitta/batch"
)

// unknowns are attempts with what is nobody's. The trail tells of them at once, then with growing delays: whoever tries for days leaves few entries.
type unknowns struct {
	mu  sync.Mutex
	all map[batch.Unknown]tries
}

// tries are attempts of one kind.
type tries struct {
	told   int       // entries since it was quiet
	last   time.Time // when the newest was written
	untold int       // attempts since
	since  time.Time // the first of them
}

// tell counts an attempt, and gives how many are to be told of now, since when; 0: none.
func (u *unknowns) tell(what batch.Unknown, now time.Time) (times int, since time.Time) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.all == nil {
		u.all = map[batch.Unknown]tries{}
	}
	t := u.all[what]
	if now.Sub(t.last) > 2*longestDelay {
		t.told = 0
	}
	if t.untold++; t.untold == 1 {
		t.since = now
	}
	if t.told > 0 && now.Sub(t.last) < delayAfter(freeFailures+t.told) {
		u.all[what] = t
		return 0, time.Time{}
	}
	times, since = t.untold, t.since
	u.all[what] = tries{told: t.told + 1, last: now}
	return times, since
}

// unknown has the trail tell of an attempt with what is nobody's.
func (s *Service) unknown(ctx context.Context, what batch.Unknown) error {
	times, since := s.unknowns.tell(what, s.opt.Now())
	if times == 0 {
		return nil
	}
	return s.opt.Record.KeepUnknown(ctx, what, times, since)
}
