package batch

import (
	"maps"
	"math"
	"slices"

	"sagitta/inspect"
)

// means gives the weights of rows in each crown's mean over its rounds, and how many crowns rest on each row.
func (l *Laid) means() (weights map[Point]map[int]float64, crowns []int) {
	weights, crowns = map[Point]map[int]float64{}, make([]int, len(l.rows))
	for p, rounds := range l.frame {
		all := sum{weights: map[int]float64{}}
		for _, round := range slices.Sorted(maps.Keys(rounds)) {
			all.add(1/float64(len(rounds)), rounds[round])
		}
		weights[p] = all.weights
		for i := range all.weights {
			crowns[i]++
		}
	}
	return weights, crowns
}

// addCrowns adds the crowns of all layings' common frame, in the order of the points given. Rows that several crowns rest on become
// Carried of the readings, each once; a crown's other rows are in its OwnUMM.
func (l *Laid) addCrowns(out *inspect.Readings, s *inspect.Spec, order []Point) {
	u := func(r Reading) float64 {
		if r.U > 0 {
			return r.U
		}
		return s.ReadingU()
	}
	means, crowns := l.means()
	tracks := s.TracksOf()
	carried := map[int]*inspect.CarriedReading{}
	for _, p := range order {
		weights, ok := means[p]
		if !ok {
			continue
		}
		own := 0.0 // variances
		for _, round := range slices.Sorted(maps.Keys(l.frame[p])) {
			n := float64(len(l.frame[p]))
			_, c := variances(l.rows[l.frame[p][round].row])
			own += c * (1/n - 1/(n*n)) // what its rounds share is not averaged
		}
		value, total := 0.0, own
		for _, i := range sortedRows(weights) {
			w, r := weights[i], l.rows[i]
			value += w * r.Value
			total += w * w * u(r) * u(r)
			if crowns[i] < 2 {
				own += w * w * u(r) * u(r)
			}
		}
		um := math.Sqrt(total)
		at := addCrown(out, tracks, s.Neck.Frets, p, value, &um)
		track := &out.Profile[at]
		if track.OwnUMM == nil {
			track.OwnUMM = make([]float64, s.Neck.Frets)
		}
		track.OwnUMM[p.Fret-1] = math.Sqrt(own)
		for i, w := range weights {
			if crowns[i] < 2 {
				continue
			}
			r := l.rows[i]
			if carried[i] == nil {
				carried[i] = &inspect.CarriedReading{Point: inspect.PointRef{Kind: inspect.PointCrown, Track: r.Point.Track, Fret: r.Point.Fret},
					Laying: r.Laying, ValueMM: r.Value, UMM: u(r)}
			}
			carried[i].Parts = append(carried[i].Parts, inspect.CarriedPart{Track: at, Fret: p.Fret, Weight: w})
		}
	}
	for i := range l.rows {
		if c := carried[i]; c != nil {
			out.Carried = append(out.Carried, *c)
		}
	}
}
