package simulate

import (
	"fmt"
	"io"
	"text/tabwriter"
)

// Truth is what is true of one neck before anybody touches it.
type Truth struct {
	Serial         string
	What           string // what was planted, in words; "" for a neck as the makers mean it
	Expect         string // the disposition its first inspection should have
	ReliefBassMM   float64
	ReliefTrebleMM float64 // both at the relief fret, over fret 1 and the joint
	TwistDeg       float64
	HumpMM         float64 // larger of the two sides
	FallAwayMM     float64 // smaller of the two sides
	RodMMPerTurn   float64
	NutMM          []float64 // open over fret 1, in the order of the model's strings
	ActionMM       []float64 // open over fret 12
}

// Truth computes the truth of every neck of the batch, in order.
func (s *Scenario) Truth() ([]Truth, error) {
	rows := make([]Truth, 0, s.Necks)
	for i := 1; i <= s.Necks; i++ {
		n, err := s.Make(i)
		if err != nil {
			return nil, err
		}
		bass, treble := n.Outer()
		row := Truth{
			Serial: n.Serial, Expect: "pass", TwistDeg: n.Twist(), RodMMPerTurn: n.Rod.MMPerTurn,
			ReliefBassMM:   n.Relief(bass, 1, n.JointFret, n.ReliefFret),
			ReliefTrebleMM: n.Relief(treble, 1, n.JointFret, n.ReliefFret),
			HumpMM:         max(n.Hump(bass), n.Hump(treble)),
			FallAwayMM:     min(n.FallAway(bass), n.FallAway(treble)),
		}
		for _, p := range s.Planted {
			if p.Neck == i {
				row.What, row.Expect = p.What, p.Expect
			}
		}
		for _, str := range n.Strings {
			nut, err := n.NutHeight(str.Number)
			if err != nil {
				return nil, err
			}
			action, err := n.Action(str.Number, min(12, n.Frets), 0)
			if err != nil {
				return nil, err
			}
			row.NutMM, row.ActionMM = append(row.NutMM, nut), append(row.ActionMM, action)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// WriteTruth writes the truth about a batch as a table for people: the simulated necks, and what the gauges get wrong.
func WriteTruth(w io.Writer, s *Scenario) error {
	rows, err := s.Truth()
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Batch %s, %s: the truth about %d simulated necks before any rework.\n", s.Batch, s.Model.Name, s.Necks)
	fmt.Fprintf(w, "Relief over frets 1 and %d, at fret %d; nut height over fret 1 and action over fret 12, open, string %d first. mm and degrees.\n\n",
		s.Model.JointFret, s.Model.ReliefFret, s.Model.Strings[0].Number)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "serial\texpected\tbass\ttreble\ttwist\thump\tfall-away\trod mm/turn\tnut height\taction\tplanted")
	for _, r := range rows {
		fmt.Fprintf(t, "%s\t%s\t%+.3f\t%+.3f\t%+.3f\t%.3f\t%+.3f\t%.3f\t%.2f\t%.2f\t%s\n", r.Serial, r.Expect,
			r.ReliefBassMM, r.ReliefTrebleMM, r.TwistDeg, r.HumpMM, r.FallAwayMM, r.RodMMPerTurn, r.NutMM, r.ActionMM, r.What)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for _, g := range s.Gauges {
		if _, err := fmt.Fprintf(w, "\nGauge %s: error %+.3f mm from the start, %+.5f mm more with every press after the first %d.\n",
			g.ID, g.BiasMM, g.DriftMM, g.DriftAfter); err != nil {
			return err
		}
	}
	return nil
}
