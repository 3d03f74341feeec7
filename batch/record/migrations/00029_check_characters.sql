-- How the serial numbers of a batch end in a check character, '' for in none.
-- +goose Up
ALTER TABLE batches ADD COLUMN check_system TEXT NOT NULL DEFAULT '';
