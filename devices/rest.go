package devices

import (
	"slices"
	"time"

	"sagitta/devices/decode"
)

const (
	// restTime is how long a gauge must stand still to be at rest.
	restTime = 300 * time.Millisecond
	// restSteps is how many steps of its last digit it may wander meanwhile.
	restSteps = 2
	// restFrames is the least number of frames that show a rest.
	restFrames = 3
	// restless is how long a gauge may wander on one place before the watch says that it does not come to rest.
	restless = 5 * time.Second
	// clearMM and clearSteps: the greater of the two is a move that leaves no doubt that the gauge was lifted off. Between
	// two frets its tip falls by most of a fret's height, about 1 mm (common practice, no source); a hand that leans on
	// the neck, or warmth, moves it by hundredths.
	clearMM    = 0.2
	clearSteps = 20
)

// rest finds the one frame to take of every placement of a streaming gauge: the first at which it has stood still for
// restTime. A placement begins when the gauge has been off the surface (its tip fell by more than a clear distance, or
// it sent a word instead of a number) and has come up again by as much. So nothing is taken from a gauge that hangs
// still in the air, and whatever happens between two lift-offs is one placement: where it rests may drift, for the rest
// follows it.
type rest struct {
	step, clear float64 // mm
	sense       float64

	window []stood // frames without a gap, back to the youngest that is restTime old
	off    bool    // off the surface
	none   bool    // the gauge itself said so
	lowest float64 // since it is off
	begun  bool    // lowest holds
	placed float64 // where it last stood still
	below  int     // frames in a row that lie clear below placed

	place  stretch // the frames on one place since it last stood still
	unrest *Unrest // set with the frame that completes restless, nil otherwise
}

// Unrest says why a gauge whose readings are taken at rest gives none although it stays in one place.
type Unrest struct {
	MovesMM float64       // what it wandered by within 0.3 s
	MostMM  float64       // what it may wander by
	Every   time.Duration // mean time between its frames
	Slow    bool          // its frames come too slowly for a rest to be told
}

// stretch is a run of frames that lie within a clear distance of one another.
type stretch struct {
	since     time.Time
	low, high float64
	frames    int
}

// stood is one frame.
type stood struct {
	at time.Time
	mm float64 // grows as the surface rises
}

// newRest begins with the gauge off the surface, so that one which lies on something from the beginning gives nothing
// before it was lifted.
func newRest(resolutionMM float64, sense int) *rest {
	r := &rest{step: resolutionMM, clear: max(clearMM, clearSteps*resolutionMM), sense: 1, off: true}
	if sense < 0 {
		r.sense = -1
	}
	return r
}

// frame takes the next frame and tells whether it is the one to take.
func (r *rest) frame(at time.Time, v decode.Value) bool {
	r.unrest = nil
	if !v.IsNumber() {
		if v.Status != "low battery" { // that says nothing about the tip
			r.window, r.off, r.none, r.begun, r.place = nil, true, true, false, stretch{}
		}
		return false
	}
	mm := r.sense * v.MM
	still := r.still(stood{at, mm})
	r.linger(stood{at, mm}, still)
	if r.off {
		if !r.begun || mm < r.lowest {
			r.lowest, r.begun = mm, true
		}
		if still && (r.none || mm-r.lowest > r.clear) {
			r.off, r.none, r.placed, r.below = false, false, mm, 0
			return true
		}
		return false
	}
	if r.below++; mm >= r.placed-r.clear {
		r.below = 0
	}
	switch {
	case r.below > 1: // one alone may be a disturbance on the line
		r.off, r.lowest, r.begun = true, mm, true
	case still && r.below == 0:
		r.placed = mm
	}
	return false
}

// linger sees whether a placement is waited for on one place without a rest, and says so every restless.
func (r *rest) linger(now stood, still bool) {
	p := &r.place
	low, high := min(p.low, now.mm), max(p.high, now.mm)
	if still || !r.off || p.frames == 0 || high-low > r.clear {
		*p = stretch{since: now.at, low: now.mm, high: now.mm, frames: 1}
		return
	}
	p.low, p.high = low, high
	p.frames++
	lasted := now.at.Sub(p.since)
	if lasted < restless {
		return
	}
	low, high = now.mm, now.mm
	for _, f := range r.window {
		low, high = min(low, f.mm), max(high, f.mm)
	}
	r.unrest = &Unrest{MovesMM: high - low, MostMM: restSteps * r.step, Every: lasted / time.Duration(p.frames-1), Slow: len(r.window) < restFrames}
	*p = stretch{}
}

// still tells whether the gauge has stood still for restTime up to and with this frame.
func (r *rest) still(now stood) bool {
	if n := len(r.window); n > 0 && now.at.Sub(r.window[n-1].at) > restTime {
		r.window = r.window[:0]
	}
	r.window = append(r.window, now)
	old := 0
	for old+1 < len(r.window) && now.at.Sub(r.window[old+1].at) >= restTime {
		old++
	}
	r.window = slices.Delete(r.window, 0, old)
	if len(r.window) < restFrames || now.at.Sub(r.window[0].at) < restTime {
		return false
	}
	low, high := now.mm, now.mm
	for _, f := range r.window {
		low, high = min(low, f.mm), max(high, f.mm)
	}
	return high-low <= restSteps*r.step*(1+1e-9) // decimal steps are not exact in binary
}
