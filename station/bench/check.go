package bench

import (
	"context"
	"errors"
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/devices"
)

// checkRun is a guided gauge check: zero on the flat reference, then one reading of the master where there is one.
type checkRun struct {
	gauge batch.Gauge
	step  string // "zero", then "master"
	zero  float64
	raw   []byte
}

func (c *checkRun) words() string {
	if c.step == "master" {
		return fmt.Sprintf("Put the %g mm master under the %s and press its data key.", c.gauge.MasterMM, c.gauge.Name)
	}
	return fmt.Sprintf("Stand the %s on the flat reference and press its data key.", c.gauge.Name)
}

// CheckGauge begins a check of a gauge; its next readings belong to the check.
func (b *Bench) CheckGauge(_ context.Context, gaugeID string) error {
	return b.do(func() error {
		g := b.gauge(gaugeID)
		if g == nil {
			return errors.New("this gauge is not in use at the station")
		}
		if b.inspector == "" {
			return errors.New("a check is recorded under a name: choose the inspector first")
		}
		b.check = &checkRun{gauge: *g, step: "zero"}
		return nil
	})
}

// CancelCheck ends a check without a result.
func (b *Bench) CancelCheck(context.Context) error {
	return b.do(func() error {
		b.check = nil
		return nil
	})
}

// checkReading takes one reading of the running check and, after the last, records the outcome.
func (b *Bench) checkReading(ctx context.Context, r devices.Reading) error {
	c := b.check
	if c.step == "zero" {
		c.zero, c.raw = c.gauge.Correct(r.Value.MM, 0, 0), r.Raw
		if c.gauge.MasterMM > 0 {
			c.step = "master"
			return nil
		}
		return b.endCheck(ctx, nil, nil)
	}
	master := c.gauge.Correct(r.Value.MM, 0, c.zero)
	return b.endCheck(ctx, &master, r.Raw)
}

// endCheck judges and records the check. The first zero of a gauge has nothing to have shifted from.
func (b *Bench) endCheck(ctx context.Context, master *float64, raw []byte) error {
	c := b.check
	b.check = nil
	out := batch.GaugeCheck{
		GaugeID: c.gauge.ID, By: b.inspector, ZeroMM: c.zero, MasterMM: master, RawZero: c.raw, RawMaster: raw,
		Good: true, After: "asked for",
	}
	st := b.state(c.gauge.ID)
	if st.check != nil {
		out.ShiftMM = c.zero - st.check.ZeroMM
		if st.dropped.After(st.check.At) {
			out.After = "reconnection"
		}
	} else {
		out.After = "first use"
	}
	out.Why = fmt.Sprintf("zero moved by %+.3f mm", out.ShiftMM)
	if master != nil {
		e := *master - c.gauge.MasterMM
		out.ErrorMM = &e
		out.Why += fmt.Sprintf(", %+.3f mm on the %g mm master (allowed %.3f)", e, c.gauge.MasterMM, c.gauge.MasterLimitMM)
		out.Good = math.Abs(e) <= c.gauge.MasterLimitMM
	}
	if st.check != nil && out.After != "reconnection" && c.gauge.ZeroLimitMM > 0 && math.Abs(out.ShiftMM) > c.gauge.ZeroLimitMM {
		out.Good = false
		out.Why += fmt.Sprintf("; the zero may move by %.3f mm", c.gauge.ZeroLimitMM)
	}
	done, err := b.rec.AppendGaugeCheck(ctx, out)
	if err != nil {
		return err
	}
	st.check = &done
	if !done.Good {
		return fmt.Errorf("the %s failed its check: %s. It is locked out; clean its tip and the reference and check it again", c.gauge.Name, done.Why)
	}
	b.say(false, fmt.Sprintf("The %s is checked: %s.", c.gauge.Name, done.Why))
	return nil
}
