-- Evidence over every row: an entry for each transaction, with the digests of the rows that it wrote, is a leaf of a tree of hashes (RFC 6962).
-- hashes are those that the leaf completes, its own first, each of 32 bytes. A checkpoint is a signed note of the tree's size and root.
-- +goose Up
CREATE TABLE evidence (ord INTEGER PRIMARY KEY, entry TEXT NOT NULL, hashes BLOB NOT NULL);
CREATE TABLE checkpoints (ord INTEGER PRIMARY KEY, size INTEGER NOT NULL, note TEXT NOT NULL);

-- Records of one older version have this view in another form, with the same rows: from here on all have one.
DROP VIEW rejected_necks;
-- +goose StatementBegin
CREATE VIEW rejected_necks AS
SELECT l.batch_id, l.audit_id, n.id AS neck_id, n.serial, EXISTS (SELECT 1 FROM inspections i JOIN judgements v ON v.inspection_id = i.id
  WHERE i.neck_id = n.id AND v.at > l.ended_at
    AND NOT EXISTS (SELECT 1 FROM verdicts w WHERE w.inspection_id = i.id AND w.at <= l.ended_at AND w.disposition <> 'remeasure')) AS again
FROM lots l CROSS JOIN outgoing_audits a ON a.id = l.audit_id
CROSS JOIN json_each('["' || replace(replace(replace(a.lot, '\', '\\'), '"', '\"'), char(10), '","') || '"]') e
CROSS JOIN necks n ON n.serial = e.value AND +n.batch_id = l.batch_id CROSS JOIN neck_status s ON s.neck_id = n.id
WHERE l.state = 'rejected' AND s.disposition <> 'scrap';
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER evidence_not_changed BEFORE UPDATE ON evidence BEGIN SELECT RAISE(ABORT, 'rows of evidence are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER evidence_not_removed BEFORE DELETE ON evidence BEGIN SELECT RAISE(ABORT, 'rows of evidence are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checkpoints_not_changed BEFORE UPDATE ON checkpoints BEGIN SELECT RAISE(ABORT, 'rows of checkpoints are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER checkpoints_not_removed BEFORE DELETE ON checkpoints BEGIN SELECT RAISE(ABORT, 'rows of checkpoints are never removed'); END;
-- +goose StatementEnd
