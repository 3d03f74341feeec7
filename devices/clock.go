package devices

import (
	"sync"
	"time"
)

// onward makes of any clock one that never runs backwards: set back, it goes on from where it was. So readings keep
// their order and no wait becomes endless. It may be called from several goroutines.
func onward(now func() time.Time) func() time.Time {
	var mu sync.Mutex
	var last time.Time
	var behind time.Duration
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		t := now().Add(behind)
		if t.Before(last) {
			behind += last.Sub(t)
			t = last
		}
		last = t
		return t
	}
}
