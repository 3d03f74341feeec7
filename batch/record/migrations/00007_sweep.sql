-- A pass of a carriage is kept beside the crowns that were found in it: a doubt is about the crowns, and ends with them.
-- +goose Up
DROP VIEW standing_doubts;
CREATE VIEW standing_doubts AS
SELECT d.* FROM doubts d JOIN inspections i ON i.id = d.inspection_id
WHERE EXISTS (SELECT 1 FROM readings r WHERE r.inspection_id = d.inspection_id AND r.gauge_id = d.gauge_id
    AND r.ord > d.after_reading AND r.ord <= d.upto_reading AND r.withdrawn = 0 AND r.kind <> 'sweep'
    AND NOT EXISTS (SELECT 1 FROM readings s WHERE s.inspection_id = r.inspection_id AND s.supersedes = r.id))
  AND NOT EXISTS (SELECT 1 FROM doubt_clearances c WHERE c.neck_id = d.neck_id AND c.last_doubt >= d.ord)
  AND NOT EXISTS (SELECT 1 FROM inspections l JOIN verdicts v ON v.inspection_id = l.id WHERE l.neck_id = d.neck_id AND l.attempt > i.attempt);
