package bench

import (
	"errors"
	"slices"
	"time"

	"sagitta/batch/tell"
)

// Concern is something about the record or its copies, or promised for an instrument, that somebody should see to.
type Concern struct {
	What  string // "record", "disk", "backup", "copy", "drill", "anchor"; for whom it was promised
	Words string // what is the matter
	ToDo  string
	Page  string    // where it is done, "" for none
	Since time.Time // zero where that is not known
	Lost  bool      // nothing is recorded any more
	Grave bool      // what is recorded is not as it was written
}

// Concerned shows what is the matter with the record and its copies. That the record is lost is said at once, and heard.
func (b *Bench) Concerned(now []Concern) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if slices.Equal(now, b.concerns) {
		return
	}
	for _, c := range now {
		if !c.Lost && !c.Grave || slices.Contains(b.concerns, c) {
			continue
		}
		words := c.Words
		if c.Grave {
			words = "the " + c.What + ": " + words
		}
		b.say(true, tell.Sentence(errors.New(words)))
		if c.Lost {
			b.sounds(Lost)
		}
	}
	b.concerns = now
	b.publish()
}
