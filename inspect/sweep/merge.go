package sweep

import "math"

// Limits of the position stream.
const (
	longestGap = 0.08 // s without a position: a hand's 300 mm/s² carries it 0.24 mm off the straight way in between
	fastest    = 500  // mm/s: the encoder slipped or was set anew, no hand pushes a carriage so fast
	resting    = 0.03 // mm: a height nearer to the one before tells the same place again, with the same step of the encoder
)

// placed is one height with the carriage's place when it was measured.
type placed struct {
	index int     // of the height in its stream
	at    float64 // s
	p     float64 // the encoder's place, mm
	speed float64 // mm/s, in the encoder's sense
	z     float64 // mm
}

// merge interpolates the position at each height's time less the latency. Cubic between neighbouring positions, with the
// slopes of the parabola through a position and its two neighbours (unequal spacing), so that a hand that speeds up is
// followed. Heights without positions around them are left out, and those of a resting carriage but the first: many
// heights at one place would outweigh the rest of a crown, while the error of that place is common to them.
func merge(heights, positions []Sample, latency float64) []placed {
	slope := make([]float64, len(positions))
	for i := range positions {
		slope[i] = slopeAt(positions, i)
	}
	track := make([]placed, 0, len(heights))
	j := 0
	for i, h := range heights {
		t := h.AtS - latency
		for j+1 < len(positions) && positions[j+1].AtS <= t {
			j++
		}
		if t < positions[j].AtS || j+1 == len(positions) {
			continue
		}
		a, b := positions[j], positions[j+1]
		dt := b.AtS - a.AtS
		if dt > longestGap || math.Abs(b.MM-a.MM) > fastest*dt {
			continue
		}
		u := (t - a.AtS) / dt
		d := b.MM - a.MM
		sa, sb := slope[j]*dt, slope[j+1]*dt
		// Cubic Hermite interpolation in the form a + u (sa + u (c2 + u c3)).
		c2, c3 := 3*d-2*sa-sb, sa+sb-2*d
		p := a.MM + u*(sa+u*(c2+u*c3))
		if n := len(track); n > 0 && math.Abs(p-track[n-1].p) < resting {
			continue
		}
		track = append(track, placed{index: i, at: t, z: h.MM, p: p, speed: (sa + u*(2*c2+3*u*c3)) / dt})
	}
	return track
}

// slopeAt is the slope of the parabola through a position and its neighbours; at an end, or beside a gap, of one side.
func slopeAt(s []Sample, i int) float64 {
	side := func(a, b int) (slope, dt float64, ok bool) {
		if a < 0 || b >= len(s) {
			return 0, 0, false
		}
		dt = s[b].AtS - s[a].AtS
		return (s[b].MM - s[a].MM) / dt, dt, dt > 0 && dt <= longestGap
	}
	before, db, okb := side(i-1, i)
	after, da, oka := side(i, i+1)
	switch {
	case okb && oka:
		return (before*da + after*db) / (da + db)
	case okb:
		return before
	case oka:
		return after
	}
	return 0
}
