package bench

import (
	"context"
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// command names what somebody asks of the bench.
type command string

const (
	toOpenBatch    command = "open a batch"
	toScan         command = "bring a neck"
	toType         command = "use a value"
	toPress        command = "use a frame"
	toTake         command = "take"
	toUndo         command = "undo"
	toDeclare      command = "declare"
	toAnswer       command = "answer"
	toSkip         command = "skip"
	toChoose       command = "choose"
	toPark         command = "park"
	toGiveUp       command = "give up"
	toClear        command = "clear"
	toInspectAgain command = "again"
	toDecide       command = "decide"
	toRework       command = "rework"
	toTakeBackWork command = "take rework back"
	toMove         command = "moved"
	toMeasureWhole command = "measure whole"
	toSetHand      command = "hand"
	toStudy        command = "study"
	toLeave        command = "leave a study"
)

// rule says where a command is done.
type rule struct {
	in       []kind
	signedOn bool            // only when somebody has signed on
	alone    bool            // not while a gauge is checked
	instead  map[kind]string // what to do in another state, where advice does not say it
}

var rules = map[command]rule{
	toOpenBatch: {in: []kind{isNoBatch, isIdle, isScannedAgain, isDecided, isStudying}},
	toScan:      {in: []kind{isIdle, isScannedAgain, isDecided}, signedOn: true},
	toType:      {in: []kind{isMeasuring}},
	toPress: {in: []kind{isMeasuring, isSweeping, isStudying, isChecking}, instead: map[kind]string{
		isDecided: "scan the next neck, or inspect this one again (F6)",
	}},
	toTake: {in: []kind{isMeasuring, isSweeping, isStudying, isChecking}, instead: map[kind]string{
		isDecided: "nothing is left to take; scan the next neck",
	}},
	toUndo:         {in: []kind{isMeasuring, isScannedAgain, isQuestioned, isSweeping, isDeciding, isDecided, isDoubled, isStudying}},
	toDeclare:      {in: []kind{isMeasuring}},
	toAnswer:       {in: []kind{isMeasuring, isQuestioned, isScannedAgain, isDoubled}, instead: map[kind]string{isDeciding: "no reading is questioned", isDecided: "no reading is questioned"}},
	toSkip:         {in: []kind{isMeasuring}, instead: map[kind]string{isDeciding: "choose a point on the drawing first"}},
	toChoose:       {in: []kind{isMeasuring, isQuestioned, isDeciding}, instead: map[kind]string{isDecided: "taking the last reading back (F2) opens it again"}},
	toMove:         {in: []kind{isMeasuring, isQuestioned, isDeciding}, instead: map[kind]string{isDecided: "inspect it again (F6) where it was moved too early"}},
	toMeasureWhole: {in: []kind{isMeasuring, isQuestioned, isDeciding}, instead: map[kind]string{isDecided: "inspect it again (F6), then have everything measured"}},
	toPark:         {in: []kind{isMeasuring, isQuestioned, isSweeping, isDeciding}, instead: map[kind]string{isDecided: "nothing is left to park"}},
	toGiveUp:       {in: []kind{isMeasuring, isQuestioned, isSweeping, isDeciding}, instead: map[kind]string{isDecided: "nothing is left to give up"}},
	toClear:        {in: []kind{isNoBatch, isIdle, isScannedAgain, isDecided, isStudying}},
	toInspectAgain: {in: []kind{isDecided}, instead: map[kind]string{
		isMeasuring: "this attempt goes on", isDeciding: "decide first, or choose a point to measure it again",
	}},
	toDecide: {in: []kind{isMeasuring, isDeciding, isDecided}},
	toRework: {in: []kind{isDecided}, instead: map[kind]string{
		isMeasuring: "rework is recorded against a verdict: finish this inspection first",
		isDeciding:  "rework is recorded against a verdict: decide first",
	}},
	toTakeBackWork: {in: []kind{isMeasuring, isDecided}, instead: map[kind]string{isDeciding: "no rework step is recorded since its verdict"}},
	toSetHand:      {in: []kind{isMeasuring, isQuestioned, isDeciding}, instead: map[kind]string{isDecided: "which hand it is for is chosen before its first reading"}},
	toStudy:        {in: []kind{isNoBatch, isIdle, isScannedAgain, isDecided, isStudying}, signedOn: true, alone: true},
	toLeave:        {in: []kind{isStudying}, instead: map[kind]string{isNoBatch: "and no gauge study", isIdle: "and no gauge study"}},
}

// advice is what to do in a state about what is refused there.
var advice = map[kind]string{
	isNoBatch:      "choose one first",
	isIdle:         "scan or type its serial number",
	isMeasuring:    "finish it, or park it (F4)",
	isQuestioned:   "answer it first: F3 uses it, F2 discards it",
	isSweeping:     "end it with Space or throw it away with F2 first",
	isDeciding:     "decide, or park it (F4)",
	isDecided:      "scan the next neck, or inspect it again (F6)",
	isDoubled:      "answer it first: F3 records it again, F2 does not",
	isScannedAgain: "answer it first: F3 inspects it again, F2 leaves it as it is",
	isStudying:     "leave it before a neck is measured",
	isChecking:     "finish or stop its check first",
}

// refusal says why a command is not done in the present state, nil when it is: what is on the bench, and what to do.
func (b *Bench) refusal(c command) error {
	r, on := rules[c], b.base()
	if slices.Contains(r.in, isChecking) || r.alone {
		on = b.state
	}
	if !slices.Contains(r.in, on.kind()) {
		return b.notHere(c, on)
	}
	if r.signedOn {
		return b.signedOn()
	}
	return nil
}

// notHere is the refusal of a command in a state.
func (b *Bench) notHere(c command, on state) error {
	todo, own := rules[c].instead[on.kind()]
	if !own {
		todo = advice[on.kind()]
	}
	return batch.Conflict.Of(fmt.Errorf("%s: %s", on.here(b.words), b.words.Say(todo)))
}

// signedOn refuses what is recorded under a name while nobody works at the bench.
func (b *Bench) signedOn() error {
	if b.inspector == "" {
		return batch.Conflict.Errorf("nobody is at the bench: %s", tell.WhoIsThere(b.signsOn))
	}
	return nil
}

// does runs a command that the present state allows.
func (b *Bench) does(ctx context.Context, c command, do func() error) error {
	return b.byHand(ctx, func() error {
		if err := b.refusal(c); err != nil {
			return err
		}
		return do()
	})
}
