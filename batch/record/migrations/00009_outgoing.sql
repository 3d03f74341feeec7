-- Outgoing audits: a sample drawn from the necks that might ship, what was found on each, and how it ended. lot holds the
-- serial numbers that it was drawn from, a line each.
-- +goose Up
CREATE TABLE outgoing_audits (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id), aql REAL NOT NULL, level TEXT NOT NULL, severity TEXT NOT NULL,
  proposed TEXT NOT NULL, corrected INTEGER NOT NULL, again INTEGER NOT NULL, code TEXT NOT NULL, n INTEGER NOT NULL,
  accept INTEGER NOT NULL, reject INTEGER NOT NULL, seed TEXT NOT NULL, lot_size INTEGER NOT NULL, lot TEXT NOT NULL
);
CREATE INDEX outgoing_audits_batch ON outgoing_audits (batch_id, ord);
CREATE TABLE outgoing_necks (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  audit_id TEXT NOT NULL REFERENCES outgoing_audits (id), neck_id TEXT NOT NULL REFERENCES necks (id),
  UNIQUE (audit_id, neck_id)
);
CREATE INDEX outgoing_necks_neck ON outgoing_necks (neck_id, ord);
CREATE TABLE outgoing_findings (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  audit_id TEXT NOT NULL, neck_id TEXT NOT NULL, conforms INTEGER NOT NULL, note TEXT NOT NULL,
  inspection_id TEXT REFERENCES inspections (id),
  FOREIGN KEY (audit_id, neck_id) REFERENCES outgoing_necks (audit_id, neck_id)
);
CREATE INDEX outgoing_findings_neck ON outgoing_findings (audit_id, neck_id, ord);
CREATE TABLE outgoing_results (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  audit_id TEXT NOT NULL UNIQUE REFERENCES outgoing_audits (id), state TEXT NOT NULL, nonconforming INTEGER NOT NULL,
  may_reduce INTEGER NOT NULL, unsteady INTEGER NOT NULL, note TEXT NOT NULL
);
-- +goose StatementBegin
CREATE TRIGGER outgoing_audits_not_changed BEFORE UPDATE ON outgoing_audits BEGIN SELECT RAISE(ABORT, 'rows of outgoing_audits are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_audits_not_removed BEFORE DELETE ON outgoing_audits BEGIN SELECT RAISE(ABORT, 'rows of outgoing_audits are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_necks_not_changed BEFORE UPDATE ON outgoing_necks BEGIN SELECT RAISE(ABORT, 'rows of outgoing_necks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_necks_not_removed BEFORE DELETE ON outgoing_necks BEGIN SELECT RAISE(ABORT, 'rows of outgoing_necks are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_findings_not_changed BEFORE UPDATE ON outgoing_findings BEGIN SELECT RAISE(ABORT, 'rows of outgoing_findings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_findings_not_removed BEFORE DELETE ON outgoing_findings BEGIN SELECT RAISE(ABORT, 'rows of outgoing_findings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_results_not_changed BEFORE UPDATE ON outgoing_results BEGIN SELECT RAISE(ABORT, 'rows of outgoing_results are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER outgoing_results_not_removed BEFORE DELETE ON outgoing_results BEGIN SELECT RAISE(ABORT, 'rows of outgoing_results are never removed'); END;
-- +goose StatementEnd
