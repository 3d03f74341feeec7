-- What somebody leaves for the next shift.
-- +goose Up
CREATE TABLE shift_notes (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL, text TEXT NOT NULL
);
-- +goose StatementBegin
CREATE TRIGGER shift_notes_not_changed BEFORE UPDATE ON shift_notes BEGIN SELECT RAISE(ABORT, 'rows of shift_notes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER shift_notes_not_removed BEFORE DELETE ON shift_notes BEGIN SELECT RAISE(ABORT, 'rows of shift_notes are never removed'); END;
-- +goose StatementEnd
