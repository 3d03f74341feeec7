package simulate

import (
	"errors"
	"fmt"
	"math"
)

// Rod is a neck's truss rod. Turns are positive when tightened. Turning it changes relief by MMPerTurn, except in the
// slack zone that begins EngagedTurns below where it stands, and below that zone only if it is double-acting.
type Rod struct {
	Double       bool
	MMPerTurn    float64 // fall of Bow per turn tightened; what the station has to learn
	EngagedTurns float64 // turns to loosen until it bears on nothing; 0 is a slack rod
	SlackTurns   float64 // width of the zone without effect
	TravelTurns  float64 // left in the tightening direction
	LoosenTurns  float64 // left in the loosening direction
	Stuck        bool
}

// Errors of a rod that does not do what was asked. It has not moved.
var (
	ErrStuck  = errors.New("the rod does not move; do not force it")
	ErrTravel = errors.New("the rod is at the end of its travel")
	ErrNoRod  = errors.New("this neck has no rod")
)

// centsPerMM is the rise of pitch per mm of relief taken out: about 7 cents for 0.1 mm on a plain first string
// (worked estimate of the trade, no published source).
const centsPerMM = 70

// Slack tells whether the rod bears on nothing: loosening a single-acting one then does nothing.
func (r Rod) Slack() bool {
	return r.EngagedTurns <= 0 && (!r.Double || r.EngagedTurns > -r.SlackTurns)
}

// effect is the turns that bend the neck at a place e turns above the slack zone.
func (r Rod) effect(e float64) float64 {
	switch {
	case e >= 0:
		return e
	case e > -r.SlackTurns || !r.Double:
		return 0
	}
	return e + r.SlackTurns
}

// TurnRod turns the truss rod, positive to tighten. Relief falls by the rod's effect within a few per cent, the nut goes
// with the neck, and tightening raises the pitch. On an error nothing has changed.
func (n *Neck) TurnRod(turns float64) error {
	r := &n.Rod
	switch {
	case math.IsNaN(turns) || math.IsInf(turns, 0):
		return fmt.Errorf("neck %s: %v turns is no turn", n.Serial, turns)
	case r.MMPerTurn == 0:
		return fmt.Errorf("neck %s: %w", n.Serial, ErrNoRod)
	case r.Stuck:
		return fmt.Errorf("neck %s: %w", n.Serial, ErrStuck)
	case turns > r.TravelTurns || -turns > r.LoosenTurns:
		return fmt.Errorf("neck %s: %w: %+.3f turns asked for, %.3f to tighten and %.3f to loosen are left",
			n.Serial, ErrTravel, turns, r.TravelTurns, r.LoosenTurns)
	}
	fall := r.MMPerTurn * (r.effect(r.EngagedTurns+turns) - r.effect(r.EngagedTurns)) * n.about(1, 0.03)
	r.EngagedTurns += turns
	r.TravelTurns -= turns
	r.LoosenTurns += turns
	n.bend(-fall)
	for i := range n.Strings {
		n.Strings[i].Cents += centsPerMM * fall
	}
	return nil
}

// LevelCrown takes mm off the crown of a fret: on the "bass" or "treble" side, running out to nothing at the other, or
// with side "" over its whole length.
func (n *Neck) LevelCrown(fret int, side string, mm float64) error {
	if err := n.hasFret(fret); err != nil {
		return err
	}
	if !(mm >= 0) {
		return fmt.Errorf("neck %s, fret %d: %g mm cannot be taken off", n.Serial, fret, mm)
	}
	for len(n.Crowns) < fret {
		n.Crowns = append(n.Crowns, CrownError{})
	}
	c := &n.Crowns[fret-1]
	switch side {
	case "bass":
		c.BassMM -= mm
	case "treble":
		c.TrebleMM -= mm
	case "":
		c.BassMM -= mm
		c.TrebleMM -= mm
	default:
		return fmt.Errorf("neck %s, fret %d: side %q; allowed: \"bass\", \"treble\", \"\" for the whole fret", n.Serial, fret, side)
	}
	return nil
}

// FileNutSlot lowers a string in its nut slot by mm.
func (n *Neck) FileNutSlot(number int, mm float64) error { return n.moveSlot(number, -mm) }

// RaiseNut raises a string in its nut slot by mm: the slot filled and cut again, or the nut shimmed.
func (n *Neck) RaiseNut(number int, mm float64) error { return n.moveSlot(number, mm) }

func (n *Neck) moveSlot(number int, mm float64) error {
	s, err := n.find(number)
	if err != nil {
		return err
	}
	s.SlotMM += mm
	return nil
}

// MoveSaddle raises a string at the saddle by mm, or lowers it when negative.
func (n *Neck) MoveSaddle(number int, mm float64) error {
	s, err := n.find(number)
	if err != nil {
		return err
	}
	s.SaddleMM += mm
	return nil
}

// MoveBridge raises one end of a bridge that carries all strings by mm, or lowers it when negative: wholly under the outermost string
// of that side, "bass" or "treble", running out to nothing at the other.
func (n *Neck) MoveBridge(side string, mm float64) error {
	bass, treble := n.Outer()
	from, to := treble.YSaddleMM, bass.YSaddleMM
	switch {
	case side == "treble":
		from, to = to, from
	case side != "bass":
		return fmt.Errorf("neck %s, bridge: side %q; allowed: \"bass\", \"treble\"", n.Serial, side)
	}
	for i := range n.Strings {
		n.Strings[i].SaddleMM += mm * (n.Strings[i].YSaddleMM - from) / (to - from)
	}
	return nil
}

// What a repairer can put right.
const (
	RepairHump  = "hump"
	RepairTwist = "twist"
	RepairBow   = "bow" // heat-straightened to the target relief, S-shape too, and the rod made to work
)

// Repair is the repairer's work on one defect; the tuning is gone afterwards until Retune.
func (n *Neck) Repair(kind string) error {
	switch kind {
	case RepairHump:
		n.HumpMM = 0
	case RepairTwist:
		n.TwistDeg = 0
	case RepairBow:
		n.SShapeMM = 0
		n.bend(n.TargetReliefMM - n.Bow())
		n.Rod.Stuck = false
		n.Rod.EngagedTurns = max(n.Rod.EngagedTurns, 0.5)
		n.Rod.TravelTurns = max(n.Rod.TravelTurns, 1)
		n.Rod.LoosenTurns = max(n.Rod.LoosenTurns, 1)
	default:
		return fmt.Errorf("neck %s: repair of %q; allowed: %q, %q, %q", n.Serial, kind, RepairHump, RepairTwist, RepairBow)
	}
	for i := range n.Strings {
		n.Strings[i].Cents = n.about(-30, 10)
	}
	return nil
}

// Retune brings every string back to pitch, within a cent or so.
func (n *Neck) Retune() {
	for i := range n.Strings {
		n.Strings[i].Cents = math.Max(-2, math.Min(2, n.about(0, 0.7)))
	}
}

// about is a value with the scatter of handwork; without a source of scatter, the value itself.
func (n *Neck) about(mean, sd float64) float64 {
	if n.work == nil {
		return mean
	}
	return mean + sd*n.work.NormFloat64()
}
