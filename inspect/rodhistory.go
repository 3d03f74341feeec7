package inspect

import "math"

// What tells a step of the rod that did what it should from one that did not: multiples of the standard uncertainty of a fall
// of relief, and mm; and turns. Common practice, tried on simulated necks; no source.
const (
	wrongSigmas = 3.0 // a run moved relief the wrong way
	wrongMM     = 0.04
	undoSigmas  = 2.0 // an undo, judged alone, did
	undoMM      = 0.02
	tellSigmas  = 3.0 // the fall expected of a run, from which no effect can be told
	tellMM      = 0.02
	holdSigmas  = 2.0 // a double-acting rod has taken hold
	holdMM      = 0.03
	leastShare  = 1.0 / 3 // of the fall expected: less is no effect
	slackStep   = 0.125   // turns at a step in the slack zone
	mostSlack   = 0.875   // turns without taking hold
	mostRun     = 1.0     // turns in a run
	remeasures  = 2       // after a first step without effect
)

// rodRun is the rod's steps in one direction at one set-up. It starts anew after an undo and where the rod takes hold in a slack
// zone.
type rodRun struct {
	dir   float64 // 1 tightens, -1 loosens, 0 before the first step
	from  int     // its first step
	turns float64
	start float64 // relief before it
	u     float64 // of the first step's fall
	k     float64 // the effect expected, mm per turn
	holds bool    // single-acting rods do from the start
	slack bool    // had no effect and may not have taken hold yet
	dead  int     // times it was found without effect
	steps int     // in it
}

// rodHistory is what the steps of a neck's rod have shown.
type rodHistory struct {
	run     rodRun
	taught  []RodStep // the steps that teach k
	wrong   int       // times the rod moved relief the wrong way
	undo    *RodStep  // the last step, which went the wrong way and is to be undone
	astray  *RodStep  // the last step, where it went the wrong way
	rose    float64   // by how much relief went the wrong way in that run, mm
	again   int       // measurements wanted of the last step, which had no effect
	stopped bool      // no effect twice in a run
	lost    bool      // never took hold in 7/8 turn
}

// now is relief after a step, mm: the mean of all its measurements.
func (p *RodStep) now() float64 {
	sum := p.ReliefAfterMM
	for _, mm := range p.ReliefAgainMM {
		sum += mm
	}
	return sum / float64(1+len(p.ReliefAgainMM))
}

// judgeRod judges the steps of one neck's rod, oldest first. rod is the specification's; mean and sd are k's before them. F is
// the fall of relief since the run's start, E the run's turns times k, both positive where the rod does what it should; u is the
// larger standard uncertainty of the run's first and last step. Wrong way: F < -max(3 u, 0.04 mm); an undo alone:
// F < -max(2 u, 0.02 mm). No effect: E >= 3 u + 0.02 mm and F < E/3. A double-acting rod holds from F >= max(2 u, 0.03 mm, E/3),
// in a slack zone from F >= max(2 u, 0.03 mm). Steps found wrong, their undo, steps without
// effect and those through a slack zone teach nothing. A repairer's work ends what the steps before it forbid; what they taught stays.
// Common practice, tried on simulated necks; no source.
func judgeRod(rod string, mean, sd float64, steps []RodStep) rodHistory {
	var h rodHistory
	void := make([]bool, len(steps))
	for i := range steps {
		s := &steps[i]
		turns, _, u := s.fall()
		dir := math.Copysign(1, turns)
		if h.again, h.astray = 0, nil; i > 0 && steps[i-1].Repaired {
			h = rodHistory{}
		}
		if h.undo != nil && dir == -h.run.dir {
			void[i] = true
			h.undone(s, dir, u)
			continue
		}
		h.undo = nil
		if h.run.dir != dir || s.NewSetUp {
			h.run = rodRun{dir: dir, from: i, start: s.ReliefBeforeMM, holds: rod != "double"}
		}
		if h.run.steps == 0 {
			h.run.u = u
			h.run.k, _ = UpdateRod(mean, sd, teaching(steps[:h.run.from], void))
		}
		h.run.steps++
		h.run.turns += math.Abs(turns)
		if h.step(s, max(u, h.run.u)) {
			for j := h.run.from; j <= i; j++ {
				void[j] = true
			}
		}
		if h.run.slack && h.run.holds {
			h.run = rodRun{dir: dir, from: i + 1, start: s.now(), holds: true}
		}
	}
	if n := len(steps); n > 0 && steps[n-1].Repaired {
		h = rodHistory{}
	}
	h.taught = teaching(steps, void)
	return h
}

// teaching returns the steps that are not void.
func teaching(steps []RodStep, void []bool) []RodStep {
	var taught []RodStep
	for i := range steps {
		if !void[i] {
			taught = append(taught, steps[i])
		}
	}
	return taught
}

// undone judges an undo alone, after which a new run starts. u is the standard uncertainty of its fall.
func (h *rodHistory) undone(s *RodStep, dir, u float64) {
	if fall := (s.ReliefBeforeMM - s.now()) * dir; fall < -max(undoSigmas*u, undoMM) {
		h.wrong++
		h.rose, h.astray = -fall, s
	}
	h.undo, h.run = nil, rodRun{}
}

// step judges the run after its newest step and tells whether its steps teach nothing. u is the standard uncertainty of the run's fall.
func (h *rodHistory) step(s *RodStep, u float64) (void bool) {
	r := &h.run
	fall, expected := (r.start-s.now())*r.dir, r.turns*r.k
	hold := max(holdSigmas*u, holdMM)
	switch {
	case fall < -max(wrongSigmas*u, wrongMM):
		h.wrong++
		h.rose, h.astray = -fall, s
		if h.wrong == 1 {
			h.undo = s
		}
	case r.slack && fall >= hold:
		r.holds = true
	case r.slack:
		h.lost = h.lost || r.turns >= mostSlack
	case expected >= tellSigmas*u+tellMM && fall < leastShare*expected:
		r.dead++
		r.slack = !r.holds
		h.lost = h.lost || r.slack && r.turns >= mostSlack
		h.stopped = h.stopped || r.holds && r.dead > 1
		if r.dead == 1 {
			h.again = max(0, remeasures-len(s.ReliefAgainMM))
		}
	default:
		r.holds = r.holds || fall >= max(hold, leastShare*expected)
		return false
	}
	return true
}

// room is how many turns more the run may have in a direction.
func (h *rodHistory) room(dir float64) float64 {
	if h.run.dir != dir {
		return mostRun
	}
	return max(0, mostRun-h.run.turns)
}
