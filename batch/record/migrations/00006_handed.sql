-- Which hand an inspection's neck is for, where it was chosen after the inspection was begun; the newest counts.
-- +goose Up
CREATE TABLE handings (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  inspection_id TEXT NOT NULL REFERENCES inspections (id), handed TEXT NOT NULL
);
CREATE INDEX handings_inspection ON handings (inspection_id, ord);
-- +goose StatementBegin
CREATE TRIGGER handings_not_changed BEFORE UPDATE ON handings BEGIN SELECT RAISE(ABORT, 'rows of handings are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER handings_not_removed BEFORE DELETE ON handings BEGIN SELECT RAISE(ABORT, 'rows of handings are never removed'); END;
-- +goose StatementEnd
