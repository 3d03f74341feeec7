package laying

import "math"

// Agrees reports whether a crown measured once more is where it was: within 4 sqrt(2) u (definition), u, mm, from resolution and
// repeatability alone. Of a million sound pairs 63 disagree.
func Agrees(first, again, u float64) bool { return math.Abs(again-first) <= agreement*u }

// Closing returns which crowns, of those of a laying in the order taken, are measured once more when the last crown of a profile is in:
// the first one taken and the joint crown of the same track (definition); one where they are the same or the joint crown is not there.
// Each must agree, else something moved while it was measured. It sees what the shape cannot: moves between tracks, at their ends, and
// small ones.
func Closing(taken []Crown, joint int) []Crown {
	if len(taken) == 0 {
		return nil
	}
	first := taken[0]
	crowns := []Crown{first}
	for _, c := range taken[1:] {
		if c.Track == first.Track && c.Fret == joint {
			crowns = append(crowns, c)
		}
	}
	return crowns
}
