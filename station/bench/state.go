package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/gate"
)

// state is what lies on the bench: exactly one of the types of this file, each with only what it needs. What a frame of a gauge
// and the bench's three keys do there are its methods; they are called under the bench's lock.
type state interface {
	kind() kind
	here(w tell.Words) string // what is on the bench, as the beginning of a refusal: "QM-2611-0001 is being measured"
	wants(b *Bench) want
	frame(b *Bench, g *batch.Gauge, r devices.Reading) error // with a number
	take(ctx context.Context, b *Bench) error                // Space, or the foot switch
	undo(ctx context.Context, b *Bench) error                // F2, or the foot switch held down
	shown(b *Bench, s *Snapshot)                             // its part of the snapshot
}

// kind names a state.
type kind string

// The states.
const (
	isNoBatch      kind = "no batch"      // a batch must be chosen
	isIdle         kind = "idle"          // waiting for a serial number
	isMeasuring    kind = "measuring"     // a point is asked for, in its turn or chosen
	isQuestioned   kind = "questioned"    // a reading waits for a person's answer
	isSweeping     kind = "sweeping"      // a carriage is on its way along the neck
	isDeciding     kind = "deciding"      // the routine is complete, something is undecided or not measured, and a person must decide
	isDecided      kind = "decided"       // the verdict is recorded
	isScannedAgain kind = "scanned again" // whether a neck that needs no further inspection is inspected again waits for a person's answer
	isDoubled      kind = "doubled"       // a rework step was recorded already: whether it was done again waits for a person's answer
	isStudying     kind = "studying"      // a gauge study has the gauges
	isChecking     kind = "checking"      // a gauge is checked; what was on the bench waits beneath
)

// want is which gauge's reading is waited for ("" for none) and what it would be used for, a name that changes with it.
type want struct{ gauge, purpose string }

type noBatch struct{ empty }

type idle struct{ empty }

type measuring struct{ *neck }

type questioned struct {
	*neck
	question questionedReading
}

type sweeping struct {
	*neck
	run *sweepRun
}

type deciding struct{ *neck }

type decided struct{ *neck }

type doubled struct {
	*neck
	step batch.ReworkAction
	asks string
}

type studying struct{ *studyRun }

type checking struct {
	*gate.Check
	then    []string // gauges to be checked after this one
	beneath state    // never checking
}

func (noBatch) kind() kind    { return isNoBatch }
func (idle) kind() kind       { return isIdle }
func (measuring) kind() kind  { return isMeasuring }
func (questioned) kind() kind { return isQuestioned }
func (sweeping) kind() kind   { return isSweeping }
func (deciding) kind() kind   { return isDeciding }
func (decided) kind() kind    { return isDecided }
func (doubled) kind() kind    { return isDoubled }
func (studying) kind() kind   { return isStudying }
func (checking) kind() kind   { return isChecking }

func (noBatch) here(w tell.Words) string   { return w.Say("no batch is open on the bench") }
func (idle) here(w tell.Words) string      { return w.Say("no neck is on the bench") }
func (s measuring) here(tell.Words) string { return s.Inspection.Serial + " is being measured" }
func (s questioned) here(tell.Words) string {
	return fmt.Sprintf("a reading of %s is questioned (%s)", s.Inspection.Serial, s.question.Words)
}
func (s sweeping) here(tell.Words) string {
	return fmt.Sprintf("a sweep along the %s of %s is running", inspect.Side(s.run.track), s.Inspection.Serial)
}
func (s deciding) here(tell.Words) string {
	return s.Inspection.Serial + " waits for a person's decision"
}
func (s decided) here(tell.Words) string { return s.Inspection.Serial + " has its verdict" }
func (s doubled) here(tell.Words) string {
	return fmt.Sprintf("whether %s was done twice on %s is asked", tell.ReworkStep(s.step, unit.Millimetre), s.Inspection.Serial)
}
func (s studying) here(tell.Words) string {
	return "a study of the " + s.gauge.Name + " is on the bench"
}
func (s checking) here(tell.Words) string { return "the " + s.Gauge.Name + " is being checked" }

func (noBatch) wants(*Bench) want      { return want{} }
func (idle) wants(*Bench) want         { return want{} }
func (s measuring) wants(*Bench) want  { return s.neck.wants() }
func (s questioned) wants(*Bench) want { return s.neck.wants() }
func (s sweeping) wants(*Bench) want   { return s.neck.wants() }
func (deciding) wants(*Bench) want     { return want{} }
func (decided) wants(*Bench) want      { return want{} }
func (doubled) wants(*Bench) want      { return want{} }
func (s studying) wants(*Bench) want {
	return want{s.gauge.ID, fmt.Sprintf("study %s %d", s.study.ID, len(s.standing))}
}
func (s checking) wants(*Bench) want {
	n, _ := s.Place()
	return want{s.Gauge.ID, fmt.Sprintf("check %s %d", s.Gauge.ID, n)}
}
