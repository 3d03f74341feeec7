package bench

import (
	"context"
	"errors"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/bench/gate"
)

// handIdle is how long whoever is at the bench may do nothing before they are signed off, where people sign on.
const handIdle = 30 * time.Minute

// hand is who is at the bench: every row that is written there carries the name.
type hand struct {
	inspector string // "" for nobody
	came      time.Time
	acted     time.Time // when they last did anything here
	signsOn   bool      // people sign on; else whoever is named stays until somebody else is
	left      string    // sentence: why nobody is there any more, "" where nobody was or somebody is
}

// readPeople reads whether people sign on. Who was only named, or has no right to measure any more, is not at the bench then.
func (b *Bench) readPeople(ctx context.Context) error {
	on, err := b.shop.PeopleSignOn(ctx)
	if err != nil {
		return err
	}
	began := on && !b.signsOn
	b.signsOn = on
	if !on || b.inspector == "" {
		return nil
	}
	if _, err := b.person(ctx, b.inspector); began || err != nil {
		b.goes("")
	}
	return nil
}

// readHouse reads for whom the record is kept: in whose words the bench speaks.
func (b *Bench) readHouse(ctx context.Context) error {
	house, err := b.shop.House(ctx)
	if err == nil {
		b.words = tell.WordsOf(house)
	}
	return err
}

// mayMeasure refuses at the bench who may not measure.
func mayMeasure(w tell.Words, p batch.Person) error {
	if p.May(batch.Measure) {
		return nil
	}
	return batch.Forbidden.Errorf("%s is entered as %s, who may not %s", p.Name, w.Role(p.Role), w.Say(batch.Measure))
}

// ReloadShop is told that people changed, whether they sign on, or for whom the record is kept.
func (b *Bench) ReloadShop(ctx context.Context) error {
	return b.do(ctx, func() error { return errors.Join(b.readPeople(ctx), b.readHouse(ctx)) })
}

// comes has somebody work at the bench from now on, whatever lies on it; what was measured before stays under the name that it has.
func (b *Bench) comes(p batch.Person) {
	before := b.inspector
	now := b.now()
	b.inspector, b.came, b.acted, b.left = p.Name, now, now, ""
	serial := ""
	if n := b.neck(); n != nil && n.verdict == nil {
		serial = n.Inspection.Serial
	}
	b.sounds(Accepted)
	b.say(false, tell.SignedOn(p.Name, before, serial))
}

// goes has nobody work at the bench from now on, and says why. What lies on it stays.
func (b *Bench) goes(why string) {
	b.inspector, b.left = "", why
}

// SignOff ends somebody's work at the bench; nothing where somebody else is there.
func (b *Bench) SignOff(ctx context.Context, name string) error {
	return b.do(ctx, func() error {
		if b.inspector == name && name != "" {
			b.goes(tell.SignedOff(name))
		}
		return nil
	})
}

// handEnds signs whoever is at the bench off once they did nothing for long, or their shift is over.
func (b *Bench) handEnds() {
	if !b.signsOn || b.inspector == "" {
		return
	}
	now := b.now()
	switch began := gate.ShiftBegan(b.shifts, now); {
	case began.After(b.came):
		b.goes(tell.ShiftOver(b.inspector, b.clock(began)))
	case now.Sub(b.acted) >= handIdle:
		b.goes(tell.HandIdle(b.inspector, int(handIdle.Minutes())))
	}
}

// atHand refuses what nobody does, and notes that whoever is at the bench did something. Where nobody signs on only what is recorded under a
// name needs one: see signedOn.
func (b *Bench) atHand() error {
	if !b.signsOn {
		return nil
	}
	if err := b.signedOn(); err != nil {
		return err
	}
	b.acted = b.now()
	return nil
}

// byHand runs what whoever is at the bench does.
func (b *Bench) byHand(ctx context.Context, command func() error) error {
	return b.do(ctx, func() error {
		if err := b.atHand(); err != nil {
			return err
		}
		return command()
	})
}
