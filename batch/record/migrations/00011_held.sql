-- A neck is held while the newest finding of outgoing audits on it is nonconforming and no finished inspection has a
-- verdict, other than remeasure, after that finding.
-- +goose Up
CREATE INDEX outgoing_findings_of_neck ON outgoing_findings (neck_id, ord);
CREATE VIEW held_necks AS
SELECT f.* FROM outgoing_findings f
WHERE f.conforms = 0
  AND f.ord = (SELECT max(ord) FROM outgoing_findings WHERE neck_id = f.neck_id)
  AND NOT EXISTS (SELECT 1 FROM inspections i JOIN verdicts v ON v.inspection_id = i.id
    WHERE i.neck_id = f.neck_id AND v.at > f.at AND v.disposition <> 'remeasure'
    AND 'finished' = (SELECT e.state FROM inspection_events e WHERE e.inspection_id = i.id ORDER BY e.ord DESC LIMIT 1));
