-- A check keeps what the gauge sent for its zero, so that a later one under another entry can take it anew, and whether the zero's
-- shift was judged. Neither is known of the checks of before.
-- +goose Up
ALTER TABLE gauge_checks ADD COLUMN zero_sent_mm REAL;
ALTER TABLE gauge_checks ADD COLUMN zero_judged INTEGER;
