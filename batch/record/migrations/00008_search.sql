-- Search by one or two characters without a look at every serial number. What a set of necks brings with it is searched
-- and counted for the whole set at once, so the triggers for single necks leave that to the writer.
-- +goose Up
-- +goose StatementBegin
DROP TRIGGER necks_searched;

-- Derived: the characters and pairs of characters of serial numbers, small letters, with the blocks of 256 necks, by order
-- number, in which they stand. Opening an older record fills it.
CREATE TABLE serial_grams (gram TEXT NOT NULL, block INTEGER NOT NULL, PRIMARY KEY (gram, block)) WITHOUT ROWID;

DROP TRIGGER neck_status_added;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER neck_status_added AFTER INSERT ON neck_status WHEN NEW.attempts = 0 BEGIN
  INSERT INTO batch_tally VALUES (NEW.batch_id, 'registered', 1) ON CONFLICT (batch_id, key) DO UPDATE SET n = n + 1;
END;
-- +goose StatementEnd
