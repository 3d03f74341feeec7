package batch

import (
	"math"

	"sagitta/inspect"
)

// Assemble puts a neck's readings together from an inspection's rows, in any order. Rows that another one supersedes
// and withdrawn rows take no part. The rounds of one point are averaged (none is chosen): with n rounds
//
//	u_mean² = u_repeat²/n + (U² - u_repeat²)
//
// where u_repeat is the part of U that differs from reading to reading (JCGM 100, 4.2.3 and 5.1.2); where a row does not
// tell it, all of U is taken to be that part. Rows without U leave the uncertainty to the specification. Leaves are
// bracketed: the thickest that passed and the thinnest that did not. rod is the neck's rod history.
//
// Crowns of a track that the specification does not have are left out, as are frets beyond its last. Crowns of several layings are
// brought into the newest, or left out (Lay).
func Assemble(s *inspect.Spec, in Inspection, readings []Reading, rod []inspect.RodStep) *inspect.Readings {
	out := &inspect.Readings{Serial: in.Serial, Posture: in.Posture, Handed: in.Handed, RodSteps: rod}
	if in.Climate != (inspect.Climate{}) {
		climate := in.Climate
		out.Climate = &climate
	}
	points, order := byPoint(readings)
	tracks := s.TracksOf()
	several := severalLayings(points)
	for _, p := range order {
		rows := points[p]
		value, u := mean(rows)
		switch p.Kind {
		case Crown:
			if !several {
				addCrown(out, tracks, s.Neck.Frets, p, value, u)
			}
		case ActionHeight:
			out.Action = append(out.Action, inspect.HeightReading{String: p.String, Fret: p.Fret, HeldFret: p.HeldFret, HeightMM: value, UMM: u})
		case NutHeight:
			out.NutHeight = append(out.NutHeight, inspect.HeightReading{String: p.String, HeightMM: value, UMM: u})
		case Pitch:
			out.Pitch = append(out.Pitch, inspect.PitchReading{String: p.String, Cents: &value})
		case PitchDeclared:
			out.PitchDeclared = value == 1
		case BeamReading:
			newest := rows[len(rows)-1]
			out.Beam = append(out.Beam, inspect.BeamReading{Track: p.Track, FeetMM: newest.FeetMM, PlungerMM: newest.PlungerMM, ReadingMM: value, UMM: u})
		case LeafPasses, LeafStops:
			addLeaf(out, p, rows)
		}
	}
	for i := range out.Leaves {
		out.Leaves[i].UMM = leafU(&out.Leaves[i], points)
	}
	if several {
		laid := Lay(s, readings, Present{})
		laid.addCrowns(out, s, order)
	}
	return out
}

// severalLayings reports whether standing crowns are of more than one laying.
func severalLayings(points map[Point][]Reading) bool {
	first, any := 0, false
	for p, rows := range points {
		for _, r := range rows {
			if p.Kind != Crown {
				continue
			}
			if any && r.Laying != first {
				return true
			}
			first, any = r.Laying, true
		}
	}
	return false
}

// byPoint groups the standing rows with a value, and lists the points in the order of their first such row.
func byPoint(readings []Reading) (map[Point][]Reading, []Point) {
	points := map[Point][]Reading{}
	var order []Point
	for _, r := range Standing(readings) {
		if r.Withdrawn {
			continue
		}
		if points[r.Point] == nil {
			order = append(order, r.Point)
		}
		points[r.Point] = append(points[r.Point], r)
	}
	return points, order
}

// mean averages a point's rows; u is nil where a row brings none.
func mean(rows []Reading) (value float64, u *float64) {
	n := float64(len(rows))
	var random, common float64 // sums of variances
	known := true
	for _, r := range rows {
		value += r.Value / n
		known = known && r.U > 0
		repeat, shared := variances(r)
		random += repeat
		common += shared
	}
	if !known {
		return value, nil
	}
	// The random parts of n readings average to random/n each and to random/n² in the mean; the common part stays.
	um := math.Sqrt(random/(n*n) + common/n)
	return value, &um
}

// variances are the part of a reading's that differs from reading to reading, all of it where the row does not tell, and the rest.
func variances(r Reading) (random, common float64) {
	repeat := r.U
	if r.URepeat > 0 && r.URepeat < r.U {
		repeat = r.URepeat
	}
	return repeat * repeat, (r.U - repeat) * (r.U + repeat)
}

// addCrown sets a crown and returns which of the profile's tracks it is on, -1 where the specification has no such crown.
func addCrown(out *inspect.Readings, tracks []inspect.TrackSpec, frets int, p Point, value float64, u *float64) (track int) {
	if p.Fret < 1 || p.Fret > frets {
		return -1
	}
	at := -1
	for i := range out.Profile {
		if out.Profile[i].Track == p.Track {
			at = i
		}
	}
	if at < 0 {
		for _, t := range tracks {
			if t.Name == p.Track {
				at = len(out.Profile)
				out.Profile = append(out.Profile, inspect.TrackReading{Track: t.Name, YNutMM: t.YNutMM, YSaddleMM: t.YSaddleMM, ZMM: make([]*float64, frets)})
			}
		}
		if at < 0 {
			return -1
		}
	}
	t := &out.Profile[at]
	t.ZMM[p.Fret-1] = &value
	if u != nil {
		if t.UMM == nil {
			t.UMM = make([]*float64, frets)
		}
		t.UMM[p.Fret-1] = u
	}
	return at
}

func addLeaf(out *inspect.Readings, p Point, rows []Reading) {
	at := -1
	for i := range out.Leaves {
		if out.Leaves[i].Track == p.Track && out.Leaves[i].Fret == p.Fret {
			at = i
		}
	}
	if at < 0 {
		at = len(out.Leaves)
		out.Leaves = append(out.Leaves, inspect.LeafReading{Track: p.Track, Fret: p.Fret})
	}
	leaf := &out.Leaves[at]
	for _, r := range rows {
		switch {
		case p.Kind == LeafPasses && (leaf.PassesMM == nil || r.Value > *leaf.PassesMM):
			leaf.PassesMM = &r.Value
		case p.Kind == LeafStops && (leaf.StopsMM == nil || r.Value < *leaf.StopsMM):
			leaf.StopsMM = &r.Value
		}
	}
}

// leafU is the standard uncertainty of an interval's middle where its ends bring some of their own, as two leaves laid together do: with
// u of the ends beside the interval's width w, u² = w²/12 + (u_passes² + u_stops²)/4. nil where they bring none, or an end is open.
func leafU(l *inspect.LeafReading, points map[Point][]Reading) *float64 {
	if l.PassesMM == nil || l.StopsMM == nil {
		return nil
	}
	ends := 0.0 // sum of variances
	for kind, mm := range map[Kind]float64{LeafPasses: *l.PassesMM, LeafStops: *l.StopsMM} {
		for _, r := range points[Point{Kind: kind, Track: l.Track, Fret: l.Fret}] {
			if r.Value == mm {
				ends += r.U * r.U
				break
			}
		}
	}
	if ends == 0 {
		return nil
	}
	u := math.Sqrt(math.Pow(*l.StopsMM-*l.PassesMM, 2)/12 + ends/4)
	return &u
}
