-- The newest first inspections of a model are picked out of an index alone.
-- +goose Up
DROP INDEX neck_first_time;
CREATE INDEX neck_first_time ON neck_first (at, neck_ord, batch_ord, month);
