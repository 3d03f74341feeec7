package bench

import (
	"errors"
	"slices"
	"time"

	"sagitta/batch/tell"
)

// Concern is something about the record or its copies that somebody should see to.
type Concern struct {
	What  string // "record", "disk", "backup", "copy", "drill" or "anchor"
	Words string // what is the matter
	ToDo  string
	Since time.Time // zero where that is not known
	Lost  bool      // nothing is recorded any more
}

// Concerned shows what is the matter with the record and its copies. That the record is lost is said at once, and heard.
func (b *Bench) Concerned(now []Concern) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if slices.Equal(now, b.concerns) {
		return
	}
	for _, c := range now {
		if c.Lost && !slices.Contains(b.concerns, c) {
			b.say(true, tell.Sentence(errors.New(c.Words)))
			b.sounds(Lost)
		}
	}
	b.concerns = now
	b.publish()
}
