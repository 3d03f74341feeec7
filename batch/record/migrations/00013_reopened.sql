-- The verdict of an inspection that was opened again does not count: it ends no doubt either. restated lists the necks of
-- an older record whose status may rest on such a verdict; opening the record works it out anew.
-- +goose Up
DROP VIEW standing_doubts;
CREATE VIEW standing_doubts AS
SELECT d.* FROM doubts d JOIN inspections i ON i.id = d.inspection_id
WHERE EXISTS (SELECT 1 FROM readings r WHERE r.inspection_id = d.inspection_id AND r.gauge_id = d.gauge_id
    AND r.ord > d.after_reading AND r.ord <= d.upto_reading AND r.withdrawn = 0 AND r.kind <> 'sweep'
    AND NOT EXISTS (SELECT 1 FROM readings s WHERE s.inspection_id = r.inspection_id AND s.supersedes = r.id))
  AND NOT EXISTS (SELECT 1 FROM doubt_clearances c WHERE c.neck_id = d.neck_id AND c.last_doubt >= d.ord)
  AND NOT EXISTS (SELECT 1 FROM inspections l JOIN verdicts v ON v.ord = (SELECT max(ord) FROM verdicts WHERE inspection_id = l.id)
    WHERE l.neck_id = d.neck_id AND l.attempt > i.attempt AND (v.disposition = 'remeasure'
    OR (SELECT state FROM inspection_events WHERE inspection_id = l.id ORDER BY ord DESC LIMIT 1) = 'finished'));
CREATE TABLE restated (neck_id TEXT PRIMARY KEY) WITHOUT ROWID;
INSERT INTO restated SELECT DISTINCT i.neck_id FROM inspections i WHERE EXISTS (SELECT 1 FROM verdicts WHERE inspection_id = i.id)
  AND (SELECT state FROM inspection_events WHERE inspection_id = i.id ORDER BY ord DESC LIMIT 1) <> 'finished';
