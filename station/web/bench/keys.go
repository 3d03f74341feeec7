package bench

import (
	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// key is one of the five big keys.
type key struct {
	Label, Press, Code, Action string
	Off                        bool
	Main                       bool
}

// keysOf are the five big keys of the stage, always in the same places.
func keysOf(s *bench.Snapshot) []key {
	take := key{Label: "Take", Press: "Space", Code: "Space", Action: "take", Main: true}
	undo := key{Label: "Take back", Press: "F2", Code: "F2", Action: "undo"}
	third := key{Label: "Cannot be measured", Press: "F3", Code: "F3", Action: "skip"}
	park := key{Label: "Park", Press: "F4", Code: "F4", Action: "park"}
	again := key{Label: "Inspect again", Press: "F6", Code: "F6", Action: "again", Off: true}
	moved := key{Label: "It was moved", Press: "F1", Code: "F1", Action: "moved"}
	switch {
	case s.Check != nil:
		undo.Label, undo.Action = "Stop the check", "cancel-check"
		third.Off, park.Off = true, true
	case s.Study != nil:
		third.Label, third.Action = "Leave the study", "leave-study"
		undo.Off, park.Off = s.Study.Taken == 0, true
	case s.Question != nil && s.Question.Rework:
		take.Off, park.Off = true, true
		undo.Label, undo.Action = "Only once", "discard"
		third.Label, third.Action = "It was done again", "use"
	case s.Question != nil && s.Question.Sure:
		take.Off, park.Off = true, true
		undo.Label, undo.Action = "Measure it again", "discard"
		third.Label, third.Action = "It is so", "use"
	case s.Question != nil && s.Question.Again:
		take.Off, park.Off = true, true
		undo.Label, undo.Action = "Leave it as it is", "discard"
		third.Label, third.Action = "Inspect it again", "use"
	case s.Question != nil:
		take.Off, park.Off = true, true // the key that takes readings answers no question
		undo.Label, undo.Action = "Discard it", "discard"
		third.Label, third.Action = "Use it", "use"
	case s.Stage == bench.Decided:
		take.Label, take.Action = "Next neck", "next"
		third.Label, third.Action = "Record rework", "show-rework"
		park.Off, again.Off = true, false
		switch { // the filled key is what comes next
		case len(s.Rework) > 0:
			take.Main, again.Main = false, true
			undo.Label = "Take rework back"
		case s.Verdict != nil && s.Verdict.Disposition == inspect.Rework:
			take.Main, third.Main = false, true
		}
	case s.Stage == bench.PersonDecides:
		take.Label, take.Action, take.Off = "A person decides", "show-decide", false
		third.Off = true
	case s.Sweep != nil && s.Sweep.Running:
		take.Label = "End the sweep"
		undo.Label = "Throw it away"
		third.Off = true
	case s.Stage == bench.Measuring:
		if s.Sweep != nil {
			take.Label = "Begin the sweep"
		}
		if s.Next >= 0 && s.Points[s.Next].Point.Kind == batch.PitchDeclared {
			take.Label = "Confirm"
		}
		if byHand(s) {
			take.Label, take.Off, take.Main = "Tap or type it", true, false
		}
		again = moved
	default:
		take.Off, undo.Off, third.Off, park.Off = true, true, true, true
	}
	return []key{take, undo, third, park, again}
}
