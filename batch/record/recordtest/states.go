package recordtest

import (
	"context"
	"iter"
	"slices"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// State is a state that a batch can have, in words.
type State string

// The states. Every batch has ten necks.
const (
	Open      State = "open"       // four passed, one waits for rework, one is being inspected, four have not been inspected
	AllPassed State = "all passed" // and nothing else happened
	SomeHeld  State = "some held"  // all passed; an outgoing audit accepted the lot and found one of five necks nonconforming
	InDoubt   State = "in doubt"   // all passed, two of them on readings of a gauge that failed its next check
	Audited   State = "audited"    // all passed; an outgoing audit is open and has looked at none of its five necks
	Rejected  State = "rejected"   // all passed; an outgoing audit found two of five nonconforming, which rejected the lot
	HalfAgain State = "half again" // rejected; five of its necks, the two held ones with them, were inspected again and passed
	AllAgain  State = "all again"  // rejected; one neck was inspected again and is scrap, the others passed again
	Stated    State = "stated"     // rejected; a quality manager stated what was done with the lot, no neck was inspected again
	Redrawn   State = "redrawn"    // rejected; all passed again and a new sample is drawn, its audit open
	Accepted  State = "accepted"   // redrawn and accepted; a neck that was not drawn was inspected again since
	Closed    State = "closed"     // nine passed, one is scrap; the batch is closed
	Imported  State = "imported"   // all came from a file: eight passed, one by concession, one waits for rework
)

// States are all of them.
var States = []State{Open, AllPassed, SomeHeld, InDoubt, Audited, Rejected, HalfAgain, AllAgain, Stated, Redrawn, Accepted, Closed, Imported}

// necks is how many a batch has.
const necks = 10

// In is a shop whose batch is in a state.
func In(t testing.TB, state State) *Shop {
	t.Helper()
	serials := Serials(necks)
	if state == Imported {
		s := New(t)
		s.take(serials)
		return s
	}
	s := New(t, serials...)
	ctx := context.Background()
	switch state {
	case Open:
		s.Pass(serials[:4]...)
		s.Verdict(s.Start(serials[4]), inspect.Rework, 0.5)
		s.Read(s.Start(serials[5]), 1, 0.02)
	case InDoubt:
		s.Check(true)
		for _, serial := range serials[:2] {
			in := s.Start(serial)
			s.Read(in, 1, 0.02)
			s.Verdict(in, inspect.Pass, 0.3)
		}
		s.Pass(serials[2:]...)
		s.Check(false)
	case Closed:
		s.Pass(serials[1:]...)
		s.Scrap(serials[0])
		if err := s.CloseBatch(ctx, Manager, Number); err != nil {
			t.Fatal(err)
		}
	default:
		s.Pass(serials...)
		s.audit(state)
	}
	return s
}

// audit takes a batch whose necks all passed through outgoing audits into a state.
func (s *Shop) audit(state State) {
	s.Helper()
	switch state {
	case SomeHeld:
		s.Sign(s.Draw(), 1)
	case Audited:
		s.Draw()
	case Accepted:
		s.reject()
		s.Pass(Serials(necks)...)
		again := s.Draw()
		s.Sign(again, 0)
		s.Pass(undrawn(again))
	case Rejected, HalfAgain, AllAgain, Stated, Redrawn:
		s.rejected(state)
	}
}

// rejected takes a batch whose necks all passed into a state after its lot was rejected.
func (s *Shop) rejected(state State) {
	s.Helper()
	a := s.reject()
	serials := Serials(necks)
	drawn := []string{a.Necks[0].Serial, a.Necks[1].Serial}
	others := slices.DeleteFunc(slices.Clone(serials), func(serial string) bool { return slices.Contains(drawn, serial) })
	switch state {
	case HalfAgain:
		s.Pass(append(drawn, others[:3]...)...)
	case AllAgain:
		s.Scrap(others[0])
		s.Pass(append(drawn, others[1:]...)...)
	case Stated:
		Must(s.ReleaseLot(context.Background(), Manager, a.ID, "sorted by hand; two nuts cut deeper"))(s)
	case Redrawn:
		s.Pass(serials...)
		s.Draw()
	}
}

// reject has an outgoing audit find two of its necks nonconforming, which rejects the lot.
func (s *Shop) reject() batch.OutgoingAudit {
	s.Helper()
	a := s.Draw()
	s.Sign(a, 2)
	return a
}

// Scrap inspects a neck, which a quality manager finds to be scrap.
func (s *Shop) Scrap(serial string) {
	s.Helper()
	Must(s.AppendVerdict(context.Background(), batch.Verdict{InspectionID: s.Start(serial).ID, Result: Result(serial, inspect.Repair, 0.9), Disposition: inspect.Scrap,
		DecidedBy: Manager, Reason: "cracked at the heel"}))(s)
}

// undrawn is the first neck of an audit's lot that was not drawn.
func undrawn(a batch.OutgoingAudit) string {
	drawn := map[string]bool{}
	for _, n := range a.Necks {
		drawn[n.Serial] = true
	}
	for _, serial := range a.Lot {
		if !drawn[serial] {
			return serial
		}
	}
	return ""
}

// take takes the necks in from a file, with their past.
func (s *Shop) take(serials []string) {
	s.Helper()
	now := Clock()
	var stories iter.Seq2[batch.Story, error] = func(yield func(batch.Story, error) bool) {
		for i, serial := range serials {
			d, by, reason := inspect.Pass, "", ""
			switch i {
			case 0:
				d, by, reason = inspect.Concession, Manager, "told to the customer"
			case 1:
				d = inspect.Rework
			}
			relief := 0.3
			if d != inspect.Pass {
				relief = 0.4
			}
			at := now()
			v := batch.Verdict{At: at, Result: Result(serial, d, relief), Disposition: d, DecidedBy: by, Reason: reason}
			if !yield(batch.Story{Serial: serial, Attempts: []batch.StoryAttempt{{Inspector: Inspector, StartedAt: at, Posture: "playing", Verdicts: []batch.Verdict{v}}}}, nil) {
				return
			}
		}
	}
	Must(s.AppendStories(context.Background(), Manager, batch.Import{BatchID: s.Batch.ID, Origin: batch.Imported, Source: "old.csv", SHA256: "0123"}, stories))(s)
}
