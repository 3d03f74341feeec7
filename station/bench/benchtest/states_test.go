package benchtest

import (
	"testing"

	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

// what each state must show.
var shows = map[string]func(*bench.Snapshot) bool{
	"no batch":     func(s *bench.Snapshot) bool { return s.Stage == bench.NoBatch },
	"idle":         func(s *bench.Snapshot) bool { return s.Stage == bench.Idle && s.Inspector == Inspector },
	"pitch":        func(s *bench.Snapshot) bool { return s.Stage == bench.Measuring && s.Next == 0 },
	"mid-neck":     func(s *bench.Snapshot) bool { return s.Stage == bench.Measuring && s.Next == 12 && s.Result != nil },
	"questioned":   func(s *bench.Snapshot) bool { return s.Question != nil && s.Question.Asks != "" },
	"refused":      func(s *bench.Snapshot) bool { return s.Notice != nil && s.Notice.Refused && s.Next == 12 },
	"gauge pulled": func(s *bench.Snapshot) bool { return s.Gauges[0].Locked && s.Notice != nil && s.Notice.Refused },
	"checking": func(s *bench.Snapshot) bool {
		return s.Check != nil && s.Check.Step == "master" && s.Next == 1 && s.Purpose == routine.ToLink
	},
	"taken up again": func(s *bench.Snapshot) bool { return s.Purpose == routine.ToLink && s.Because != "" && s.Next == 1 },
	"moved":          func(s *bench.Snapshot) bool { return s.Purpose == routine.ToLink && s.Laying == 2 },
	"closing":        func(s *bench.Snapshot) bool { return s.Purpose == routine.ToClose && s.Because != "" },
	"asked about":    func(s *bench.Snapshot) bool { return s.Purpose == routine.ToAsk && s.Question == nil },
	"is it so":       func(s *bench.Snapshot) bool { return s.Purpose == routine.ToBeSure && s.Question.Sure },
	"check failed":   func(s *bench.Snapshot) bool { return s.Check == nil && s.Doubt != "" && s.Gauges[0].Locked },
	"called back": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Idle && len(s.Waiting.InDoubt.Necks) == 1 && s.Counts.InDoubt == 1
	},
	"taken up called back": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Measuring && s.Inspection.Attempt == 1 && s.Doubt != ""
	},
	"alarm":           func(s *bench.Snapshot) bool { return len(s.Alarms) == 1 && s.AllAlarms == 1 },
	"study":           func(s *bench.Snapshot) bool { return s.Study != nil && s.Study.Taken == 1 },
	"sweep asked for": func(s *bench.Snapshot) bool { return s.Sweep != nil && !s.Sweep.Running },
	"sweeping":        func(s *bench.Snapshot) bool { return s.Sweep != nil && s.Sweep.Running },
	"leaves":          func(s *bench.Snapshot) bool { return s.Leaves != nil && !s.Leaves.Finer && s.Next == 1 },
	"leaves between":  func(s *bench.Snapshot) bool { return s.Leaves != nil && s.Leaves.Finer && s.Round == 2 },
	"passed":          verdict(inspect.Pass, ""),
	"scanned again":   func(s *bench.Snapshot) bool { return s.Stage == bench.Idle && s.Question != nil && s.Question.Again },
	"rework":          verdict(inspect.Rework, ""),
	"high fret":       verdict(inspect.Rework, ""),
	"reworked":        func(s *bench.Snapshot) bool { return verdict(inspect.Rework, "")(s) && len(s.Rework) == 1 },
	"reworked twice": func(s *bench.Snapshot) bool {
		return verdict(inspect.Rework, "")(s) && len(s.Rework) == 1 && s.Question != nil && s.Question.Rework
	},
	"begins, carried over": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Measuring && s.Inspection.Attempt == 2 && len(s.Points) == 7 && s.Next == 0 && len(s.Carried) > 0
	},
	"carried over": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Measuring && s.Inspection.Attempt == 2 && len(s.Points) == 7 && s.Next == 1 && len(s.Carried) > 0
	},
	"passed, carried over": verdict(inspect.Pass, ""),
	"repair":               verdict(inspect.Repair, Manager),
	"scrapped":             verdict(inspect.Scrap, Manager),
	"concession":           verdict(inspect.Concession, Manager),
	"round 2":              func(s *bench.Snapshot) bool { return s.Stage == bench.Measuring && s.Round == 2 },
	"undecided":            func(s *bench.Snapshot) bool { return s.Stage == bench.PersonDecides && s.Round == 3 },
	"not measured":         func(s *bench.Snapshot) bool { return s.Stage == bench.PersonDecides && s.Round == 1 },
	"parked": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Idle && len(s.Waiting.Parked) == 1 && s.Waiting.Parked[0].Taken == 12
	},
	"given up": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Idle && len(s.Waiting.Parked) == 0 && s.Notice != nil
	},
	"nobody at the bench": func(s *bench.Snapshot) bool { return s.Stage == bench.Idle && s.SignsOn && s.Inspector == "" },
	"signed off in mid-neck": func(s *bench.Snapshot) bool {
		return s.Stage == bench.Measuring && s.Next == 12 && s.Inspector == "" && s.Left != ""
	},
	"unattended": func(s *bench.Snapshot) bool { return s.Working != "" },
}

func verdict(d inspect.Disposition, by string) func(*bench.Snapshot) bool {
	return func(s *bench.Snapshot) bool {
		return s.Stage == bench.Decided && s.Verdict.Disposition == d && s.Verdict.DecidedBy == by
	}
}

// TestStates reaches every state.
func TestStates(t *testing.T) {
	if len(shows) != len(States) {
		t.Errorf("%d states, %d looked at", len(States), len(shows))
	}
	for _, s := range States {
		t.Run(s.Name, func(t *testing.T) {
			snap := s.Snapshot(t)
			if !shows[s.Name](snap) {
				t.Errorf("stage %s, next %d, round %d, verdict %+v, notice %+v", snap.Stage, snap.Next, snap.Round, snap.Verdict, snap.Notice)
			}
		})
	}
}
