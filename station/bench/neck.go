package bench

import (
	"errors"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// neck is the neck on the bench. All but what a person has just chosen can be read from the record again: that is how an
// interrupted inspection goes on where it was.
type neck struct {
	routine.Attempt
	routine.Progress
	said    []string // sentences about what became of its layings since its newest reading
	verdict *batch.Verdict
	rework  []batch.ReworkAction // since the verdict, or, before the first reading, since the verdict before
	swept   *Swept               // newest sweep since the bench took the neck up
	holds   *batch.OutgoingFinding
	doubts  []batch.Doubt // that stand about it
}

// replay works out what the readings have led to. Where they cannot be judged the result before stays.
func (n *neck) replay() error {
	n.Concluded = n.verdict != nil
	p, err := n.Attempt.Replay()
	if err != nil {
		p.Measured, p.Result = n.Measured, n.Result
	}
	n.Progress = p
	return err
}

// next is the index of the point asked for, -1 when none is.
func (n *neck) next() int {
	i := n.Index(n.Chosen)
	switch {
	case n.Purpose != routine.ToMeasure && (i >= 0 || n.verdict == nil): // a crown that is chosen may need links first
		return n.Next
	case i >= 0:
		return i
	case n.verdict != nil:
		return -1
	}
	return n.Next
}

// point is the point asked for, nil when none is.
func (n *neck) point() *routine.Point {
	if i := n.next(); i >= 0 {
		return &n.Points[i]
	}
	return nil
}

// asked is the point asked for; where the verdict of a complete routine could not be recorded there is none.
func (n *neck) asked() (*routine.Point, error) {
	if p := n.point(); p != nil {
		return p, nil
	}
	return nil, batch.Conflict.Errorf("the routine of %s is complete, but its verdict is not recorded: Space tries again", n.Inspection.Serial)
}

// wants is which gauge the point asked for is measured with.
func (n *neck) wants() want {
	p := n.point()
	if p == nil {
		return want{}
	}
	return want{p.GaugeID, fmt.Sprintf("%s %s %d %d %d", n.Inspection.ID, p.Key, n.Round, n.Laying, n.Purpose)}
}

// judgeable refuses readings with which the neck could not be judged at all: a relief of more than 2 mm, however many
// small steps led there, a leaf that is none, a beam without a place.
func (n *neck) judgeable(rows ...batch.Reading) error {
	if rows[0].Withdrawn && len(rows) == 1 {
		return nil
	}
	_, _, err := n.Judge(append(n.Readings[:len(n.Readings):len(n.Readings)], rows...))
	if err == nil {
		return nil
	}
	if _, _, before := n.Judge(n.Readings); before != nil {
		return nil // it was so before: this reading may be what mends it
	}
	var faults inspect.Faults
	if errors.As(err, &faults) {
		err = fmt.Errorf("with it there would be %s; allowed is %s", faults[0].Found, faults[0].Allowed)
	}
	return batch.Mendable.Errorf("%s was not used: %w. Measure it again, or choose the point that is wrong on the drawing", tell.Point(rows[0].Point), err)
}

// shown is the neck's part of the snapshot.
func (n *neck) shown(b *Bench, s *Snapshot) {
	in := n.Inspection
	s.Serial, s.Inspection, s.Round = in.Serial, &in, n.Round
	s.Result, s.Readings, s.Verdict, s.Rework, s.Carried = n.Result, n.Measured, n.verdict, n.rework, n.Carried
	s.RodTaught = rodWords(n.Spec.Neck.Rod, n.Rod.Model, n.Measured.RodSteps)
	s.Sweep, s.Swept = n.shownSweep(b.gauges), n.swept
	s.Next, s.Taken, s.Points = n.next(), len(n.Readings), n.Points
	s.Done, s.Of, s.AfterRod, s.Following = n.Done(), n.Of(), n.AfterRod(), n.Attempt.Following(n.Points)
	s.Laying, s.OwnStep = n.Laying, n.OwnStep
	if s.Next >= 0 {
		s.Purpose, s.Because = n.Purpose, n.Why
	}
	if p := n.point(); p != nil && n.Purpose == routine.ToBeSure {
		s.Question = &Question{Point: p.Point, Words: p.Words, MM: p.Value, Sure: true, Asks: n.Why}
	}
	s.SidesFree = !n.OnBoard()
	s.Doubt, s.Hold = n.doubtWords(), n.holdWords()
	s.Leaves = b.leavesAsked(n)
	if p := n.point(); p != nil {
		s.NeedsFeet = b.needsFeet(p)
		s.Live.Lower, s.Live.Target, s.Live.Upper = n.Limits(p.Point)
	}
}

// rodWords says what the rod model rests on, "" for a neck without a rod.
func rodWords(rod string, m inspect.RodModel, own []inspect.RodStep) string {
	if rod == "none" {
		return ""
	}
	if m.Pairs == 0 && len(own) == 0 {
		usual, _ := m.NewNeck()
		return fmt.Sprintf("The rod's effect is the trade's usual %.2g mm a turn until this model has been turned and measured again.", usual)
	}
	mean, sd, taught := m.Neck(rod, own)
	words := fmt.Sprintf("The rod's effect is taken as %.2f mm a turn, give or take %.2f, from %s of this model and %d of this neck.",
		mean, 2*sd, tell.Count(m.Pairs, "rod step"), taught)
	if left := len(own) - taught; left > 0 {
		words += fmt.Sprintf(" %s of this neck went the wrong way, had no effect or went through a slack zone, and teach nothing.", tell.Count(left, "rod step"))
	}
	return words
}

// holdWords says what holds the neck on the bench, "" when nothing does.
func (n *neck) holdWords() string {
	switch {
	case n.holds == nil:
		return ""
	case n.verdict != nil && n.verdict.Disposition != inspect.Remeasure:
		return "Held: " + tell.Hold(*n.holds) + " (F6)."
	}
	return "Held: " + tell.Hold(*n.holds) + ". The verdict of this attempt ends that."
}
