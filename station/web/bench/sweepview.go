package bench

import (
	"fmt"

	"sagitta/inspect"
	"sagitta/inspect/sweep"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/show"
)

// sweepView is a sweep of the carriage on the bench page: what is asked for, or how far the sweep has come.
type sweepView struct {
	Running  bool
	Way, Of  string // pushed so far and from fret 1 to the last, in the page's unit
	Percent  int
	Readings int
}

// sweptView is what the newest sweep gave.
type sweptView struct {
	Track  string
	Said   string // one sentence
	Frets  []sweptFret
	Speed  string
	Radius string
}

// sweptFret is one fret of a sweep.
type sweptFret struct {
	Fret                     int
	State, Z, U, Off, Misfit string
	Samples                  int
	Note                     string
}

// swept fills the page's words for a sweep that is asked for, and the table of the newest one.
func (v *benchView) swept() {
	if s := v.Snapshot.Swept; s != nil && (v.Snapshot.Sweep != nil || v.Next >= 0) {
		v.LastPass = sweptOf(s, v.Unit)
	}
	s := v.Snapshot.Sweep
	if s == nil {
		return
	}
	v.Asked, v.Typed = s.Words(), false
	// From fret 1 to the last, and a little before and beyond.
	line := v.Spec.Fan().Track(v.Spec, s.Track)
	whole := line.At(v.Spec.Neck.Frets) - line.At(1)
	v.Sweeping = &sweepView{
		Running: s.Running, Way: show.Whole(s.WayMM, v.Unit), Of: show.Whole(whole, v.Unit) + " " + v.Unit.String(),
		Percent: min(100, int(100*s.WayMM/whole)), Readings: s.Readings,
	}
	for _, g := range v.Gauges {
		if p := v.Points[v.Next]; g.ID == p.GaugeID && g.Locked {
			return // what is to be done about it is said already
		}
	}
	v.AskedOf = "Space, the foot switch or the indicator's data key begins it"
	if s.Running {
		v.AskedOf = "Space ends the sweep, or standing still; F2 throws it away"
	}
}

// sweptOf puts a sweep in words and rows.
func sweptOf(s *bench.Swept, lengths unit.Unit) *sweptView {
	out := &sweptView{Track: inspect.Side(s.Track), Speed: show.Whole(s.SpeedMMS, lengths) + " " + lengths.String() + "/s", Radius: show.Length(s.RadiusMM, lengths)}
	good := 0
	for _, c := range s.Crowns {
		row := sweptFret{Fret: c.Fret, State: string(c.State), Note: c.Why}
		if c.State != sweep.Missing {
			row.Z, row.U, row.Off = show.Signed(c.ZMM, lengths), show.Number(2*c.UMM, lengths), show.Signed(c.OffMM, lengths)
			row.Misfit, row.Samples = show.Number(c.MisfitMM, lengths), c.Samples
		}
		if c.State == sweep.Good {
			good++
			switch {
			case !c.Taken:
				row.Note = "taken before"
			case c.FlatMM > 0:
				row.Note = "worn flat, " + show.Length(c.FlatMM, lengths) + " wide"
			}
		}
		out.Frets = append(out.Frets, row)
	}
	out.Said = fmt.Sprintf("%d of %d crowns good", good, len(s.Crowns))
	return out
}
