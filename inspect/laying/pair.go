package laying

// Answer is what a crown that was asked about and its neighbour tell when they are measured again.
type Answer int

// The answers. Only ItIsSo leaves a choice to somebody: a deliberate yes is recorded, and the neck has it.
const (
	Plunger Answer = iota // the crown alone changed: its new reading counts
	ItIsSo                // both are as before
	Moved                 // neck or gauge moved: the laying ends
)

// Pair returns the two crowns that are measured again where the one at index about, among the crowns taken, is asked about: that crown
// and the one taken before it (definition); the first one of a laying has the one taken after it.
func Pair(taken []Crown, about int) (crown, beside Crown) {
	if about == 0 {
		return taken[0], taken[1]
	}
	return taken[about], taken[about-1]
}

// Judge says what the heights of the crown asked about and the one beside it tell, each as first taken and again, mm. Each has changed
// when it does not agree (Agrees) with its first reading. The crown beside it alone changing means moved as well, and is how most moves
// show: after one between the two the second is where it was and the first elsewhere. So does a change of both that is not alike: a tilt
// does that. Where something moved both readings made again belong to the next laying.
func Judge(crown, crownAgain, beside, besideAgain, u float64) Answer {
	changed, besideChanged := !Agrees(crown, crownAgain, u), !Agrees(beside, besideAgain, u)
	switch {
	case besideChanged:
		return Moved
	case changed:
		return Plunger
	}
	return ItIsSo
}
