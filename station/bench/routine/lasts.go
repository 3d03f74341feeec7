package routine

import (
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// seconds that one point takes a practised hand, by its gauge's key and by hand (a ruler, a leaf, a typed number): common
// practice, no source; a whole profile of two tracks comes to the two to four minutes that the trade gives, a check of relief with leaves to
// less than one.
var seconds = map[batch.Kind][2]float64{
	batch.Crown:         {3, 10},
	batch.Closing:       {3, 10},
	batch.BeamReading:   {12, 15},
	batch.LeafPasses:    {12, 12},
	batch.LeafStops:     {8, 8},
	batch.NutHeight:     {5, 8},
	batch.ActionHeight:  {5, 8},
	batch.Pitch:         {6, 8},
	batch.PitchDeclared: {3, 3},
}

// sweepSeconds is what one pass of a carriage along a track takes, its setting up included; common practice, no source.
const sweepSeconds = 15

// closingPoints are the crowns read once more at the end of a profile.
const closingPoints = 2

// Lasts is how many points a neck's routine asks for, the closing reading included, and about how long they take.
func Lasts(s *inspect.Spec, gauges []batch.Gauge) (points int, took time.Duration) {
	full := s.WithDefaults()
	all := Points(full, gauges)
	hand := byHand(gauges)
	sweep := full.Routine.Profile == "sweep"
	crowns := 0
	var sum float64
	for _, p := range all {
		if p.Point.Kind == batch.Crown {
			crowns++
			if sweep {
				continue
			}
		}
		sum += hand.seconds(p.Point.Kind, p.GaugeID)
	}
	if sweep && crowns > 0 {
		sum += sweepSeconds * float64(len(full.Routine.Tracks))
	}
	points = len(all)
	if *full.Routine.Closing && crowns > 0 {
		points += closingPoints
		sum += closingPoints * hand.seconds(batch.Closing, firstCrown(all))
	}
	return points, time.Duration(sum * float64(time.Second))
}

// firstCrown is the gauge that reads crowns, "" for none.
func firstCrown(all []Point) string {
	for _, p := range all {
		if p.Point.Kind == batch.Crown {
			return p.GaugeID
		}
	}
	return ""
}

// hands are the IDs of the gauges that a person reads and enters, "" among them.
type hands map[string]bool

func byHand(gauges []batch.Gauge) hands {
	h := hands{"": true}
	for i := range gauges {
		if gauges[i].ByEye() {
			h[gauges[i].ID] = true
		}
	}
	return h
}

func (h hands) seconds(k batch.Kind, gaugeID string) float64 {
	if h[gaugeID] {
		return seconds[k][1]
	}
	return seconds[k][0]
}

// Without counts the points of each kind that no gauge on file reads, so that they are typed; leaves and a word of the inspector need
// none.
func Without(points []Point) map[batch.Kind]int {
	none := map[batch.Kind]int{}
	for _, p := range points {
		switch k := p.Point.Kind; k {
		case batch.PitchDeclared, batch.LeafPasses, batch.LeafStops:
		default:
			if p.GaugeID == "" {
				none[k]++
			}
		}
	}
	return none
}

// Fitted is the profile that the gauges there are allow, the most telling first: a sweep of a carriage, each fret, a beam on two feet,
// else leaves, which every shop has; and whether pitch is measured or declared.
func Fitted(gauges []batch.Gauge) (profile, pitch string) {
	serves := func(k batch.Kind) bool {
		for i := range gauges {
			if gauges[i].Serves(k) {
				return true
			}
		}
		return false
	}
	pitch = "declared"
	if serves(batch.Pitch) {
		pitch = "measured"
	}
	indicator, encoder := Carriage(gauges)
	switch {
	case indicator != nil && encoder != nil:
		return "sweep", pitch
	case serves(batch.Crown):
		return "each fret", pitch
	case serves(batch.BeamReading):
		return "beam", pitch
	}
	return "leaves", pitch
}
