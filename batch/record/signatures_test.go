package record_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

// signing turns signing on on in a shop: the manager is its administrator.
func signing(t *testing.T, s *recordtest.Shop) {
	t.Helper()
	ctx := t.Context()
	if err := s.IssueCode(ctx, batch.AtTheMachine, "", "digest of a code", recordtest.Clock()().AddDate(1, 0, 0)); err != nil {
		t.Fatal(err)
	}
	recordtest.Must(s.UseCode(ctx, "digest of a code", recordtest.Manager, map[batch.SecretKind]string{batch.Password: "hash"}))(t)
	recordtest.Must(s.AddPerson(sealed(t, recordtest.Manager), recordtest.Manager, "Edda Lind", batch.QualityManager))(t)
}

// sealed is a context that carries the seals of some people.
func sealed(t *testing.T, by ...string) context.Context {
	var seals []batch.Seal
	for _, name := range by {
		seals = append(seals, batch.Seal{By: name, Reason: "it plays well"})
	}
	return batch.WithSeals(t.Context(), seals...)
}

// refusedBy checks an act's refusal.
func refusedBy(t *testing.T, what string, err, kind error, words string) {
	t.Helper()
	if !errors.Is(err, kind) || !strings.Contains(err.Error(), words) {
		t.Errorf("%s: %v, want %v: %q", what, err, kind, words)
	}
}

// A concession is granted by a quality manager who did not measure the neck, with the own password, and where the specification asks for two, with a
// second one's, who did not measure it either; both signatures are kept with what was granted.
func TestConcessionsAreSigned(t *testing.T) {
	serial := recordtest.Serials(1)[0]
	s := recordtest.NewBy(t, strings.Replace(recordtest.Spec, "[neck]", "[routine]\ntwo_sign = true\n[neck]", 1), serial)
	in := s.Start(serial)
	read := func(by string, fret int) {
		t.Helper()
		recordtest.Must(s.AppendReading(t.Context(), batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: fret}, Value: 0.1, U: 0.005, By: by}))(t)
	}
	read(recordtest.Inspector, 1)
	s.Verdict(in, inspect.Rework, 0.4)
	grant := func(ctx context.Context, by string) error {
		_, err := s.AppendVerdict(ctx, batch.Verdict{InspectionID: in.ID, Result: recordtest.Result(serial, inspect.Rework, 0.4), Disposition: inspect.Concession, DecidedBy: by, Reason: "it plays well"})
		return err
	}
	signing(t, s)
	refusedBy(t, "an inspector", grant(sealed(t, recordtest.Inspector), recordtest.Inspector), record.ErrMayNot, "who may not grant a concession; this takes a quality manager")
	refusedBy(t, "without a password", grant(t.Context(), recordtest.Manager), record.ErrUnproven, "Mara Quill gives their own password")
	refusedBy(t, "by somebody else's", grant(sealed(t, "Edda Lind"), recordtest.Manager), record.ErrUnproven, "Mara Quill gives their own password")
	refusedBy(t, "alone", grant(sealed(t, recordtest.Manager), recordtest.Manager), record.ErrUnproven, "a second person gives their name and password")
	refusedBy(t, "with an inspector", grant(sealed(t, recordtest.Manager, recordtest.Inspector), recordtest.Manager), record.ErrMayNot, recordtest.Inspector)
	read("Edda Lind", 2)
	refusedBy(t, "by who measured", grant(sealed(t, "Edda Lind", recordtest.Manager), "Edda Lind"), record.ErrMayNot, "Edda Lind measured "+serial)
	refusedBy(t, "with who measured", grant(sealed(t, recordtest.Manager, "Edda Lind"), recordtest.Manager), record.ErrMayNot, "Edda Lind measured "+serial)
	recordtest.Must(s.AddPerson(sealed(t, recordtest.Manager), recordtest.Manager, "Nils Arvo", batch.QualityManager))(t)
	if err := grant(sealed(t, recordtest.Manager, "Nils Arvo"), recordtest.Manager); err != nil {
		t.Fatal(err)
	}
	signed := recordtest.Must(s.Signatures(t.Context(), serial+", attempt 1"))(t)
	if len(signed) != 2 || signed[0].By != recordtest.Manager || signed[0].Second || signed[1].By != "Nils Arvo" || !signed[1].Second ||
		signed[0].Meaning != batch.Concede || signed[0].Reason != "it plays well" || signed[0].Digest != signed[1].Digest || len(signed[0].Digest) != 64 {
		t.Errorf("signatures: %+v", signed)
	}
	if err := s.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
}

// An outgoing audit is signed by who did not measure any of its necks.
func TestAuditsAreSignedByWhoDidNotMeasure(t *testing.T) {
	s := recordtest.New(t, recordtest.Serials(8)...)
	for i, serial := range recordtest.Serials(8) {
		in := s.Start(serial)
		by := recordtest.Inspector
		if i == 0 {
			by = recordtest.Manager
		}
		recordtest.Must(s.AppendReading(t.Context(), batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: 1}, Value: 0.1, U: 0.005, By: by}))(t)
		s.Verdict(in, inspect.Pass, 0.3)
	}
	signing(t, s)
	drawn, err := s.DrawOutgoing(t.Context(), batch.OutgoingAudit{By: recordtest.Inspector, BatchID: s.Batch.ID, AQL: 10, Level: "II", Severity: sampling.Normal})
	refusedBy(t, "drawn by an inspector", err, record.ErrMayNot, "who may not draw outgoing audits")
	drawn = recordtest.Must(s.DrawOutgoing(t.Context(), batch.OutgoingAudit{By: "Edda Lind", BatchID: s.Batch.ID, AQL: 0.65, Level: "II", Severity: sampling.Normal}))(t)
	held := false
	for _, n := range drawn.Necks {
		held = held || n.Serial == recordtest.Serials(1)[0]
		recordtest.Must(s.AppendOutgoingFindings(t.Context(), batch.OutgoingFinding{By: recordtest.Inspector, AuditID: drawn.ID, NeckID: n.NeckID, Conforms: true}))(t)
	}
	if !held {
		t.Fatalf("the neck that the manager measured is not among the %d drawn", len(drawn.Necks))
	}
	sign := func(by string) error {
		_, err := s.SignOutgoing(sealed(t, by), by, drawn.ID, false, false, "")
		return err
	}
	refusedBy(t, "by an inspector", sign(recordtest.Inspector), record.ErrMayNot, "this takes a quality manager")
	refusedBy(t, "by who measured one", sign(recordtest.Manager), record.ErrMayNot, "Mara Quill measured "+recordtest.Serials(1)[0])
	if err := sign("Edda Lind"); err != nil {
		t.Error(err)
	}
}

// Who is retired acts no more, whether people sign on or not, and nobody else gets the name or one like it.
func TestRetiredPeopleDoNotAct(t *testing.T) {
	for _, on := range []bool{true, false} {
		s := recordtest.New(t, recordtest.Serials(1)...)
		if on {
			signing(t, s)
		}
		by := sealed(t, recordtest.Manager, recordtest.Repairer)
		if err := s.SetRole(by, recordtest.Manager, recordtest.Repairer, batch.QualityManager, false); err != nil {
			t.Fatal(err)
		}
		if err := s.Retire(by, recordtest.Manager, recordtest.Repairer); err != nil {
			t.Fatal(err)
		}
		refusedBy(t, "closing", s.CloseBatch(by, recordtest.Repairer, s.Batch.Number), record.ErrMayNot, recordtest.Repairer+" is retired, so may not close a batch")
		_, err := s.AddPerson(by, recordtest.Manager, recordtest.Repairer, batch.Inspector)
		refusedBy(t, "the name again", err, record.ErrExists, "is retired, and what they did carries the name")
		_, err = s.AddPerson(by, recordtest.Manager, "T0ve Aske", batch.Inspector)
		refusedBy(t, "a name like it", err, record.ErrExists, "")
		refusedBy(t, "a badge", s.SetBadge(by, recordtest.Manager, recordtest.Repairer, "TA-17"), record.ErrUnknown, "is retired")
	}
}

// Where nobody signs on, whoever is named acts, as the record always did.
func TestWithoutSigningOnNobodyIsAsked(t *testing.T) {
	s := recordtest.New(t, recordtest.Serials(1)...)
	if err := s.CloseBatch(t.Context(), "Somebody", s.Batch.Number); err != nil {
		t.Error(err)
	}
	if signed := recordtest.Must(s.Signatures(t.Context(), s.Batch.Number))(t); len(signed) > 0 {
		t.Errorf("signed: %+v", signed)
	}
}

// signed are who signed, with what it means and about what.
func signedWords(t *testing.T, all []batch.Signature, err error) (words []string) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range all {
		as := ""
		if g.Second {
			as = " second"
		}
		if len(g.Digest) != 64 || g.At.IsZero() {
			t.Errorf("signature %+v", g)
		}
		words = append(words, g.By+as+": "+string(g.Meaning)+", "+g.About+", "+g.Reason)
	}
	return words
}

// One act on several necks is signed for each of them, with the digest of the whole; where nobody signs on nothing is.
func TestAGroupIsSignedNeckByNeck(t *testing.T) {
	for _, on := range []bool{true, false} {
		s := recordtest.In(t, recordtest.InDoubt)
		if on {
			recordtest.SignsOn(t, s.DB, recordtest.Manager)
		}
		var group []batch.NeckDoubts
		var serials []string
		for _, d := range recordtest.Must(s.Doubts(t.Context(), batch.DoubtFilter{Standing: true}))(t) {
			group, serials = append(group, batch.NeckDoubts{NeckID: d.Neck.ID, Doubts: []string{d.ID}}), append(serials, d.Neck.Serial)
		}
		if len(group) < 2 {
			t.Fatalf("%d necks are in doubt", len(group))
		}
		if err := s.ClearDoubts(sealed(t, recordtest.Manager), recordtest.Manager, "measured on the granite", group); err != nil {
			t.Fatal(err)
		}
		digests := map[string]bool{}
		for _, serial := range serials {
			all, err := s.Signatures(t.Context(), serial)
			var want []string
			if on {
				want = []string{recordtest.Manager + ": clear necks of doubt, " + serial + ", it plays well"}
			}
			if got := signedWords(t, all, err); !slices.Equal(got, want) {
				t.Errorf("people sign on %v: signed %q, want %q", on, got, want)
			}
			for _, g := range all {
				digests[g.Digest] = true
			}
		}
		if on != (len(digests) == 1) {
			t.Errorf("people sign on %v: %d digests", on, len(digests))
		}
	}
}

// Whose name begins as another's neck does not lend it signatures.
func TestSignaturesAreOfOneNeck(t *testing.T) {
	s := recordtest.New(t, recordtest.Serials(1)...)
	signing(t, s)
	recordtest.Must(s.AddNecks(t.Context(), recordtest.Manager, s.Batch.ID, []string{"QM-2611-00010"}))(t)
	in := s.Start("QM-2611-00010")
	if _, err := s.AppendVerdict(sealed(t, "Edda Lind"), batch.Verdict{InspectionID: in.ID, Result: recordtest.Result(in.Serial, inspect.Rework, 0.9), Disposition: inspect.Concession, DecidedBy: "Edda Lind", Reason: "agreed"}); err != nil {
		t.Fatal(err)
	}
	for serial, want := range map[string]int{"QM-2611-0001": 0, "QM-2611-00010": 1} {
		if all := recordtest.Must(s.Signatures(t.Context(), serial))(t); len(all) != want {
			t.Errorf("%s has %d signatures, want %d", serial, len(all), want)
		}
	}
}

// Beneath the pages too, only who may measure begins an inspection, records rework or registers a neck, where people sign on.
func TestWhoMeasures(t *testing.T) {
	s := recordtest.New(t, recordtest.Serials(1)...)
	signing(t, s)
	by := sealed(t, recordtest.Manager)
	recordtest.Must(s.AddPerson(by, recordtest.Manager, "Ada Wren", batch.Viewer))(t)
	neck := recordtest.Must(s.Neck(t.Context(), recordtest.Serials(1)[0]))(t)
	start := func(name string) error {
		_, err := s.StartInspection(t.Context(), batch.Inspection{NeckID: neck.ID, Inspector: name, Posture: "playing"})
		return err
	}
	rework := func(name string) error {
		_, err := s.AppendRework(t.Context(), batch.ReworkAction{NeckID: neck.ID, By: name, What: inspect.StepRod, Turns: 0.25, Direction: "tighten"})
		return err
	}
	register := func(name string) error {
		_, err := s.AddNecks(t.Context(), name, s.Batch.ID, []string{"QM-2611-0900"})
		return err
	}
	for what, act := range map[string]func(string) error{"an inspection": start, "rework": rework, "registering": register} {
		refusedBy(t, what, act("Ada Wren"), record.ErrMayNot, "Ada Wren is entered as viewer, who may not measure and record rework")
		refusedBy(t, what, act("Somebody"), record.ErrInput, "Somebody is not entered")
		if err := act(recordtest.Inspector); err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
}
