package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
)

// Shortfall is what a batch has less of than planned: necks that passed at the first inspection, or that did not fail it by one
// characteristic, and the plan of those in percent.
type Shortfall struct {
	Reason            string // the characteristic, "" for the first-pass yield
	Passed, Inspected int
	PlanPercent       float64
}

// Watch is how many characteristics are watched together, and in how many necks of a steady batch they give one false alarm.
type Watch struct {
	Characteristics int
	Every           float64
}

// Drift is what a gauge's checks show: a master that the newest one found close to its limit (Checks 0), or checks in a row that
// went the same way on a master, or at the zero (Master nil).
type Drift struct {
	Master *batch.MasterReading
	Checks int
	Up     bool
}

// YieldAlarm says that a batch does worse than its plan, at what price that is said, and what to look at.
func YieldAlarm(number string, s Shortfall) (words, lookAt string) {
	share := 100 / float64(s.Inspected)
	lookAt = "The reasons on the batch's page say what fails first."
	if s.Reason == "" {
		words = fmt.Sprintf("The first-pass yield of %s was %.1f %% after %s, the plan is %g %%.", number, share*float64(s.Passed), Count(s.Inspected, "neck"), s.PlanPercent)
	} else {
		words = fmt.Sprintf("%.1f %% of %s of %s failed the first inspection by %s, the plan is %g %% at most.", share*float64(s.Inspected-s.Passed), Count(s.Inspected, "neck"), number, inspect.Name(s.Reason), 100-s.PlanPercent)
		lookAt = "The necks behind this reason on the batch's page."
	}
	return words + fmt.Sprintf(" Of 100 batches that meet their plan, %.0f at most is ever said to be below it.", 100*spc.Alpha), lookAt
}

// SignalAlarm says that there is a signal at a neck, in the unit of its values, what was seen, and how often chance gives such an alarm.
func SignalAlarm(number, title, serial, unit string, s spc.Signal, w Watch) (words, lookAt string) {
	what := RunTest(s.Test)
	if s.Chart == spc.EWMAKind {
		what = ChartName(s.Chart)
	}
	words = fmt.Sprintf("%s of %s gives a signal at neck %s: %s.", Upper(title), number, serial, what)
	together := fmt.Sprintf("The %d characteristics watched give", w.Characteristics)
	if w.Characteristics == 1 {
		together = "The one characteristic watched gives"
	}
	return words, fmt.Sprintf("%s Numbers are in %s. %s one false alarm in about %s of a steady batch, or more.", Signal(s, Scale{Of: unit}), unit, together, Count(int(rounded(w.Every)), "neck"))
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
