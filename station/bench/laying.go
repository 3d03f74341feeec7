package bench

import (
	"context"
	"fmt"
	"math"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/laying"
	"sagitta/station/bench/routine"
)

// Moved says that the neck or the carriage was moved: its laying ends, and links are asked for before the next crown.
func (b *Bench) Moved(ctx context.Context) error {
	return b.does(ctx, toMove, func() error {
		n := b.neck()
		if err := b.layingEnds(context.WithoutCancel(ctx), n, batch.Interruption{Kind: batch.SaidToBeMoved}); err != nil {
			return err
		}
		b.say(false, n.withSaid("Noted: "+n.Inspection.Serial+" or the carriage was moved."))
		return nil
	})
}

// layingEnds notes that the neck on the bench, or the carriage, may lie otherwise from now on, and by what. A crown that is questioned was read in
// the laying before: it is not used.
func (b *Bench) layingEnds(ctx context.Context, n *neck, by batch.Interruption) error {
	if n == nil {
		return nil
	}
	if q, on := b.base().(questioned); on && ofLaying(q.question.Point.Kind) {
		b.settle(n)
	}
	n.swept = nil
	n.LayDown(b.now(), by)
	was := b.base()
	if err := b.advance(ctx, n); err != nil {
		return err
	}
	if q, on := was.(questioned); on && b.base().kind() == isMeasuring {
		b.become(questioned{n, q.question})
	}
	return nil
}

// ofLaying says that a kind of point's height depends on how the neck lies.
func ofLaying(k batch.Kind) bool { return k == batch.Crown || k == batch.Closing }

// advance replays the readings and puts the neck where they have brought it. What no longer counts because of layings is recorded, and
// what became of the crowns of earlier layings is said.
func (b *Bench) advance(ctx context.Context, n *neck) error {
	linking, before := n.Laid.State == batch.Linking, len(n.said)
	err := n.replay()
	if err == nil && n.Chosen == "" { // choosing a point is no reading yet
		err = b.endLayings(ctx, n)
	}
	if err == nil && linking && n.Laid.State == batch.LinksAgree {
		n.said = append(n.said, tell.Carried(&n.Laid))
	}
	b.settle(n)
	if len(n.said) > before {
		b.say(false, n.withSaid(""))
	}
	return err
}

// endLayings records what no longer counts until nothing of the kind is left; where something moved a new laying begins.
func (b *Bench) endLayings(ctx context.Context, n *neck) error {
	for n.End != nil {
		e := n.End
		rows := e.Rows(n.Inspection.ID, b.inspector, n.Laying)
		if len(rows) > 0 {
			kept, err := b.inspections.AppendReadings(context.WithoutCancel(ctx), rows)
			if err != nil {
				return fmt.Errorf("what no longer counts of %s was NOT noted: %w. It is noted with the next reading", n.Inspection.Serial, err)
			}
			n.Readings = append(n.Readings, kept...)
		}
		n.said = append(n.said, e.Why)
		n.verdict, n.swept = nil, nil
		if e.Moved {
			n.LayDown(b.now(), batch.Interruption{Kind: batch.SeenToMove})
		}
		if err := n.replay(); err != nil {
			return err
		}
		if len(rows) == 0 { // nothing was left to note
			return nil
		}
	}
	return nil
}

// askedNow is the point asked for, once what no longer counts is noted.
func (b *Bench) askedNow(ctx context.Context, n *neck) (*routine.Point, error) {
	if err := b.endLayings(ctx, n); err != nil {
		return nil, err
	}
	return n.asked()
}

// goesOn says how far a neck is that is taken up again.
func (n *neck) goesOn() string {
	if len(n.said) == 0 {
		return fmt.Sprintf("goes on where it was: %d of %d points are done.", n.Done(), len(n.Points))
	}
	return fmt.Sprintf("goes on with %d of %d points done.", n.Done(), len(n.Points))
}

// withSaid is a notice with what was said of layings before it.
func (n *neck) withSaid(text string) string {
	return strings.TrimSpace(strings.Join(append([]string{text}, n.said...), " "))
}

// between is what came between the last reading of a neck that is taken up again and now.
func (b *Bench) between(in batch.Inspection) batch.Interruption {
	by := batch.Interruption{Kind: batch.NeckTaken}
	other := ""
	if b.previous != nil {
		other = b.previous.serial
	}
	if n := b.neck(); n != nil {
		other = n.Inspection.Serial
	}
	switch {
	case other != "" && other != in.Serial:
		by.Kind, by.Of = batch.OtherNeck, other
	case b.studied != "":
		by.Kind, by.Of = batch.StudyBetween, b.studied
	case in.State == batch.Parked:
		by.Kind = batch.NeckParked
	}
	was, is := in.Climate.HumidityPercent, b.climate.HumidityPercent
	if was != nil && is != nil && math.Abs(*was-*is) > laying.MostHumidity {
		by.Changed = fmt.Sprintf("the humidity changed by %.0f %% RH", math.Abs(*was-*is))
	}
	return by
}

// sure says whether the crown that was asked about, and measured again as before, is so.
func (s measuring) sure(ctx context.Context, b *Bench, so bool) error {
	if s.Purpose != routine.ToBeSure {
		return batch.Conflict.Errorf("%s: no reading is questioned", s.here(b.words))
	}
	if !so {
		return b.undoLast(ctx, s.neck)
	}
	row := s.SaidSo(&s.Progress, b.inspector)
	row.At = b.now()
	return b.keep(ctx, s.neck, "that it is so was NOT recorded", []batch.Reading{row})
}
