package record

import (
	"context"
	"time"
)

type gently struct{}

// Gently returns a context in which VerifyAudit rests as long as it works, so that readings and pages do not wait for it.
func Gently(ctx context.Context) context.Context { return resting(ctx, rest) }

// resting returns a context in which VerifyAudit calls a function after each stretch of work, with how long it worked.
func resting(ctx context.Context, rest func(ctx context.Context, worked time.Duration)) context.Context {
	return context.WithValue(ctx, gently{}, rest)
}

func rest(ctx context.Context, worked time.Duration) {
	timer := time.NewTimer(worked)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}

// pace rests after each stretch of work; a nil one never does.
type pace struct {
	ctx   context.Context
	rest  func(ctx context.Context, worked time.Duration)
	began time.Time
	steps int
}

// stretch is how long it is worked at a time, and how many steps are made before the clock is asked.
const (
	stretch      = 5 * time.Millisecond
	stepsAtATime = 64
)

func paceOf(ctx context.Context) *pace {
	rest, _ := ctx.Value(gently{}).(func(ctx context.Context, worked time.Duration))
	if rest == nil {
		return nil
	}
	return &pace{ctx: ctx, rest: rest, began: time.Now()}
}

// step is called after each row.
func (p *pace) step() {
	if p == nil {
		return
	}
	if p.steps++; p.steps%stepsAtATime == 0 && time.Since(p.began) >= stretch {
		p.pause()
	}
}

// pause rests now.
func (p *pace) pause() {
	p.rest(p.ctx, time.Since(p.began))
	p.began = time.Now()
}
