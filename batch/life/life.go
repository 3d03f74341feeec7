// Package life tells what a neck did over the years: with humidity, with other strings, and what is to be expected of it. Pure
// functions of what was measured and done at its visits; a neck's own numbers, and never a sign that nobody saw.
package life

import (
	"math"
	"slices"
	"time"
)

// Neck is what was measured on a neck and done to it, each in order of time.
type Neck struct {
	Measured []Measurement
	Done     []Work
}

// Measurement is a neck as it was measured once, at pitch.
type Measurement struct {
	At              time.Time
	Visit           int // its number; 0: the factory's inspection
	Relief          []Relief
	HumidityPercent *float64
	Strings         Strings // that it wore
}

// Relief is what was read on one track.
type Relief struct {
	Track         string
	First, Second int // frets of its datum pair
	Fret          int
	MM, U         float64
}

// Strings is a set on a neck.
type Strings struct {
	Name  string
	PullN float64 // what all strings pull together, N; 0: nobody knows
	U     float64
}

// Work is something done to a neck, after a measurement of the same time.
type Work struct {
	At      time.Time
	Visit   int
	Bends   bool // it can have changed the relief: no pitch, nut or saddle
	Strings bool // nothing but other strings
}

// Kind is which reliefs are compared: those of the same tracks over the same frets.
type Kind struct {
	Tracks              []string // whose mean is meant
	First, Second, Fret int
}

// kind is what the newest measurement has, with those of its tracks that most of the others have too.
func (n *Neck) kind() Kind {
	var k Kind
	for _, m := range slices.Backward(n.Measured) {
		if len(m.Relief) > 0 {
			r := m.Relief[0]
			k.First, k.Second, k.Fret = r.First, r.Second, r.Fret
			for _, r := range m.Relief {
				if k.fits(r) {
					k.Tracks = append(k.Tracks, r.Track)
				}
			}
			break
		}
	}
	have := map[string]int{}
	most := 0
	for _, m := range n.Measured {
		for _, r := range m.Relief {
			if k.fits(r) {
				have[r.Track]++
				most = max(most, have[r.Track])
			}
		}
	}
	k.Tracks = slices.DeleteFunc(k.Tracks, func(t string) bool { return have[t] < most })
	return k
}

// fits says whether a relief was read over the same frets.
func (k *Kind) fits(r Relief) bool {
	return r.First == k.First && r.Second == k.Second && r.Fret == k.Fret
}

// mean is the mean relief over a kind's tracks with its standard uncertainty; ok only where all of them were read.
func (m *Measurement) mean(k Kind) (mm, u float64, ok bool) {
	n := float64(len(k.Tracks))
	if n == 0 {
		return 0, 0, false
	}
	for _, track := range k.Tracks {
		i := slices.IndexFunc(m.Relief, func(r Relief) bool { return r.Track == track && k.fits(r) })
		if i < 0 {
			return 0, 0, false
		}
		mm += m.Relief[i].MM / n
		u = math.Hypot(u, m.Relief[i].U/n)
	}
	return mm, u, true
}

// changedBetween says that work between two neighbouring measurements can have changed the relief. Strings that pull like those before
// them, at the same pitch, do not.
func (n *Neck) changedBetween(i, j int) bool {
	a, b := n.Measured[i], n.Measured[j]
	if a.Strings.otherPull(b.Strings) {
		return true
	}
	for _, w := range n.between(i, j) {
		if w.Bends && !(w.Strings && a.Strings.samePull(b.Strings)) {
			return true
		}
	}
	return false
}

// between is the work between two neighbouring measurements.
func (n *Neck) between(i, j int) []Work {
	var all []Work
	for _, w := range n.Done {
		if !w.At.Before(n.Measured[i].At) && w.At.Before(n.Measured[j].At) {
			all = append(all, w)
		}
	}
	return all
}

// alikePull is by how much two sets' pulls may differ and still be alike, as a share: what tuning within ten cents makes.
const alikePull = 0.012

func (s Strings) samePull(o Strings) bool {
	return s.PullN > 0 && o.PullN > 0 && math.Abs(s.PullN-o.PullN) <= alikePull*s.PullN
}

func (s Strings) otherPull(o Strings) bool {
	return s.PullN > 0 && o.PullN > 0 && !s.samePull(o)
}
