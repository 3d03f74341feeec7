package demo

import (
	"context"
	"errors"
	"time"

	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

const (
	// hurried is how many times as fast as a hand the simulated carriage is pushed when nobody watches, with as many times
	// the frames: a sweep then takes a second and a half. watched is the same for a person at the page, who wants to see it.
	hurried = 10
	watched = 3
	// fewOpen frets after a sweep are placed one by one; more are swept again.
	fewOpen = 4
	// standing is how long the page must show the carriage at one place before the key that ends the sweep.
	standing = 300 * time.Millisecond
)

// sweep makes the sweep that the bench asks for, as an inspector would: the carriage before fret 1, the key, the push, the
// key. The few frets that a sweep left open are placed one by one.
func (h *hand) sweep(ctx context.Context, s *bench.Snapshot, p routine.Point) error {
	if s.Swept != nil && s.Swept.Track == s.Sweep.Track && len(s.Sweep.Open) <= fewOpen {
		if err := h.bench.Choose(ctx, p.Key); err != nil {
			return err
		}
		return h.press(ctx)
	}
	arrived, err := h.sim.Sweep(h.placement(s, p), h.hurry)
	if err != nil {
		return err
	}
	if err := h.bench.Take(ctx); err != nil {
		return errors.Join(err, wait(ctx, arrived))
	}
	if err := wait(ctx, arrived); err != nil {
		return err
	}
	h.seeItStand()
	if now := h.bench.Snapshot(); now.Sweep == nil || !now.Sweep.Running {
		return nil // it was thrown away, or has ended by itself, and the page says so
	}
	if err := h.bench.Take(ctx); err != nil && h.bench.Snapshot().Sweep == nil {
		return err
	}
	return nil // a refused sweep is said on the page, and made again
}

// seeItStand waits until the page shows that the carriage no longer moves: its last frames may still be on their way.
func (h *hand) seeItStand() {
	for last := -1.0; ; {
		s := h.bench.Snapshot().Sweep
		if s == nil || !s.Running || s.WayMM == last {
			return
		}
		last = s.WayMM
		time.Sleep(standing)
	}
}

// wait waits until the carriage has arrived.
func wait(ctx context.Context, arrived <-chan struct{}) error {
	late := time.NewTimer(20 * time.Second)
	defer late.Stop()
	select {
	case <-arrived:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-late.C:
		return errors.New("the simulated carriage did not arrive")
	}
}
