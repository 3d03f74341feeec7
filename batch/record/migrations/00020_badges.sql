-- A person's badge: the code that a scanner reads from it. The newest row of a person counts, as for everything else of theirs.
-- +goose Up
ALTER TABLE people ADD COLUMN badge TEXT NOT NULL DEFAULT '';
