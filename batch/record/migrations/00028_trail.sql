-- The trail is read by what an entry is about, without the attempt, by who did it, by its kind and by its time.
-- +goose Up
CREATE INDEX audit_thing ON audit (CASE WHEN instr(about, ', attempt ') > 0 THEN substr(about, 1, instr(about, ', attempt ') - 1) ELSE about END);
CREATE INDEX audit_by ON audit (by);
CREATE INDEX audit_what ON audit (what);
CREATE INDEX audit_at ON audit (at);
