package batch

import "sagitta/inspect"

// RodWork is what was done to a neck between two verdicts, as the history of its rod has it: pitch does not count.
type RodWork struct {
	Turns     float64 // of the rod, all together, unsigned where they went one way
	Direction string  // of the newest turn
	// Alone tells that the rod was turned, one way, and nothing else was done: the turns are one step of the rod, however many rows
	// they have. What other work or turns both ways do to relief cannot be told apart (a double-acting rod that is turned back goes
	// through its slack), so they are no step and the next one begins anew.
	Alone    bool
	Repairer bool // a repairer worked on the neck
}

// SignedTurns is how far an action tightened the rod, negative loosened; 0 for other work.
func (a *ReworkAction) SignedTurns() float64 {
	switch {
	case a.What != inspect.StepRod:
		return 0
	case a.Direction == "loosen":
		return -a.Turns
	}
	return a.Turns
}

// LastTurn reports that a turn of the rod is the newest of those recorded against the same verdict, all of which what follows shows
// together.
func LastTurn(a *ReworkAction, done []ReworkAction) bool {
	if a.What != inspect.StepRod {
		return false
	}
	last := ""
	for i := range done {
		if done[i].What == inspect.StepRod && done[i].InspectionID == a.InspectionID {
			last = done[i].ID
		}
	}
	return a.ID == last
}

// SumRodWork sums what was done to a neck between two verdicts.
func SumRodWork(done []ReworkAction) RodWork {
	var w RodWork
	w.Alone = true
	for _, a := range done {
		switch a.What {
		case inspect.StepPitch:
		case inspect.StepRod:
			w.Alone = w.Alone && (w.Direction == "" || w.Direction == a.Direction)
			w.Turns += a.Turns
			w.Direction = a.Direction
		default:
			w.Alone = false
			w.Repairer = w.Repairer || a.What == inspect.StepRepairer
		}
	}
	w.Alone = w.Alone && w.Direction != ""
	return w
}
