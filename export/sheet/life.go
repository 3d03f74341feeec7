package sheet

import (
	"context"
	"errors"
	"slices"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/photograph"
	"sagitta/inspect"
)

// photoLonger bounds the longer side of a photograph on a sheet, pixels: 300 to the inch over a third of the page.
const photoLonger = 900

// lived reads what an instrument is beyond the visit that the sheet is of: whose it is, its strings, its newest photograph, and how it was before.
func (g *gathered) lived(ctx context.Context, rec Record, neck batch.Neck) (err error) {
	if g.instrument, err = rec.Instrument(ctx, neck.Serial); err != nil && batch.KindOf(err) != batch.Absent {
		return err
	}
	visits, err := rec.Visits(ctx, neck.Serial)
	if err != nil {
		return err
	}
	for _, v := range visits {
		if v.Neck.ID == neck.ID {
			g.visit = v
			break
		}
		before, err := gather(ctx, rec, g.Template, v.Neck.ID, v.Batch)
		if err != nil {
			return err
		}
		for i := range before.work {
			g.turnedBefore += before.work[i].SignedTurns()
		}
		if before.now != nil && sameNeck(before.spec, g.spec) {
			g.earlier = before
		}
	}
	sets, err := rec.StringSets(ctx, neck.Serial)
	if err != nil {
		return err
	}
	for _, set := range sets {
		if ended := g.visit.EndedAt; !ended.IsZero() && set.At.After(ended) {
			continue // what was put on afterwards
		}
		if slices.EqualFunc(set.Strings, g.spec.Strings, func(a, b inspect.String) bool {
			return a.Number == b.Number && a.DiameterMM == b.DiameterMM && a.PlainString == b.PlainString
		}) {
			g.set = set.Name
		}
	}
	return g.photographed(ctx, rec, neck.Serial)
}

// sameNeck says that relief along two necks is taken between the same places.
func sameNeck(a, b *inspect.Spec) bool {
	return a.Neck.Frets == b.Neck.Frets && a.Datum == b.Datum && a.Neck.Scale() == b.Neck.Scale()
}

// photographed takes the newest photograph of the visit, one of the whole instrument before others. One whose file is missing or hurt is left out: what belongs to a
// record says so itself.
func (g *gathered) photographed(ctx context.Context, rec Record, serial string) error {
	all, err := rec.Photographs(ctx, serial)
	if err != nil {
		return err
	}
	var best *batch.Photograph
	for i := range all {
		p := &all[i]
		if p.VisitID == g.visit.ID && (best == nil || p.Pin == batch.WholeInstrument || best.Pin != batch.WholeInstrument) {
			best = p
		}
	}
	if best == nil {
		return nil
	}
	small, err := photograph.Small(g.folder, best.Digest, photoLonger)
	if err != nil {
		if batch.KindOf(err) == batch.Machine || errors.Is(err, context.Canceled) {
			return ctx.Err()
		}
		return err
	}
	g.photo = &Photo{JPEG: small.JPEG, Wide: small.Width, High: small.Height}
	return nil
}

// model is what the instrument is, in words: its kind where a visit says it, else its model.
func (g *gathered) model() string {
	if g.visit.Number == 0 {
		return g.spec.Name
	}
	for _, t := range instrument.Templates() {
		if t.Name == g.instrument.Kind {
			return t.Title
		}
	}
	return g.spec.Neck.Kind
}

// wishes are the player's own words.
func (g *gathered) wishes() *Part {
	if g.visit.Wishes == "" {
		return nil
	}
	return &Part{Title: g.Words.Wishes, Lines: []string{g.visit.Wishes}}
}

func (g *gathered) photograph() *Part {
	if g.photo == nil {
		return nil
	}
	return &Part{Title: g.Words.Photo, Photo: g.photo}
}
