package record

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/sampling"
)

// readyNecks returns the serial numbers of a batch's ready necks, those that batch.Counts.Ready counts, in their order.
func readyNecks(ctx context.Context, q querier, batchID string) ([]string, error) {
	return list(ctx, q, func(s scanner) (serial string, err error) { return serial, s.Scan(&serial) },
		`SELECT n.serial FROM ready_necks r CROSS JOIN necks n ON n.id = r.neck_id WHERE r.batch_id = ? ORDER BY n.serial`, batchID)
}

// DrawOutgoing begins an audit of a batch as a says (By, BatchID, AQL, Level, Severity, Corrected): it draws the plan's
// number of necks from those that are ready and keeps lot, seed and sample. ErrState: an audit of the model is open, whose
// result decides how severe this one is, the lot was rejected and may not be drawn from (see batch.Counts.MayDraw), or inspection
// by sampling is discontinued and nothing was corrected; ErrInput: a plan that does not exist, fewer than two necks, a severity that is less strict than the switching rules ask for;
// ErrUnknown: no such batch.
func (db *DB) DrawOutgoing(ctx context.Context, a batch.OutgoingAudit) (batch.OutgoingAudit, error) {
	const what = "drawing an outgoing audit's sample"
	if a.By = strings.TrimSpace(a.By); a.By == "" {
		return a, fmt.Errorf("%s: %w: nobody is named", what, ErrInput)
	}
	seed := make([]byte, 16)
	if _, err := rand.Read(seed); err != nil {
		return a, fmt.Errorf("%s: %w", what, err)
	}
	a.Seed = hex.EncodeToString(seed)
	err := db.write(ctx, what, func(t *tx) error {
		if err := t.may(a.By, batch.Audit); err != nil {
			return err
		}
		b, err := findBatch(ctx, t, `WHERE b.id = ?`, a.BatchID)
		if err != nil {
			return err
		}
		if err := t.plan(&a, b.Spec.Name); err != nil {
			return err
		}
		if a.ID, err = newID(); err != nil {
			return err
		}
		drawn := sampling.Draw(a.Lot, a.Plan.N, a.Seed)
		if err := t.exec(`INSERT INTO outgoing_audits (id, station, at, by, batch_id, aql, level, severity, proposed, corrected, again, code, n, accept, reject, seed, lot_size, lot)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, a.ID, t.station, nanos(t.at), a.By, a.BatchID, a.AQL, a.Level, a.Severity, a.Proposed, a.Corrected, a.Again,
			a.Plan.Code, a.Plan.N, a.Plan.Accept, a.Plan.Reject, a.Seed, len(a.Lot), strings.Join(a.Lot, "\n")); err != nil {
			return err
		}
		for _, serial := range drawn {
			id, err := newID()
			if err != nil {
				return err
			}
			if err := t.exec(`INSERT INTO outgoing_necks (id, station, at, by, audit_id, neck_id) SELECT ?, ?, ?, ?, ?, id FROM necks WHERE serial = ? AND batch_id = ?`,
				id, t.station, nanos(t.at), a.By, a.ID, serial, a.BatchID); err != nil {
				return err
			}
		}
		if err := t.audit(a.By, "outgoing audit drawn", b.Number, fmt.Sprintf("%d of %d necks, AQL %g, level %s, %s, accept %d, reject %d, seed %s, lot sha256 %s", len(drawn), len(a.Lot),
			a.AQL, a.Level, a.Severity, a.Plan.Accept, a.Plan.Reject, a.Seed, sumOf([]byte(strings.Join(a.Lot, "\n"))))); err != nil {
			return err
		}
		a, err = findOutgoing(t.ctx, t, a.ID)
		return err
	})
	return a, err
}

// plan fills in what an audit's draw follows from: the lot, what the switching rules propose, and the plan.
func (t *tx) plan(a *batch.OutgoingAudit, model string) error {
	if a.AQL > sampling.MostPercent {
		return fmt.Errorf("%w: AQL: found %g; allowed: %d at most, for it is a percentage of nonconforming necks", ErrInput, a.AQL, sampling.MostPercent)
	}
	before, err := list(t.ctx, t, scanOutgoing, selectOutgoing+`WHERE s.name = ? ORDER BY a.ord`, model)
	if err != nil {
		return err
	}
	for _, o := range before {
		if o.State == batch.OutgoingOpen {
			return fmt.Errorf("%w: the audit of %s, of the same model, is open, and its result decides how severe this one is; sign it or give it up first", ErrState, o.BatchNumber)
		}
	}
	var c batch.Counts
	if err := countLots(t.ctx, t, map[string]*batch.Counts{a.BatchID: &c}, a.BatchID); err != nil {
		return err
	}
	if !c.MayDraw() {
		return fmt.Errorf("%w: the lot was rejected on %s, and %d of the %d necks left of it were inspected again since; inspect the others again, or a quality manager states what was done with the lot",
			ErrState, c.Audit.EndedAt.Local().Format(time.DateOnly), c.LeftAgain, c.Left)
	}
	a.Again = c.Lot() == batch.OutgoingRejected
	if a.Corrected {
		before = append(before, batch.OutgoingAudit{AQL: a.AQL, Corrected: true, State: batch.OutgoingOpen})
	}
	st, err := batch.Switching(before, a.AQL)
	if err != nil {
		return err
	}
	a.Proposed = st.Next
	if a.Proposed == sampling.Discontinued {
		return fmt.Errorf("%w: inspection by sampling is discontinued at this AQL: check every neck, put the cause right and say so", ErrState)
	}
	strict := []sampling.Severity{sampling.Reduced, sampling.Normal, sampling.Tightened}
	if slices.Index(strict, a.Severity) < slices.Index(strict, a.Proposed) {
		return fmt.Errorf("%w: severity: found %q; allowed: %s, or a stricter one", ErrInput, a.Severity, a.Proposed)
	}
	if a.Again && a.Severity == sampling.Reduced {
		return fmt.Errorf("%w: severity: found reduced for a lot that was rejected before; allowed: normal, tightened", ErrInput)
	}
	if a.Lot, err = readyNecks(t.ctx, t, a.BatchID); err != nil {
		return err
	}
	if a.Plan, err = sampling.Lookup(len(a.Lot), a.AQL, a.Level, a.Severity); err != nil {
		return fmt.Errorf("%w: %v", ErrInput, err)
	}
	return nil
}

// AppendOutgoingFindings keeps what was found on drawn necks (By, AuditID, NeckID, Conforms, Note, InspectionID), all of it or
// nothing; each replaces an earlier one of its neck. ErrInput: nobody named, or nonconforming without a note or an inspection
// that says why; ErrState: the audit has ended; ErrUnknown: no such audit, neck or inspection.
func (db *DB) AppendOutgoingFindings(ctx context.Context, findings ...batch.OutgoingFinding) ([]batch.OutgoingFinding, error) {
	const what = "recording an outgoing audit's findings"
	kept := slices.Clone(findings)
	err := db.write(ctx, what, func(t *tx) error {
		for i := range kept {
			if err := t.may(kept[i].By, batch.Measure); err != nil {
				return err
			}
			if err := t.finding(&kept[i]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return kept, nil
}

// finding keeps one finding and fills in its ID and At.
func (t *tx) finding(f *batch.OutgoingFinding) (err error) {
	f.By, f.Note = strings.TrimSpace(f.By), strings.TrimSpace(f.Note)
	switch {
	case f.By == "":
		return fmt.Errorf("%w: nobody is named", ErrInput)
	case !f.Conforms && f.Note == "" && f.InspectionID == "":
		return fmt.Errorf("%w: a note is missing: say what does not conform", ErrInput)
	}
	if _, err := t.openOutgoing(f.AuditID); err != nil {
		return err
	}
	var serial string
	if err := t.row(`SELECT n.serial FROM outgoing_necks d JOIN necks n ON n.id = d.neck_id WHERE d.audit_id = ? AND d.neck_id = ?`, f.AuditID, f.NeckID).Scan(&serial); err != nil {
		return unknown(err, "drawn neck", f.NeckID)
	}
	if f.InspectionID != "" {
		var neck string
		if err := t.row(`SELECT neck_id FROM inspections WHERE id = ? AND neck_id = ?`, f.InspectionID, f.NeckID).Scan(&neck); err != nil {
			return unknown(err, "inspection of "+serial, f.InspectionID)
		}
	}
	if f.ID, err = newID(); err != nil {
		return err
	}
	f.At = t.at
	if err := t.exec(`INSERT INTO outgoing_findings (id, station, at, by, audit_id, neck_id, conforms, note, inspection_id) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		f.ID, t.station, nanos(t.at), f.By, f.AuditID, f.NeckID, f.Conforms, f.Note, optional(f.InspectionID)); err != nil {
		return err
	}
	found := "conforming"
	if !f.Conforms {
		found = "nonconforming"
	}
	return t.audit(f.By, "outgoing audit: "+found, serial, f.Note)
}

// SignOutgoing ends an audit with what its findings make of the lot and returns it without lot and sample; mayReduce and unsteady are as in sampling.Lot. ErrInput:
// nobody named, or mayReduce of an unsteady production; ErrState: it has ended, or a drawn neck has not been looked at;
// ErrUnknown: no such audit.
func (db *DB) SignOutgoing(ctx context.Context, by, id string, mayReduce, unsteady bool, note string) (batch.OutgoingAudit, error) {
	const what = "signing an outgoing audit"
	if mayReduce && unsteady {
		return batch.OutgoingAudit{}, fmt.Errorf("%s: %w: production was not steady, so reduced inspection may not follow", what, ErrInput)
	}
	return db.endOutgoing(ctx, what, by, id, note, func(t *tx, a *batch.OutgoingAudit) error {
		if err := t.may(a.EndedBy, batch.SignAudit); err != nil {
			return err
		}
		if err := t.notMeasured(a.EndedBy, batch.SignAudit, `SELECT neck_id FROM outgoing_necks WHERE audit_id = ?`, a.ID); err != nil {
			return err
		}
		if left := a.Size() - a.Found; left > 0 {
			return fmt.Errorf("%w: %d of %d drawn necks have not been looked at", ErrState, left, a.Size())
		}
		a.State, a.MayReduce, a.Unsteady = a.Judge(), mayReduce, unsteady
		return nil
	})
}

// GiveUpOutgoing ends an audit without a result and returns it like SignOutgoing; it does not count for the switching rules. ErrInput: nobody named or no
// reason; ErrState: it has ended; ErrUnknown: no such audit.
func (db *DB) GiveUpOutgoing(ctx context.Context, by, id, reason string) (batch.OutgoingAudit, error) {
	const what = "giving up an outgoing audit"
	if strings.TrimSpace(reason) == "" {
		return batch.OutgoingAudit{}, fmt.Errorf("%s: %w: a reason is missing", what, ErrInput)
	}
	return db.endOutgoing(ctx, what, by, id, reason, func(t *tx, a *batch.OutgoingAudit) error {
		if err := t.may(a.EndedBy, batch.Audit); err != nil {
			return err
		}
		a.State = batch.OutgoingGivenUp
		return nil
	})
}

// endOutgoing keeps an audit's end, once.
func (db *DB) endOutgoing(ctx context.Context, what, by, id, note string, end func(*tx, *batch.OutgoingAudit) error) (a batch.OutgoingAudit, err error) {
	if by = strings.TrimSpace(by); by == "" {
		return a, fmt.Errorf("%s: %w: nobody is named", what, ErrInput)
	}
	note = strings.TrimSpace(note)
	err = db.write(ctx, what, func(t *tx) error {
		if a, err = t.openOutgoing(id); err != nil {
			return err
		}
		a.EndedBy = by
		if err := end(t, &a); err != nil {
			return err
		}
		key, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO outgoing_results (id, station, at, by, audit_id, state, nonconforming, may_reduce, unsteady, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			key, t.station, nanos(t.at), by, id, a.State, a.Nonconforming, a.MayReduce, a.Unsteady, note); err != nil {
			return err
		}
		if err := t.audit(by, "outgoing audit "+string(a.State), a.BatchNumber, fmt.Sprintf("%d of %d nonconforming; %s", a.Nonconforming, a.Found, note)); err != nil {
			return err
		}
		a, err = scanOutgoing(t.row(selectOutgoing+`WHERE a.id = ?`, id))
		return err
	})
	return a, err
}

// ReleaseLot keeps what a quality manager states was done with the lot that an audit rejected, and returns the audit without lot
// and sample. ErrInput: nothing is stated, or by is no quality manager; ErrState: the batch's lot does not stand rejected under the
// audit, or this was stated before; ErrUnknown: no such audit.
func (db *DB) ReleaseLot(ctx context.Context, by, auditID, done string) (a batch.OutgoingAudit, err error) {
	const what = "stating what was done with a rejected lot"
	by, done = strings.TrimSpace(by), strings.TrimSpace(done)
	if done == "" {
		return a, fmt.Errorf("%s: %w: what was done is missing", what, ErrInput)
	}
	err = db.write(ctx, what, func(t *tx) error {
		if a, err = scanOutgoing(t.row(selectOutgoing+`WHERE a.id = ?`, auditID)); err != nil {
			return unknown(err, "outgoing audit", auditID)
		}
		var rejected bool
		if err := t.row(`SELECT EXISTS (SELECT 1 FROM lots WHERE audit_id = ? AND state = ?)`, a.ID, batch.OutgoingRejected).Scan(&rejected); err != nil {
			return err
		}
		switch {
		case !rejected:
			return fmt.Errorf("%w: the lot of batch %s does not stand rejected by this audit", ErrState, a.BatchNumber)
		case a.Release != nil:
			return fmt.Errorf("%w: %s stated it on %s", ErrState, a.Release.By, a.Release.At.Local().Format(time.DateOnly))
		}
		if err := t.entitled(by, batch.SignAudit); err != nil {
			return err
		}
		if err := t.may(by, batch.SignAudit); err != nil {
			return err
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO lot_releases (id, station, at, by, audit_id, done) VALUES (?, ?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), by, a.ID, done); err != nil {
			return err
		}
		if err := t.audit(by, "rejected lot released for another draw", a.BatchNumber, done); err != nil {
			return err
		}
		a, err = scanOutgoing(t.row(selectOutgoing+`WHERE a.id = ?`, a.ID))
		return err
	})
	return a, err
}

// openOutgoing is an audit that has not ended, without its lot and its sample.
func (t *tx) openOutgoing(id string) (batch.OutgoingAudit, error) {
	a, err := scanOutgoing(t.row(selectOutgoing+`WHERE a.id = ?`, id))
	if err = unknown(err, "outgoing audit", id); err == nil && a.State != batch.OutgoingOpen {
		err = fmt.Errorf("%w: the audit is %s since %s", ErrState, a.State, a.EndedAt.Local().Format("2006-01-02"))
	}
	return a, err
}
