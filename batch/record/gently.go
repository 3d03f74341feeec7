package record

import (
	"context"
	"time"
)

type gently struct{}

// Gently returns a context in which VerifyAudit rests as long as it works, so that readings and pages do not wait for it.
func Gently(ctx context.Context) context.Context { return context.WithValue(ctx, gently{}, true) }

// pace rests after each stretch of work; a nil one never does.
type pace struct {
	ctx   context.Context
	began time.Time
	steps int
}

// stretch is how long it is worked at a time, and how many steps are made before the clock is asked.
const (
	stretch      = 5 * time.Millisecond
	stepsAtATime = 64
)

func paceOf(ctx context.Context) *pace {
	if ctx.Value(gently{}) == nil {
		return nil
	}
	return &pace{ctx: ctx, began: time.Now()}
}

// step is called after each row.
func (p *pace) step() {
	if p == nil {
		return
	}
	if p.steps++; p.steps%stepsAtATime != 0 {
		return
	}
	worked := time.Since(p.began)
	if worked < stretch {
		return
	}
	rest := time.NewTimer(worked)
	defer rest.Stop()
	select {
	case <-rest.C:
	case <-p.ctx.Done():
	}
	p.began = time.Now()
}
