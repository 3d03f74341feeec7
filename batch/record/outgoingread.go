package record

import (
	"context"
	"strings"

	"sagitta/batch"
)

// newestFinding joins what counts of the findings on a drawn neck d: the newest.
const newestFinding = `LEFT JOIN outgoing_findings f ON f.ord = (SELECT max(ord) FROM outgoing_findings WHERE audit_id = d.audit_id AND neck_id = d.neck_id) `

const outgoingColumns = `a.id, a.at, a.by, a.batch_id, b.number, s.name, a.aql, a.level, a.severity, a.proposed, a.corrected, a.again, a.code, a.n, a.accept, a.reject, a.seed, a.lot_size,
	coalesce(r.state, 'open'), coalesce(r.at, 0), coalesce(r.by, ''), coalesce(r.note, ''), coalesce(r.may_reduce, 0), coalesce(r.unsteady, 0),
	coalesce(e.at, 0), coalesce(e.by, ''), coalesce(e.done, ''),
	(SELECT count(f.ord) FROM outgoing_necks d ` + newestFinding + `WHERE d.audit_id = a.id),
	(SELECT count(f.ord) FROM outgoing_necks d ` + newestFinding + `WHERE d.audit_id = a.id AND f.conforms = 0)`

const fromOutgoing = ` FROM outgoing_audits a JOIN batches b ON b.id = a.batch_id JOIN specs s ON s.id = b.spec_id LEFT JOIN outgoing_results r ON r.audit_id = a.id
	LEFT JOIN lot_releases e ON e.ord = (SELECT min(ord) FROM lot_releases WHERE audit_id = a.id) `

const selectOutgoing = `SELECT ` + outgoingColumns + fromOutgoing

// outgoingRow is an audit as its columns give it.
type outgoingRow struct {
	batch.OutgoingAudit
	release             batch.LotRelease
	at, ended, released int64
}

func (r *outgoingRow) into() []any {
	a := &r.OutgoingAudit
	return []any{&a.ID, &r.at, &a.By, &a.BatchID, &a.BatchNumber, &a.Model, &a.AQL, &a.Level, &a.Severity, &a.Proposed, &a.Corrected, &a.Again, &a.Plan.Code, &a.Plan.N, &a.Plan.Accept, &a.Plan.Reject,
		&a.Seed, &a.LotSize, &a.State, &r.ended, &a.EndedBy, &a.Note, &a.MayReduce, &a.Unsteady, &r.released, &r.release.By, &r.release.Done, &a.Found, &a.Nonconforming}
}

func (r *outgoingRow) audit() batch.OutgoingAudit {
	a := r.OutgoingAudit
	a.At, a.EndedAt, a.Plan.CheckAll = instant(r.at), instant(r.ended), a.Plan.N >= a.LotSize
	if r.released != 0 {
		r.release.At = instant(r.released)
		a.Release = &r.release
	}
	return a
}

func scanOutgoing(s scanner) (batch.OutgoingAudit, error) {
	var r outgoingRow
	err := s.Scan(r.into()...)
	return r.audit(), err
}

// LeftOfLot returns the serial numbers of the necks of a batch's rejected lot that were not inspected again, in their order; none
// where the lot does not stand rejected. See batch.Counts.Left.
func (db *DB) LeftOfLot(ctx context.Context, batchID string) ([]string, error) {
	all, err := list(ctx, db.reader, func(s scanner) (serial string, err error) { return serial, s.Scan(&serial) },
		`SELECT serial FROM rejected_necks WHERE batch_id = ? AND again = 0 ORDER BY serial`, batchID)
	return all, translate(err, "reading what is left of a rejected lot")
}

// OutgoingAudit returns an audit with its lot and its sample. ErrUnknown where there is none of that ID.
func (db *DB) OutgoingAudit(ctx context.Context, id string) (batch.OutgoingAudit, error) {
	a, err := findOutgoing(ctx, db.reader, id)
	return a, translate(err, "reading an outgoing audit")
}

func findOutgoing(ctx context.Context, q querier, id string) (batch.OutgoingAudit, error) {
	a, err := scanOutgoing(q.QueryRowContext(ctx, selectOutgoing+`WHERE a.id = ?`, id))
	if err != nil {
		return a, unknown(err, "outgoing audit", id)
	}
	var lot string
	if err := q.QueryRowContext(ctx, `SELECT lot FROM outgoing_audits WHERE id = ?`, id).Scan(&lot); err != nil {
		return a, err
	}
	a.Lot = strings.Split(lot, "\n")
	a.Necks, err = list(ctx, q, func(s scanner) (n batch.OutgoingNeck, err error) {
		var f batch.OutgoingFinding
		var at int64
		err = s.Scan(append([]any{&n.NeckID, &n.Serial}, findingInto(&f, &at)...)...)
		n.Finding = findingOf(f, at)
		return n, err
	}, `SELECT d.neck_id, n.serial, `+findingColumns+` FROM outgoing_necks d JOIN necks n ON n.id = d.neck_id `+newestFinding+`WHERE d.audit_id = ? ORDER BY n.serial`, id)
	return a, err
}

const findingColumns = `coalesce(f.id, ''), coalesce(f.at, 0), coalesce(f.by, ''), coalesce(f.audit_id, ''), coalesce(f.neck_id, ''), coalesce(f.conforms, 0), coalesce(f.note, ''), coalesce(f.inspection_id, '')`

func findingInto(f *batch.OutgoingFinding, at *int64) []any {
	return []any{&f.ID, at, &f.By, &f.AuditID, &f.NeckID, &f.Conforms, &f.Note, &f.InspectionID}
}

// findingOf is a finding, nil where the join found none.
func findingOf(f batch.OutgoingFinding, at int64) *batch.OutgoingFinding {
	if f.ID == "" {
		return nil
	}
	f.At = instant(at)
	return &f
}

// OutgoingAudits returns a batch's audits without their lots and samples, the newest first.
func (db *DB) OutgoingAudits(ctx context.Context, batchID string) ([]batch.OutgoingAudit, error) {
	all, err := list(ctx, db.reader, scanOutgoing, selectOutgoing+`WHERE a.batch_id = ? ORDER BY a.ord DESC`, batchID)
	return all, translate(err, "reading a batch's outgoing audits")
}

// ModelAudits returns the audits of all batches of a model, by its specification's name, in the order of their draws,
// without their lots and samples; of all models where model is empty.
func (db *DB) ModelAudits(ctx context.Context, model string) ([]batch.OutgoingAudit, error) {
	all, err := list(ctx, db.reader, scanOutgoing, selectOutgoing+`WHERE s.name = ?1 OR ?1 = '' ORDER BY a.ord`, model)
	return all, translate(err, "reading a model's outgoing audits")
}

// DrawnIn returns the audits that a neck was drawn in, the oldest first, each with what was found on it.
func (db *DB) DrawnIn(ctx context.Context, neckID string) ([]batch.DrawnIn, error) {
	all, err := list(ctx, db.reader, func(s scanner) (d batch.DrawnIn, err error) {
		var r outgoingRow
		var f batch.OutgoingFinding
		var found int64
		err = s.Scan(append(r.into(), findingInto(&f, &found)...)...)
		return batch.DrawnIn{OutgoingAudit: r.audit(), Finding: findingOf(f, found)}, err
	}, `SELECT `+outgoingColumns+`, `+findingColumns+fromOutgoing+`JOIN outgoing_necks d ON d.audit_id = a.id `+newestFinding+`WHERE d.neck_id = ? ORDER BY a.ord`, neckID)
	return all, translate(err, "reading a neck's outgoing audits")
}

// HeldBy returns the finding that holds a neck: the newest, where it is nonconforming and no verdict came after it; else nil.
func (db *DB) HeldBy(ctx context.Context, neckID string) (*batch.OutgoingFinding, error) {
	all, err := list(ctx, db.reader, func(s scanner) (*batch.OutgoingFinding, error) {
		var f batch.OutgoingFinding
		var at int64
		err := s.Scan(findingInto(&f, &at)...)
		return findingOf(f, at), err
	}, `SELECT `+findingColumns+` FROM held_necks f WHERE f.neck_id = ?`, neckID)
	if err != nil || len(all) == 0 {
		return nil, translate(err, "reading what holds a neck")
	}
	return all[0], nil
}
