-- The laying that a reading was taken in, 1, 2, 3 ... within its inspection: as long as neck and carriage keep their places. 0 is
-- where it does not depend on it, or was read before layings were told.
-- +goose Up
ALTER TABLE readings ADD COLUMN laying INTEGER NOT NULL DEFAULT 0;
