-- Times are nanoseconds since 1970 in UTC. "ord" is the order in which this station wrote the row.
-- +goose Up
-- +goose StatementBegin
PRAGMA application_id = 1396787020;

CREATE TABLE people (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  name TEXT NOT NULL, role TEXT NOT NULL
);
CREATE TABLE specs (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  name TEXT NOT NULL, revision TEXT NOT NULL, file TEXT NOT NULL, text TEXT NOT NULL
);
CREATE INDEX specs_name ON specs (name, revision, ord);
CREATE TABLE batches (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  number TEXT NOT NULL UNIQUE, spec_id TEXT NOT NULL REFERENCES specs (id), planned INTEGER NOT NULL,
  pattern TEXT NOT NULL, note TEXT NOT NULL
);
CREATE INDEX batches_spec ON batches (spec_id);
CREATE TABLE batch_closures (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL UNIQUE REFERENCES batches (id)
);
CREATE TABLE necks (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  batch_id TEXT NOT NULL REFERENCES batches (id), serial TEXT NOT NULL UNIQUE
);
CREATE INDEX necks_batch ON necks (batch_id, ord);
CREATE TABLE inspections (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, inspector TEXT NOT NULL,
  neck_id TEXT NOT NULL REFERENCES necks (id), attempt INTEGER NOT NULL, posture TEXT NOT NULL, handed TEXT NOT NULL,
  UNIQUE (neck_id, attempt)
);
CREATE TABLE inspection_events (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), state TEXT NOT NULL, reason TEXT NOT NULL
);
CREATE INDEX inspection_events_inspection ON inspection_events (inspection_id, ord);
CREATE TABLE climates (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), temperature_c REAL, humidity_percent REAL
);
CREATE INDEX climates_inspection ON climates (inspection_id, ord);
CREATE TABLE gauge_entries (
  ord INTEGER PRIMARY KEY, gauge_id TEXT NOT NULL, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  name TEXT NOT NULL, entry TEXT NOT NULL, retired INTEGER NOT NULL
);
CREATE INDEX gauge_entries_gauge ON gauge_entries (gauge_id, ord);
CREATE TABLE gauge_checks (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  gauge_id TEXT NOT NULL, zero_mm REAL NOT NULL, shift_mm REAL NOT NULL, master_mm REAL, error_mm REAL,
  good INTEGER NOT NULL, why TEXT NOT NULL, after TEXT NOT NULL, raw_zero BLOB, raw_master BLOB
);
CREATE INDEX gauge_checks_gauge ON gauge_checks (gauge_id, ord);
CREATE TABLE readings (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), seq INTEGER NOT NULL,
  kind TEXT NOT NULL, track TEXT NOT NULL, fret INTEGER NOT NULL, string INTEGER NOT NULL, held_fret INTEGER NOT NULL,
  round INTEGER NOT NULL, value REAL NOT NULL, u REAL NOT NULL, u_repeat REAL NOT NULL,
  withdrawn INTEGER NOT NULL, supersedes TEXT REFERENCES readings (id), reason TEXT NOT NULL,
  gauge_id TEXT NOT NULL, check_id TEXT NOT NULL, decoder TEXT NOT NULL, raw BLOB, "offset" INTEGER NOT NULL,
  sent TEXT NOT NULL, unit TEXT NOT NULL, decoded REAL NOT NULL, foot1_mm REAL NOT NULL, foot2_mm REAL NOT NULL,
  plunger_mm REAL NOT NULL,
  UNIQUE (inspection_id, seq)
);
CREATE TABLE verdicts (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), disposition TEXT NOT NULL, decided_by TEXT NOT NULL,
  reason TEXT NOT NULL, result TEXT NOT NULL, failing TEXT NOT NULL, failing_words TEXT NOT NULL, relief_mm REAL, relief_u REAL,
  last_seq INTEGER NOT NULL
);
CREATE INDEX verdicts_inspection ON verdicts (inspection_id, ord);
CREATE TABLE characteristics (
  verdict_ord INTEGER NOT NULL REFERENCES verdicts (ord), place INTEGER NOT NULL, name TEXT NOT NULL, track TEXT NOT NULL,
  string INTEGER NOT NULL, fret INTEGER NOT NULL, held_fret INTEGER NOT NULL, value REAL, unit TEXT NOT NULL, u REAL,
  lower REAL, target REAL, upper REAL, zone TEXT NOT NULL, margin REAL,
  PRIMARY KEY (verdict_ord, place)
) WITHOUT ROWID;
CREATE TABLE rework_actions (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  neck_id TEXT NOT NULL REFERENCES necks (id), inspection_id TEXT REFERENCES inspections (id), what TEXT NOT NULL,
  turns REAL NOT NULL, direction TEXT NOT NULL, string INTEGER NOT NULL, fret INTEGER NOT NULL, track TEXT NOT NULL,
  amount_mm REAL NOT NULL, predicted_mm REAL, note TEXT NOT NULL, relief_before_mm REAL, relief_before_u REAL NOT NULL
);
CREATE INDEX rework_actions_neck ON rework_actions (neck_id, ord);
CREATE TABLE audit (
  seq INTEGER PRIMARY KEY, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL, what TEXT NOT NULL,
  about TEXT NOT NULL, detail TEXT NOT NULL, hash TEXT NOT NULL
);

-- What follows is derived from the tables above, kept beside them so that a batch's numbers need no scan.
CREATE TABLE neck_status (
  neck_id TEXT PRIMARY KEY REFERENCES necks (id), batch_id TEXT NOT NULL, attempts INTEGER NOT NULL,
  first_at INTEGER NOT NULL, last_at INTEGER NOT NULL, inspector TEXT NOT NULL, state TEXT NOT NULL,
  disposition TEXT NOT NULL, judged INTEGER NOT NULL, first_pass INTEGER NOT NULL, first_failing TEXT NOT NULL,
  first_failing_words TEXT NOT NULL
) WITHOUT ROWID;
CREATE INDEX neck_status_open ON neck_status (state) WHERE state IN ('open', 'parked');
CREATE TABLE batch_tally (
  batch_id TEXT NOT NULL, key TEXT NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (batch_id, key)
) WITHOUT ROWID;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER neck_status_added AFTER INSERT ON neck_status BEGIN
  INSERT INTO batch_tally
  SELECT NEW.batch_id, k, n FROM (
    SELECT 'registered' AS k, 1 AS n
    UNION ALL SELECT 'inspections', NEW.judged
    UNION ALL SELECT 'inspected', NEW.judged > 0
    UNION ALL SELECT 'first pass', NEW.first_pass
    UNION ALL SELECT 'in progress', NEW.state IN ('open', 'parked')
    UNION ALL SELECT 'now ' || NEW.disposition, NEW.disposition <> ''
    UNION ALL SELECT 'reason ' || NEW.first_failing, NEW.first_failing <> '') WHERE n <> 0
  ON CONFLICT (batch_id, key) DO UPDATE SET n = n + excluded.n;
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER neck_status_changed AFTER UPDATE ON neck_status BEGIN
  INSERT INTO batch_tally
  SELECT NEW.batch_id, k, sum(n) FROM (
    SELECT 'inspections' AS k, NEW.judged - OLD.judged AS n
    UNION ALL SELECT 'inspected', (NEW.judged > 0) - (OLD.judged > 0)
    UNION ALL SELECT 'first pass', NEW.first_pass - OLD.first_pass
    UNION ALL SELECT 'in progress', (NEW.state IN ('open', 'parked')) - (OLD.state IN ('open', 'parked'))
    UNION ALL SELECT 'now ' || NEW.disposition, NEW.disposition <> ''
    UNION ALL SELECT 'now ' || OLD.disposition, -(OLD.disposition <> '')
    UNION ALL SELECT 'reason ' || NEW.first_failing, NEW.first_failing <> ''
    UNION ALL SELECT 'reason ' || OLD.first_failing, -(OLD.first_failing <> '')) WHERE true GROUP BY k HAVING sum(n) <> 0
  ON CONFLICT (batch_id, key) DO UPDATE SET n = n + excluded.n;
END;
-- +goose StatementEnd

-- Rows are never changed or removed: a correction is a new row.
-- +goose StatementBegin
CREATE TRIGGER people_not_changed BEFORE UPDATE ON people BEGIN SELECT RAISE(ABORT, 'rows of people are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER people_not_removed BEFORE DELETE ON people BEGIN SELECT RAISE(ABORT, 'rows of people are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER specs_not_changed BEFORE UPDATE ON specs BEGIN SELECT RAISE(ABORT, 'rows of specs are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER specs_not_removed BEFORE DELETE ON specs BEGIN SELECT RAISE(ABORT, 'rows of specs are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER batches_not_changed BEFORE UPDATE ON batches BEGIN SELECT RAISE(ABORT, 'rows of batches are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER batches_not_removed BEFORE DELETE ON batches BEGIN SELECT RAISE(ABORT, 'rows of batches are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER batch_closures_not_changed BEFORE UPDATE ON batch_closures BEGIN SELECT RAISE(ABORT, 'rows of batch_closures are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER batch_closures_not_removed BEFORE DELETE ON batch_closures BEGIN SELECT RAISE(ABORT, 'rows of batch_closures are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER necks_not_changed BEFORE UPDATE ON necks BEGIN SELECT RAISE(ABORT, 'rows of necks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER necks_not_removed BEFORE DELETE ON necks BEGIN SELECT RAISE(ABORT, 'rows of necks are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER inspections_not_changed BEFORE UPDATE ON inspections BEGIN SELECT RAISE(ABORT, 'rows of inspections are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER inspections_not_removed BEFORE DELETE ON inspections BEGIN SELECT RAISE(ABORT, 'rows of inspections are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER inspection_events_not_changed BEFORE UPDATE ON inspection_events BEGIN SELECT RAISE(ABORT, 'rows of inspection_events are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER inspection_events_not_removed BEFORE DELETE ON inspection_events BEGIN SELECT RAISE(ABORT, 'rows of inspection_events are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER climates_not_changed BEFORE UPDATE ON climates BEGIN SELECT RAISE(ABORT, 'rows of climates are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER climates_not_removed BEFORE DELETE ON climates BEGIN SELECT RAISE(ABORT, 'rows of climates are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_entries_not_changed BEFORE UPDATE ON gauge_entries BEGIN SELECT RAISE(ABORT, 'rows of gauge_entries are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_entries_not_removed BEFORE DELETE ON gauge_entries BEGIN SELECT RAISE(ABORT, 'rows of gauge_entries are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_checks_not_changed BEFORE UPDATE ON gauge_checks BEGIN SELECT RAISE(ABORT, 'rows of gauge_checks are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER gauge_checks_not_removed BEFORE DELETE ON gauge_checks BEGIN SELECT RAISE(ABORT, 'rows of gauge_checks are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER readings_not_changed BEFORE UPDATE ON readings BEGIN SELECT RAISE(ABORT, 'rows of readings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER readings_not_removed BEFORE DELETE ON readings BEGIN SELECT RAISE(ABORT, 'rows of readings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER verdicts_not_changed BEFORE UPDATE ON verdicts BEGIN SELECT RAISE(ABORT, 'rows of verdicts are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER verdicts_not_removed BEFORE DELETE ON verdicts BEGIN SELECT RAISE(ABORT, 'rows of verdicts are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER characteristics_not_changed BEFORE UPDATE ON characteristics BEGIN SELECT RAISE(ABORT, 'rows of characteristics are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER characteristics_not_removed BEFORE DELETE ON characteristics BEGIN SELECT RAISE(ABORT, 'rows of characteristics are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rework_actions_not_changed BEFORE UPDATE ON rework_actions BEGIN SELECT RAISE(ABORT, 'rows of rework_actions are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rework_actions_not_removed BEFORE DELETE ON rework_actions BEGIN SELECT RAISE(ABORT, 'rows of rework_actions are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER audit_not_changed BEFORE UPDATE ON audit BEGIN SELECT RAISE(ABORT, 'rows of audit are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER audit_not_removed BEFORE DELETE ON audit BEGIN SELECT RAISE(ABORT, 'rows of audit are never removed'); END;
-- +goose StatementEnd
