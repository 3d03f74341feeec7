-- A rework step that was not done can be taken back: a row of its own names the one that no longer counts.
-- +goose Up
ALTER TABLE rework_actions ADD COLUMN supersedes TEXT REFERENCES rework_actions (id);
ALTER TABLE rework_actions ADD COLUMN withdrawn INTEGER NOT NULL DEFAULT 0;
CREATE INDEX rework_actions_supersedes ON rework_actions (supersedes) WHERE supersedes IS NOT NULL;

-- A step stands until another row takes it back.
CREATE VIEW standing_rework AS
SELECT a.* FROM rework_actions a
WHERE a.withdrawn = 0 AND NOT EXISTS (SELECT 1 FROM rework_actions t WHERE t.supersedes = a.id);
