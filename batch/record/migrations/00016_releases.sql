-- A lot that was rejected is drawn from again only after every neck of it that is left was inspected again, or after a quality
-- manager stated what was done with it.
-- +goose Up
CREATE TABLE lot_releases (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  audit_id TEXT NOT NULL REFERENCES outgoing_audits (id), done TEXT NOT NULL
);
CREATE INDEX lot_releases_audit ON lot_releases (audit_id, ord);
-- +goose StatementBegin
CREATE TRIGGER lot_releases_not_changed BEFORE UPDATE ON lot_releases BEGIN SELECT RAISE(ABORT, 'rows of lot_releases are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER lot_releases_not_removed BEFORE DELETE ON lot_releases BEGIN SELECT RAISE(ABORT, 'rows of lot_releases are never removed'); END;
-- +goose StatementEnd

-- The audit that a batch's lot stands under, with when it ended: its newest that was not given up. While that one is open, and
-- after it rejected the lot, nothing of the batch may ship. See Counts.MayShip.
DROP VIEW lots;
CREATE VIEW lots AS
SELECT a.batch_id, a.id AS audit_id, a.at, coalesce(r.state, 'open') AS state, coalesce(r.at, 0) AS ended_at
FROM outgoing_audits a LEFT JOIN outgoing_results r ON r.audit_id = a.id
WHERE a.ord = (SELECT max(b.ord) FROM outgoing_audits b LEFT JOIN outgoing_results s ON s.audit_id = b.id
  WHERE b.batch_id = a.batch_id AND coalesce(s.state, 'open') <> 'given up');
-- The necks of lots that stand rejected and are not scrap, each with whether it was inspected again: judged since, in an
-- inspection that had not judged it before. See Counts.MayDraw.
CREATE VIEW rejected_necks AS
SELECT l.batch_id, l.audit_id, n.id AS neck_id, n.serial, EXISTS (SELECT 1 FROM inspections i JOIN judgements v ON v.inspection_id = i.id
  WHERE i.neck_id = n.id AND v.at > l.ended_at
    AND NOT EXISTS (SELECT 1 FROM verdicts w WHERE w.inspection_id = i.id AND w.at <= l.ended_at AND w.disposition <> 'remeasure')) AS again
FROM lots l CROSS JOIN outgoing_audits a ON a.id = l.audit_id
CROSS JOIN json_each('["' || replace(replace(replace(a.lot, '\', '\\'), '"', '\"'), char(10), '","') || '"]') e
CROSS JOIN necks n ON n.serial = e.value AND +n.batch_id = l.batch_id CROSS JOIN neck_status s ON s.neck_id = n.id
WHERE l.state = 'rejected' AND s.disposition <> 'scrap';
