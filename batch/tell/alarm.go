package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
)

// Shortfall is a first-pass yield below its plan: necks that passed at the first inspection of those inspected, the ends of the
// yield's interval as shares, and the plan in percent.
type Shortfall struct {
	FirstPass, Inspected int
	Low, High            float64
	PlanPercent          float64
}

// Drift is what a gauge's checks show: a master that the newest one found close to its limit (Checks 0), or checks in a row that
// went the same way on a master, or at the zero (Master nil).
type Drift struct {
	Master *batch.MasterReading
	Checks int
	Up     bool
}

// YieldAlarm says that a batch's first-pass yield lies below its plan, and what to look at.
func YieldAlarm(number string, s Shortfall) (words, lookAt string) {
	return fmt.Sprintf("The first-pass yield of %s was %.1f %% after %s (95 %% interval %.1f to %.1f), the plan is %g %%.",
			number, 100*float64(s.FirstPass)/float64(s.Inspected), Count(s.Inspected, "neck"), 100*s.Low, 100*s.High, s.PlanPercent),
		"The reasons on the batch's page say what fails first."
}

// SignalAlarm says that a test gives a signal at a neck, in the unit of its values, and what the test saw.
func SignalAlarm(number, title, serial, unit string, s spc.Signal) (words, lookAt string) {
	return fmt.Sprintf("%s of %s gives a signal at neck %s: %s.", Upper(title), number, serial, RunTest(s.Test)),
		fmt.Sprintf("%s Numbers are in %s.", Signal(s, Scale{Of: unit}), unit)
}

// UndecidedAlarm says that verdicts in a row of a batch ask to measure again, and what to look at.
func UndecidedAlarm(number string, run int) (words, lookAt string) {
	return fmt.Sprintf("%s in a row of %s ended undecided.", Count(run, "inspection"), number),
		"A value near a limit, a gauge too coarse for it, or a point that cannot be measured: the necks' pages say which."
}

// DriftAlarm says how a gauge drifts, and what to look at.
func DriftAlarm(gauge string, d Drift) (words, lookAt string) {
	way := "down"
	if d.Up {
		way = "up"
	}
	switch {
	case d.Checks == 0:
		words = fmt.Sprintf("The %s read the %g mm master %s mm off, most of the %.3f mm allowed.", gauge, d.Master.NominalMM, inspect.Number(d.Master.ErrorMM(), 3, true), d.Master.LimitMM)
	case d.Master == nil:
		words = fmt.Sprintf("The %s moves: its last %d zeros went %s each time.", gauge, d.Checks, way)
	default:
		words = fmt.Sprintf("The %s moves: its last %d checks on the %g mm master went %s each time.", gauge, d.Checks, d.Master.NominalMM, way)
	}
	return words, "The drift chart on the gauge's page; then its tip, its stand and the reference."
}
