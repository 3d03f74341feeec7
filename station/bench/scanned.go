package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/bench/scan"
)

// What a scanned code may mean besides a neck: somebody's badge, a batch's sheet, a neck that needs no further inspection.

// badgeOf is whose badge was scanned, nil for nobody's.
func (b *Bench) badgeOf(ctx context.Context, s scan.Scan) (*batch.Person, error) {
	people, err := b.shop.People(ctx)
	for i := range people {
		if people[i].Badge != "" && !people[i].Retired && s.Is(people[i].Badge) {
			return &people[i], nil
		}
	}
	return nil, err
}

// badged has somebody measure from now on whose badge was scanned.
func (b *Bench) badged(p *batch.Person, err error) error {
	if err == nil {
		err = mayMeasure(b.words, *p)
	}
	if err != nil {
		return err
	}
	b.comes(*p)
	return nil
}

// onFile is the neck whose serial number was scanned, in any of the forms in which it may be on file.
func (b *Bench) onFile(ctx context.Context, s scan.Scan) (neck batch.Neck, found bool, err error) {
	for _, serial := range s.Forms() {
		neck, err = b.shop.Neck(ctx, serial)
		if batch.KindOf(err) != batch.Absent {
			return neck, err == nil, err
		}
	}
	return neck, false, nil
}

// registers says whether a code may register itself as a neck: it has the pattern of the batch on the bench.
func (b *Bench) registers(s scan.Scan) bool {
	for _, serial := range s.Forms() {
		if b.looksLikeSerial(serial) {
			return true
		}
	}
	return false
}

// misread says of a serial number that is not on file that its check character is not the one that it should end in, nil where the batch on the bench has
// no such characters or the text is meant for something else.
func (b *Bench) misread(s scan.Scan) error {
	if b.batch == nil || b.batch.Check == batch.NoCheck || b.stage() == Measuring && !s.Marked && !b.registers(s) {
		return nil
	}
	for _, serial := range s.Forms() {
		if b.batch.Check.Check(serial) == nil {
			return nil
		}
	}
	return b.batch.Check.Check(s.Text)
}

// register enters a neck that is not on file. The batch's pattern lets it register itself by coming to the bench.
func (b *Bench) register(ctx context.Context, s scan.Scan) (batch.Neck, error) {
	for _, serial := range s.Forms() {
		if !b.looksLikeSerial(serial) {
			continue
		}
		added, err := b.shop.AddNecks(ctx, b.inspector, b.batch.ID, []string{serial})
		if err != nil {
			return batch.Neck{}, err
		}
		return added[0], nil
	}
	return b.shop.Neck(ctx, s.Text)
}

// sheetOf is the batch whose sheet was scanned, nil for none.
func (b *Bench) sheetOf(ctx context.Context, s scan.Scan) (*batch.Batch, error) {
	for _, number := range s.Forms() {
		bt, err := b.shop.Batch(ctx, number)
		switch {
		case err == nil:
			return &bt, nil
		case batch.KindOf(err) != batch.Absent:
			return nil, err
		}
	}
	return nil, nil
}

// openSheet takes the batch to the bench whose sheet was scanned.
func (b *Bench) openSheet(ctx context.Context, bt *batch.Batch, err error) error {
	if err != nil {
		return err
	}
	if b.batch != nil && b.batch.ID == bt.ID {
		b.sounds(Accepted)
		b.say(false, "Batch "+bt.Number+" is on the bench already.")
		return nil
	}
	if err := b.refusal(toOpenBatch); err != nil {
		return fmt.Errorf("the sheet of batch %s was scanned, but %w", bt.Number, err)
	}
	if err := b.openBatch(ctx, *bt); err != nil {
		return err
	}
	b.sounds(Accepted)
	b.say(false, fmt.Sprintf("Batch %s is on the bench: %s revision %s.", bt.Number, bt.Spec.Name, bt.Spec.Revision))
	return nil
}

// meansNothing refuses what was entered while a neck is measured and is nothing that the record knows.
func (b *Bench) meansNothing(s scan.Scan) error {
	if s.Marked {
		return batch.Absent.Errorf("%q was scanned, and is no serial number, batch or badge that is on file: nothing was done", s.Text)
	}
	return batch.Mendable.Errorf(`%q is neither a value nor a serial number; a value is typed like 0.25, .25, 0,25, 0.010", 10 thou, 7/64 or 0.5 in, and with its uncertainty like 1.95 ± 0.04`, s.Text)
}

// asksAgain is what is asked before a neck is inspected once more that needs no further inspection, "" where nothing is: it was
// called back, held, or is of a lot that was rejected, or it is not through.
func (b *Bench) asksAgain(ctx context.Context, neck batch.Neck, all []batch.Inspection) (string, error) {
	v, through, err := b.through(ctx, all)
	if err != nil || !through {
		return "", err
	}
	last := all[len(all)-1]
	doubts, err := b.inspections.Doubts(ctx, batch.DoubtFilter{NeckID: neck.ID, Standing: true}) // one without readings as well
	if err != nil || len(doubts) > 0 {
		return "", err
	}
	held, err := b.inspections.HeldBy(ctx, neck.ID)
	if err != nil || held != nil {
		return "", err
	}
	if !b.counts.MayDraw() && v.Disposition != inspect.Scrap { // of a rejected lot every neck is
		return "", nil
	}
	return tell.InspectAgain(b.words, *v, last, b.clock(v.At)), nil
}

// scannedAgain is the question whether a neck that needs no further inspection is inspected once more.
type scannedAgain struct {
	serial, asks string
}

func (scannedAgain) kind() kind { return isScannedAgain }
func (s scannedAgain) here(w tell.Words) string {
	return fmt.Sprintf(w.Say("whether %s is inspected again is asked"), s.serial)
}
func (scannedAgain) wants(*Bench) want { return want{} }
func (scannedAgain) frame(b *Bench, g *batch.Gauge, r devices.Reading) error {
	return b.idly(g, r, false)
}
func (s scannedAgain) take(_ context.Context, b *Bench) error {
	return b.notHere(toTake, s)
}
func (s scannedAgain) undo(ctx context.Context, b *Bench) error { return s.answer(ctx, b, false) }

// shown is the question's part of the snapshot.
func (s scannedAgain) shown(_ *Bench, shot *Snapshot) {
	shot.Question = &Question{Words: s.serial, Again: true, Asks: s.asks}
}

// askAgain asks whether a neck is inspected once more. What had its verdict on the bench makes room.
func (b *Bench) askAgain(neck batch.Neck, asks string) {
	if n := b.neck(); n != nil {
		b.remember(n)
	}
	b.notice = nil
	b.become(scannedAgain{neck.Serial, asks})
}

// answer begins the neck's next attempt, or leaves it as it is.
func (s scannedAgain) answer(ctx context.Context, b *Bench, again bool) error {
	if !again {
		b.become(idle{})
		b.say(false, s.serial+" stays as it is.")
		return b.refreshShop(ctx)
	}
	if err := b.signedOn(); err != nil {
		return err
	}
	neck, err := b.shop.Neck(ctx, s.serial)
	if err != nil {
		return err
	}
	return b.start(ctx, neck)
}
