-- The unit in which a check's zero was sent, so that a gauge whose unit is switched is noticed after a restart too.
-- +goose Up
ALTER TABLE gauge_checks ADD COLUMN unit TEXT NOT NULL DEFAULT '';
