-- Signing on: which mode the record is in, what people prove themselves by, and what they signed. Secrets are kept as argon2id says, codes and
-- sessions by their SHA-256. Sessions are volatile: they are no facts, and end.
-- +goose Up
ALTER TABLE people ADD COLUMN administers INTEGER NOT NULL DEFAULT 0;
ALTER TABLE people ADD COLUMN retired INTEGER NOT NULL DEFAULT 0;

CREATE TABLE sign_on_modes (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL, people_sign_on INTEGER NOT NULL
);
CREATE TABLE secrets (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  person_id TEXT NOT NULL, kind TEXT NOT NULL, hash TEXT NOT NULL
);
CREATE INDEX secrets_person ON secrets (person_id, kind, ord);
CREATE TABLE sign_on_codes (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  person_id TEXT NOT NULL, digest TEXT NOT NULL UNIQUE, until INTEGER NOT NULL
);
CREATE INDEX sign_on_codes_person ON sign_on_codes (person_id, ord);
CREATE TABLE sign_on_code_uses (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  code_id TEXT NOT NULL UNIQUE REFERENCES sign_on_codes (id)
);
CREATE TABLE sign_ons (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  person_id TEXT NOT NULL, strength TEXT NOT NULL, good INTEGER NOT NULL
);
CREATE INDEX sign_ons_person ON sign_ons (person_id, ord);
CREATE TABLE signatures (
  ord INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, station TEXT NOT NULL, at INTEGER NOT NULL, by TEXT NOT NULL,
  meaning TEXT NOT NULL, about TEXT NOT NULL, reason TEXT NOT NULL, digest TEXT NOT NULL, second INTEGER NOT NULL
);
CREATE INDEX signatures_about ON signatures (about, ord);
CREATE TABLE sessions (
  token TEXT PRIMARY KEY, data BLOB NOT NULL, until INTEGER NOT NULL
) WITHOUT ROWID;

-- +goose StatementBegin
CREATE TRIGGER sign_on_modes_not_changed BEFORE UPDATE ON sign_on_modes BEGIN SELECT RAISE(ABORT, 'rows of sign_on_modes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_on_modes_not_removed BEFORE DELETE ON sign_on_modes BEGIN SELECT RAISE(ABORT, 'rows of sign_on_modes are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER secrets_not_changed BEFORE UPDATE ON secrets BEGIN SELECT RAISE(ABORT, 'rows of secrets are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER secrets_not_removed BEFORE DELETE ON secrets BEGIN SELECT RAISE(ABORT, 'rows of secrets are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_on_codes_not_changed BEFORE UPDATE ON sign_on_codes BEGIN SELECT RAISE(ABORT, 'rows of sign_on_codes are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_on_codes_not_removed BEFORE DELETE ON sign_on_codes BEGIN SELECT RAISE(ABORT, 'rows of sign_on_codes are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_on_code_uses_not_changed BEFORE UPDATE ON sign_on_code_uses BEGIN SELECT RAISE(ABORT, 'rows of sign_on_code_uses are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_on_code_uses_not_removed BEFORE DELETE ON sign_on_code_uses BEGIN SELECT RAISE(ABORT, 'rows of sign_on_code_uses are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_ons_not_changed BEFORE UPDATE ON sign_ons BEGIN SELECT RAISE(ABORT, 'rows of sign_ons are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER sign_ons_not_removed BEFORE DELETE ON sign_ons BEGIN SELECT RAISE(ABORT, 'rows of sign_ons are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER signatures_not_changed BEFORE UPDATE ON signatures BEGIN SELECT RAISE(ABORT, 'rows of signatures are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER signatures_not_removed BEFORE DELETE ON signatures BEGIN SELECT RAISE(ABORT, 'rows of signatures are never removed'); END;
-- +goose StatementEnd
