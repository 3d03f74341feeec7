package tell

import (
	"fmt"

	"sagitta/batch"
)

// Who is at the bench, and why nobody is.

// WhoIsThere says what to do where nobody is at the bench, as a clause; signsOn where people sign on.
func WhoIsThere(signsOn bool) string {
	if signsOn {
		return "scan your badge, or give your name and PIN"
	}
	return "choose the inspector first"
}

// SignedOff says that somebody ended their work at the bench.
func SignedOff(name string) string { return name + " has signed off." }

// ShiftOver says that somebody's work at the bench ended with their shift; began is when the next one began, in words.
func ShiftOver(name, began string) string {
	return fmt.Sprintf("A shift began at %s, and %s is signed off.", began, name)
}

// HandIdle says that somebody did nothing at the bench for so many minutes.
func HandIdle(name string, minutes int) string {
	return fmt.Sprintf("%s did nothing here for %d minutes and is signed off.", name, minutes)
}

// SomebodyElse refuses what a browser asks of the bench that is not that of whoever is there; me is who is signed on in it, "" for nobody.
func SomebodyElse(me, there string) string {
	switch {
	case there == "":
		return "nobody is at the bench: " + WhoIsThere(true)
	case me == "":
		return there + " is at the bench, and nobody is signed on in this window: to take over, " + WhoIsThere(true)
	}
	return fmt.Sprintf("%s is at the bench, and this window is %s's: to take over, %s", there, me, WhoIsThere(true))
}

// Strength says how somebody signed on.
func Strength(s batch.Strength) string {
	if s == batch.ByPassword {
		return "with the password"
	}
	return "with badge or PIN, for the bench"
}
