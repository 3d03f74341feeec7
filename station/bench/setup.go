package bench

import (
	"context"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// OpenBatch takes a batch to the bench. Refused while a neck is being measured.
func (b *Bench) OpenBatch(ctx context.Context, number string) error {
	return b.does(ctx, toOpenBatch, func() error {
		bt, err := b.shop.Batch(ctx, strings.TrimSpace(number))
		if err != nil {
			return err
		}
		return b.openBatch(ctx, bt)
	})
}

func (b *Bench) openBatch(ctx context.Context, bt batch.Batch) error {
	switch {
	case !bt.ClosedAt.IsZero() && bt.Visit > 0:
		return batch.Conflict.Errorf("%s", tell.VisitEnded(bt.Spec.Name, bt.Visit, bt.ClosedAt))
	case !bt.ClosedAt.IsZero():
		return batch.Conflict.Errorf("batch %s was closed on %s: it takes no more readings", bt.Number, bt.ClosedAt.Local().Format("2006-01-02"))
	}
	if n := b.neck(); n != nil {
		b.remember(n)
	}
	b.batch = &bt
	if b.base().kind() != isStudying {
		b.become(idle{})
	}
	return b.refreshShop(ctx)
}

// SetInspector says who works at the bench, whatever lies on it; the name must be in the record's list of people. Where people sign on, who
// calls it has proven them.
func (b *Bench) SetInspector(ctx context.Context, name string) error {
	return b.do(ctx, func() error {
		p, err := b.person(ctx, name)
		if err == nil {
			err = mayMeasure(b.words, p)
		}
		if err != nil {
			return err
		}
		if b.acted = b.now(); p.Name != b.inspector {
			b.comes(p)
		}
		return nil
	})
}

// person is somebody of the record's list by name.
func (b *Bench) person(ctx context.Context, name string) (batch.Person, error) {
	people, err := b.shop.People(ctx)
	if err != nil {
		return batch.Person{}, err
	}
	var known []string
	for _, p := range people {
		if p.Retired {
			continue
		}
		if strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			return p, nil
		}
		known = append(known, p.Name)
	}
	if len(known) == 0 {
		return batch.Person{}, batch.Conflict.Errorf("nobody is entered yet: add %s on the People page", b.words.Say("the inspector"))
	}
	return batch.Person{}, batch.Mendable.Errorf("%q is not entered on the People page; entered are %s", name, strings.Join(known, ", "))
}

// SetClimate notes the room's climate, for the neck on the bench and those that follow.
func (b *Bench) SetClimate(ctx context.Context, c inspect.Climate) error {
	return b.byHand(ctx, func() error {
		if c.TemperatureC != nil && !(*c.TemperatureC > -20 && *c.TemperatureC < 60) {
			return batch.Mendable.Errorf("temperature %g °C: a room's lies between -20 and 60 °C", *c.TemperatureC)
		}
		if c.HumidityPercent != nil && !(*c.HumidityPercent >= 0 && *c.HumidityPercent <= 100) {
			return batch.Mendable.Errorf("humidity %g %% RH: it lies between 0 and 100 %% RH", *c.HumidityPercent)
		}
		if n := b.neck(); n != nil && n.Inspection.State != batch.Finished {
			if err := b.inspections.SetClimate(ctx, b.inspector, n.Inspection.ID, c); err != nil {
				return err
			}
			n.Inspection.Climate = c
		}
		b.climate = c
		return nil
	})
}

// SetHanded chooses which hand the neck on the bench is for, "left" or "" for right, before its first reading on the
// board: the sides of a left-handed neck are mirrored, and whatever was read from the wrong side must be read again. The
// neck's later attempts begin with it.
func (b *Bench) SetHanded(ctx context.Context, handed string) error {
	return b.does(ctx, toSetHand, func() error {
		n := b.neck()
		if handed != "" && handed != "left" {
			return batch.Mendable.Errorf("%q is no hand; allowed are left, and nothing for right", handed)
		}
		if n.OnBoard() {
			return batch.Conflict.Errorf("%s has been measured already: take its readings back (F2) before its sides are mirrored", n.Inspection.Serial)
		}
		if err := b.inspections.SetHanded(context.WithoutCancel(ctx), b.inspector, n.Inspection.ID, handed); err != nil {
			return err
		}
		n.Inspection.Handed = handed
		word := "right-handed: its bass side is drawn above"
		if handed == "left" {
			word = "left-handed: its sides are mirrored"
		}
		b.say(false, fmt.Sprintf("%s is %s.", n.Inspection.Serial, word))
		err := n.replay()
		b.settle(n)
		return err
	})
}
