package bench

import (
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
)

// Points lists what the specification's routine asks for, in order: pitch first (tension is what bends a neck), then
// the profile, nut heights and action. Places are mm on the board; gauges serve the kinds they are registered for.
func Points(s *inspect.Spec, gauges []batch.Gauge) []PointLine {
	s = s.WithDefaults()
	tracks := map[string]inspect.TrackSpec{}
	for _, t := range s.TracksOf() {
		tracks[t.Name] = t
	}
	serves := func(k batch.Kind) string {
		for i := range gauges {
			if gauges[i].Serves(k) {
				return gauges[i].ID
			}
		}
		return ""
	}
	var points []PointLine
	add := func(p batch.Point, x, y float64, drawn bool) {
		points = append(points, PointLine{
			Key: Key(p), Point: p, XMM: x, YMM: y, Drawn: drawn, Words: p.Words(), GaugeID: serves(p.Kind), Zone: inspect.NoLimit,
		})
	}
	onTrack := func(k batch.Kind, name string, fret int, x float64) {
		t := tracks[name]
		add(batch.Point{Kind: k, Track: name, Fret: fret}, x, inspect.TrackY(t.YNutMM, t.YSaddleMM, s.Neck.ScaleMM, x), true)
	}
	overFret := func(k batch.Kind, n, fret int) {
		x := inspect.FretX(s.Neck.ScaleMM, max(fret, 1))
		for _, str := range s.Strings {
			if str.Number == n {
				add(batch.Point{Kind: k, String: n, Fret: fret}, x, inspect.TrackY(str.YNutMM, str.YSaddleMM, s.Neck.ScaleMM, x), true)
			}
		}
	}

	strings := s.Routine.Strings.Numbers
	if s.Routine.Strings.Each {
		strings = nil
		for _, str := range s.Strings {
			strings = append(strings, str.Number)
		}
	}
	if s.Routine.Pitch == "declared" {
		add(batch.Point{Kind: batch.PitchDeclared}, 0, 0, false)
	} else {
		// The pitch gate needs every string, whichever strings the routine gauges.
		for _, str := range s.Strings {
			add(batch.Point{Kind: batch.Pitch, String: str.Number}, 0, str.YNutMM, true)
			points[len(points)-1].Words = fmt.Sprintf("pitch of string %d, %s: cents from %.2f Hz", str.Number, str.Name, str.PitchHz)
		}
	}
	var indicator *batch.Gauge // of the carriage that is swept
	if s.Routine.Profile == "sweep" {
		indicator, _ = sweepPair(gauges)
	}
	for _, name := range s.Routine.Tracks {
		switch s.Routine.Profile {
		case "each fret", "sweep":
			for n := 1; n <= s.Neck.Frets; n++ {
				onTrack(batch.Crown, name, n, inspect.FretX(s.Neck.ScaleMM, n))
				if indicator != nil {
					points[len(points)-1].GaugeID = indicator.ID
				}
			}
		case "beam":
			onTrack(batch.BeamReading, name, s.Datum.ReliefFret, inspect.FretX(s.Neck.ScaleMM, s.Datum.ReliefFret))
		case "leaves":
			for _, k := range []batch.Kind{batch.LeafPasses, batch.LeafStops} {
				onTrack(k, name, s.Datum.ReliefFret, inspect.FretX(s.Neck.ScaleMM, s.Datum.ReliefFret))
			}
		}
	}
	for _, n := range strings {
		overFret(batch.NutHeight, n, 0)
	}
	for _, fret := range s.Routine.ActionFrets {
		for _, n := range strings {
			overFret(batch.ActionHeight, n, fret)
		}
	}
	return points
}

// Key is a point's stable name, e.g. "crown/bass/7/0/0": kind, track, fret, string, held fret.
func Key(p batch.Point) string {
	track := p.Track
	if track == "" {
		track = "-"
	}
	return fmt.Sprintf("%s/%s/%d/%d/%d", p.Kind, track, p.Fret, p.String, p.HeldFret)
}
