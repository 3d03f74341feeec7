-- Why a revision of a specification was made.
-- +goose Up
ALTER TABLE specs ADD COLUMN reason TEXT NOT NULL DEFAULT '';
