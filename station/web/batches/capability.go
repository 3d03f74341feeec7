package batches

import (
	"context"
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// capabilityView is how a characteristic's first measurements lie between the limits.
type capabilityView struct {
	Sentence string
	Rows     [][2]string
	Why      []string // what to know of these numbers
	Problem  string
}

// capabilityOf judges first measurements against the newest limits. Those from a time in which their gauge may have read wrong are
// left out, and what was measured after rework is only counted.
func (s *server) capabilityOf(ctx context.Context, b batch.Batch, named batch.Named, title string, points []batch.SeriesPoint, lengths unit.Unit) (capabilityView, error) {
	if len(points) == 0 {
		return capabilityView{Problem: tooFewNecks}, nil
	}
	spans, err := s.opt.Record.BadSpans(ctx)
	if err != nil {
		return capabilityView{}, err
	}
	again, between, err := s.opt.Record.Reworked(ctx, b.ID, named, points[0].At)
	if err != nil {
		return capabilityView{}, err
	}
	sound, doubtful := split(points, spans)
	v := capabilityOfSound(named, title, sound, lengths)
	if n := len(doubtful); n > 0 {
		v.Why = append(v.Why, tell.LeftOut(n, outside(doubtful)))
	}
	if again > 0 {
		v.Why = append(v.Why, tell.AfterRework(again, between))
	}
	return v, nil
}

const tooFewNecks = "Capability needs at least two necks with this value."

// split tells points apart by whether they are in doubt, or were measured while their gauge may have read wrong and nobody cleared them.
func split(points []batch.SeriesPoint, spans []batch.BadSpan) (sound, doubtful []batch.SeriesPoint) {
	for _, p := range points {
		if p.InDoubt || !p.Cleared && slices.ContainsFunc(spans, func(s batch.BadSpan) bool { return s.Holds(p.GaugeID, p.At) }) {
			doubtful = append(doubtful, p)
		} else {
			sound = append(sound, p)
		}
	}
	return sound, doubtful
}

// outside counts the points beyond their limits.
func outside(points []batch.SeriesPoint) (n int) {
	for _, p := range points {
		if p.Lower != nil && *p.Value < *p.Lower || p.Upper != nil && *p.Value > *p.Upper {
			n++
		}
	}
	return n
}

func capabilityOfSound(named batch.Named, title string, points []batch.SeriesPoint, lengths unit.Unit) capabilityView {
	if len(points) < 2 {
		return capabilityView{Problem: tooFewNecks}
	}
	last := points[len(points)-1]
	if last.Lower == nil && last.Upper == nil {
		return capabilityView{Problem: "This characteristic has no limit to be capable of."}
	}
	x := show.ValuesOf(points)
	r, err := spc.Capability(x, spc.CapabilityOptions{Limits: spc.Limits{Lower: last.Lower, Upper: last.Upper}, Target: last.Target,
		Bounded: !inspect.KindOf(named.Name).Signed, Effective: true})
	if err != nil {
		return capabilityView{Problem: "There is no capability: " + err.Error() + "."}
	}
	in := named.Unit
	number := func(v float64) string { return show.Value(v, in, lengths, false) + " " + show.UnitOf(in, lengths) }
	v := capabilityView{Rows: [][2]string{{"Outside the limits, counted", tell.Outside(r)}}}
	if predicted := tell.Predicted(r); predicted != "" {
		v.Rows = append(v.Rows, [2]string{"Outside the limits, predicted", predicted})
	}
	v.Rows = append(v.Rows, [2]string{"Necks", fmt.Sprint(r.N)}, [2]string{"Mean", number(r.Mean)},
		[2]string{tell.Upper(tell.SigmaInside) + ", " + tell.SigmaFrom(r), number(r.SigmaWithin)}, [2]string{tell.Upper(tell.SigmaOfAll), number(r.SigmaOverall)})
	for _, line := range tell.Indices(r) {
		v.Rows = append(v.Rows, [2]string{line.Name + ", " + line.Of, line.Index + " (95 % interval " + line.Interval + ")"})
	}
	if r.Normality != nil {
		v.Rows = append(v.Rows, [2]string{"Test of normality", tell.Normality(*r.Normality)})
	}
	v.Sentence, v.Why = tell.Capability(r, title, "neck", func(number int) string { return points[number-1].Serial })
	return v
}
