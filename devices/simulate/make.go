package simulate

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
)

// Make builds one neck of a scenario, 1 the first: the model, its scatter drawn from the scenario's seed, and what was
// planted. The same scenario gives the same necks.
func (s *Scenario) Make(i int) (*Neck, error) {
	if i < 1 || i > s.Necks {
		return nil, fmt.Errorf("batch %s has no neck %d; it has 1 to %d", s.Batch, i, s.Necks)
	}
	draw := source(s.Seed, s.Serial(i), "shape")
	n := s.Model.neck(s.Serial(i))
	var plan Planted
	for _, p := range s.Planted {
		if p.Neck == i {
			plan = p
		}
	}
	// One draw for every property whatever is planted, so that planting one thing leaves the rest as it was.
	vary := func(mean, sd float64, planted *float64) float64 {
		v := mean + sd*draw.NormFloat64()
		if planted != nil {
			return *planted
		}
		return v
	}
	relief := vary(s.Model.ReliefMM, s.Scatter.ReliefMM, plan.ReliefMM)
	side := vary(0, s.Scatter.SideMM, plan.SideMM)
	n.TwistDeg = vary(0, s.Scatter.TwistDeg, plan.TwistDeg)
	n.FallAwayMM = max(0, vary(s.Model.FallAwayMM, s.Scatter.FallAwayMM, plan.FallAwayMM))
	n.Rod.MMPerTurn = vary(n.Rod.MMPerTurn, s.Scatter.RodShare*n.Rod.MMPerTurn, plan.RodMMPerTurn)
	for f := range n.Crowns {
		n.Crowns[f] = CrownError{BassMM: vary(0, s.Scatter.CrownMM, nil), TrebleMM: vary(0, s.Scatter.CrownMM, nil)}
	}
	for k := range n.Strings {
		n.Strings[k].SlotMM += vary(0, s.Scatter.SlotMM, nil)
		n.Strings[k].SaddleMM += vary(0, s.Scatter.SaddleMM, nil)
		n.Strings[k].Cents = vary(0, s.Scatter.Cents, nil)
	}

	n.SShapeMM, n.HumpMM, n.Rod.Stuck = plan.SShapeMM, plan.HumpMM, plan.RodStuck
	if plan.RodEngagedTurns != nil {
		n.Rod.EngagedTurns = *plan.RodEngagedTurns
	}
	if plan.RodTravelTurns != nil {
		n.Rod.TravelTurns = *plan.RodTravelTurns
	}
	for _, c := range plan.Crowns {
		n.Crowns[c.Fret-1].BassMM += c.BassMM
		n.Crowns[c.Fret-1].TrebleMM += c.TrebleMM
	}
	for _, p := range plan.Strings {
		str, err := n.find(p.Number)
		if err != nil {
			return nil, err
		}
		str.SlotMM += p.SlotMM
		str.SaddleMM += p.SaddleMM
	}
	n.lean(side)
	n.bend(relief - n.Bow())
	n.work = source(s.Seed, n.Serial, "work")
	return n, nil
}

// source is the random source of one purpose.
func source(seed uint64, words ...string) *rand.Rand {
	h := fnv.New64a()
	for _, w := range words {
		h.Write([]byte(w))
		h.Write([]byte{0})
	}
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// neck is a neck exactly as the model has it.
func (m *Model) neck(serial string) *Neck {
	n := &Neck{
		Serial: serial, ScaleMM: m.ScaleMM, ScaleBassMM: m.ScaleMM, ScaleTrebleMM: m.ScaleMM, Frets: m.Frets, JointFret: m.JointFret, ReliefFret: m.ReliefFret,
		NutRadiusMM: m.NutRadiusMM, LastFretRadiusMM: m.LastFretRadiusMM, TargetReliefMM: m.ReliefMM,
		FallAwayMM: m.FallAwayMM, Crowns: make([]CrownError, m.Frets),
	}
	if m.ScaleMM == 0 {
		n.ScaleMM, n.ScaleBassMM, n.ScaleTrebleMM, n.PerpendicularFret = (m.ScaleBassMM+m.ScaleTrebleMM)/2, m.ScaleBassMM, m.ScaleTrebleMM, m.PerpendicularFret
	}
	if m.Rod != "none" {
		n.Rod = Rod{
			Double: m.Rod == "double", MMPerTurn: m.RodMMPerTurn, EngagedTurns: m.RodEngagedTurns,
			SlackTurns: m.RodSlackTurns, TravelTurns: m.RodTravelTurns, LoosenTurns: m.RodLoosenTurns,
		}
	}
	for _, s := range m.Strings {
		n.Strings = append(n.Strings, String{Track: Track{s.YNutMM, s.YSaddleMM}, Number: s.Number})
	}
	n.bend(m.ReliefMM - n.Bow())
	for i, s := range m.Strings {
		n.Strings[i].set(n, s.NutHeightMM, s.ActionMM)
	}
	return n
}

// set puts a string where it has the given heights over fret 1 and over fret 12: the straight line through both, produced
// to the nut and to the saddle.
func (s *String) set(n *Neck, nutHeight, action float64) {
	fret := min(12, n.Frets)
	x0, x1, xf, end := n.NutX(s.Track), n.FretOn(s.Track, 1), n.FretOn(s.Track, fret), n.SaddleX(s.Track)
	z1, zf := n.CrownOn(s.Track, 1)+nutHeight, n.CrownOn(s.Track, fret)+action
	slope := (zf - z1) / (xf - x1)
	s.SlotMM = z1 - slope*(x1-x0) - n.smooth(x0, s.YNutMM)
	s.SaddleMM = z1 + slope*(end-x1) + n.drop(end, s.YSaddleMM)
}

// lean bends the bass side more than the treble by mm of relief, found by its effect, which is proportional.
func (n *Neck) lean(mm float64) {
	side := func(per float64) float64 {
		was := n.SideCurvaturePerMM
		defer func() { n.SideCurvaturePerMM = was }()
		n.SideCurvaturePerMM = per
		return n.SideDifference()
	}
	const unit = 1e-7 // per mm^2
	none := side(0)
	n.SideCurvaturePerMM = unit * (mm - none) / (side(unit) - none)
}
