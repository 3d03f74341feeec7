package bench

import (
	"slices"

	"sagitta/inspect"
)

// Sound names what has just happened, for somebody who does not look.
type Sound string

// The sounds. What more than one thing happened at once is heard by the later of this list.
const (
	Taken       Sound = "taken"         // a reading, a step of a check, a rework step is recorded
	TakenBack   Sound = "taken back"    // a reading or a rework step no longer counts, a questioned one is not used
	Skipped     Sound = "skipped"       // a point is noted as not to be measured
	Accepted    Sound = "scan accepted" // a neck, a batch or a person came
	Refused     Sound = "refused"
	Asked       Sound = "asked" // an answer is waited for
	CheckPassed Sound = "check passed"
	CheckFailed Sound = "check failed"
	Undecided   Sound = "undecided" // a verdict: measure again, or a person decides
	Passed      Sound = "pass"      // or released by concession
	ToRework    Sound = "rework"
	ToRepair    Sound = "repair"       // or scrap
	Lost        Sound = "station lost" // the record is: nothing is recorded any more
)

// Sounds are all of the bench's, in the order of their weight.
var Sounds = []Sound{Taken, TakenBack, Skipped, Accepted, Refused, Asked, CheckPassed, CheckFailed, Undecided, Passed, ToRework, ToRepair, Lost}

// soundsKept is how many of the newest sounds a snapshot has: a page that was busy plays what it missed, but no more.
const soundsKept = 4

// Heard is one sound that was due.
type Heard struct {
	ID    uint64 // the version of the snapshot with which it came
	Sound Sound
}

// sounds remembers what has just happened, until it is published; of several the gravest.
func (b *Bench) sounds(s Sound) {
	if slices.Index(Sounds, s) > slices.Index(Sounds, b.sound) {
		b.sound = s
	}
}

// verdictSound is what a disposition sounds like.
func verdictSound(d inspect.Disposition) Sound {
	switch d {
	case inspect.Pass, inspect.Concession:
		return Passed
	case inspect.Rework:
		return ToRework
	case inspect.Remeasure:
		return Undecided
	}
	return ToRepair
}

// questionAsked says whether a snapshot asks what the one before did not.
func questionAsked(before, now *Snapshot) bool {
	return now.Question != nil && (before == nil || before.Question == nil || before.Question.Words != now.Question.Words || before.Question.Asks != now.Question.Asks)
}

// hear adds the sound that is due to those of a snapshot. While necks are inspected unattended nobody listens.
func (b *Bench) hear(s *Snapshot) {
	if questionAsked(b.snap.Load(), s) {
		b.sounds(Asked)
	}
	if b.sound != "" && b.working == "" {
		b.heard = append(slices.Clone(b.heard[max(0, len(b.heard)-soundsKept+1):]), Heard{b.version + 1, b.sound})
	}
	b.sound = ""
	s.Sounds = b.heard
}
