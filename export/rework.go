package export

import (
	"fmt"

	"sagitta/batch"
)

// The columns of Rework.
const (
	doneSerial = iota
	doneAttempt
	doneWhat
	doneTurns
	doneDirection
	doneTrack
	doneString
	doneFret
	doneAmount
	donePredicted
	doneBefore
	doneAfter
	doneBy
	doneAt
	doneNote
)

// writeRework writes one row for each thing done to a neck between two inspections.
func (b *book) writeRework() error {
	length, u := numberFormat(b.decimals), " ("+b.unit.String()+")"
	t, err := b.newTable("Rework", []column{
		doneSerial:    {head: "Serial number", width: 17, format: textFormat},
		doneAttempt:   {head: "After attempt", width: 10, format: wholeFormat},
		doneWhat:      {head: "What was done", width: 16, format: textFormat},
		doneTurns:     {head: "Rod turns", width: 9, format: "0.000"},
		doneDirection: {head: "Direction", width: 11, format: textFormat},
		doneTrack:     {head: "Track", width: 9, format: textFormat},
		doneString:    {head: "String", width: 8, format: wholeFormat},
		doneFret:      {head: "Fret", width: 7, format: wholeFormat},
		doneAmount:    {head: "Taken off, or saddle moved up" + u, width: 14, format: length},
		donePredicted: {head: "Mean relief predicted" + u, width: 14, format: length},
		doneBefore:    {head: "Mean relief before" + u, width: 14, format: length},
		doneAfter:     {head: "Mean relief at the next inspection" + u, width: 16, format: length},
		doneBy:        {head: "By", width: 16, format: textFormat},
		doneAt:        {head: "When", width: 19, format: timeFormat},
		doneNote:      {head: "Note", width: 32, format: textFormat},
	})
	if err != nil {
		return err
	}
	n := 0
	for r, err := range b.src.EachRework(b.ctx, b.batch.ID) {
		if err != nil {
			return fmt.Errorf("after %d rows: %w", n, err)
		}
		n++
		if t.full() {
			return fmt.Errorf("%d rework actions are more than one sheet holds; allowed are %d: split the batch", n, b.opt.rowLimit-1)
		}
		if err := b.rework(t, &r); err != nil {
			return err
		}
	}
	return t.close()
}

// rework writes one row.
func (b *book) rework(t *table, r *batch.ReworkReport) error {
	t.text(doneSerial, r.Serial)
	t.put(doneAttempt, r.Attempt)
	t.text(doneWhat, r.What)
	if r.Turns != 0 {
		t.put(doneTurns, r.Turns)
	}
	t.text(doneDirection, r.Direction)
	t.text(doneTrack, r.Track)
	if r.String > 0 {
		t.put(doneString, r.String)
	}
	if r.Fret > 0 {
		t.put(doneFret, r.Fret)
	}
	if r.AmountMM != 0 {
		t.length(doneAmount, &r.AmountMM)
	}
	t.length(donePredicted, r.PredictedMM)
	before, after := r.ReliefBefore, (*float64)(nil)
	means := b.reliefs[r.Serial]
	if i := r.Attempt - 1; i >= 0 && i < len(means) {
		if before == nil {
			before = means[i]
		}
		if i+1 < len(means) {
			after = means[i+1]
		}
	}
	t.length(doneBefore, before)
	t.length(doneAfter, after)
	t.text(doneBy, r.By)
	t.time(doneAt, r.At)
	t.text(doneNote, r.Note)
	return t.write()
}
