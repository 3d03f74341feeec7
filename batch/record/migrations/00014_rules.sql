-- What counts, what may ship and what a due check follows from, each said once: everything that asks, asks these views.
-- +goose Up
-- A verdict counts while it is its inspection's newest and the inspection that it ended is ended; remeasure ends none and
-- counts at once. See Inspection.Counts.
CREATE VIEW counting_verdicts AS
SELECT v.* FROM verdicts v
WHERE v.ord = (SELECT max(w.ord) FROM verdicts w WHERE w.inspection_id = v.inspection_id)
  AND (v.disposition = 'remeasure'
    OR 'finished' = (SELECT e.state FROM inspection_events e WHERE e.inspection_id = v.inspection_id ORDER BY e.ord DESC LIMIT 1));
-- One that judges the neck: remeasure says nothing of it.
CREATE VIEW judgements AS SELECT v.* FROM counting_verdicts v WHERE v.disposition <> 'remeasure';

-- A reading with a value stands until another row replaces it or takes it back. See batch.Standing.
CREATE VIEW standing_readings AS
SELECT r.* FROM readings r
WHERE r.withdrawn = 0 AND NOT EXISTS (SELECT 1 FROM readings s WHERE s.inspection_id = r.inspection_id AND s.supersedes = r.id);

-- A doubt stands while a reading that it is about stands (a pass of a carriage is kept beside the crowns found in it), no
-- person has cleared it, and no later attempt has a verdict that counts.
DROP VIEW standing_doubts;
CREATE VIEW standing_doubts AS
SELECT d.* FROM doubts d JOIN inspections i ON i.id = d.inspection_id
WHERE EXISTS (SELECT 1 FROM standing_readings r WHERE r.inspection_id = d.inspection_id AND r.gauge_id = d.gauge_id
    AND r.ord > d.after_reading AND r.ord <= d.upto_reading AND r.kind <> 'sweep')
  AND NOT EXISTS (SELECT 1 FROM doubt_clearances c WHERE c.neck_id = d.neck_id AND c.last_doubt >= d.ord)
  AND NOT EXISTS (SELECT 1 FROM inspections l JOIN counting_verdicts v ON v.inspection_id = l.id
    WHERE l.neck_id = d.neck_id AND l.attempt > i.attempt);

-- A neck is held while the newest finding of outgoing audits on it is nonconforming and nothing has judged it since. Few
-- findings are nonconforming: they stand in an index of their own.
CREATE INDEX outgoing_findings_nonconforming ON outgoing_findings (neck_id, ord) WHERE conforms = 0;
DROP VIEW held_necks;
CREATE VIEW held_necks AS
SELECT f.* FROM outgoing_findings f
WHERE f.conforms = 0
  AND f.ord = (SELECT max(g.ord) FROM outgoing_findings g WHERE g.neck_id = f.neck_id)
  AND NOT EXISTS (SELECT 1 FROM inspections i JOIN judgements v ON v.inspection_id = i.id WHERE i.neck_id = f.neck_id AND v.at > f.at);

-- How a neck stands: released by its newest verdict (see batch.Released), in doubt, held.
CREATE VIEW neck_standing AS
SELECT s.neck_id, s.batch_id, s.last_at, s.disposition IN ('pass', 'concession') AS released,
  EXISTS (SELECT 1 FROM standing_doubts d WHERE d.neck_id = s.neck_id) AS in_doubt,
  EXISTS (SELECT 1 FROM held_necks h WHERE h.neck_id = s.neck_id) AS held
FROM neck_status s;
-- Necks that may ship as far as they themselves are concerned: a lot is drawn from them. See Counts.Ready.
CREATE VIEW ready_necks AS SELECT n.neck_id, n.batch_id, n.last_at FROM neck_standing n WHERE n.released AND NOT n.in_doubt AND NOT n.held;

-- The audit that a batch's lot stands under: its newest that was not given up. While that one is open, and after it rejected
-- the lot, nothing of the batch may ship. See Counts.MayShip.
CREATE VIEW lots AS
SELECT a.batch_id, a.id AS audit_id, a.at, coalesce(r.state, 'open') AS state
FROM outgoing_audits a LEFT JOIN outgoing_results r ON r.audit_id = a.id
WHERE a.ord = (SELECT max(b.ord) FROM outgoing_audits b LEFT JOIN outgoing_results s ON s.audit_id = b.id
  WHERE b.batch_id = a.batch_id AND coalesce(s.state, 'open') <> 'given up');
-- Ready necks that were judged after the draw of the audit that accepted their lot and were not drawn themselves: it does
-- not speak for them.
CREATE INDEX neck_status_last ON neck_status (batch_id, last_at);
CREATE VIEW uncovered_necks AS
SELECT n.neck_id, n.batch_id FROM lots l CROSS JOIN ready_necks n ON n.batch_id = l.batch_id AND n.last_at > l.at
WHERE l.state IN ('accepted', 'between')
  AND EXISTS (SELECT 1 FROM inspections i JOIN judgements v ON v.inspection_id = i.id WHERE i.neck_id = n.neck_id AND v.at > l.at)
  AND NOT EXISTS (SELECT 1 FROM outgoing_necks d WHERE d.audit_id = l.audit_id AND d.neck_id = n.neck_id);

-- Whether a gauge must be checked follows from its newest check and what happened to it since. See Gauge.CheckNeeded.
CREATE VIEW newest_checks AS
SELECT c.* FROM gauge_checks c WHERE c.ord = (SELECT max(d.ord) FROM gauge_checks d WHERE d.gauge_id = c.gauge_id);
CREATE VIEW unanswered_events AS
SELECT e.* FROM gauge_events e
WHERE e.check_id = coalesce((SELECT c.id FROM newest_checks c WHERE c.gauge_id = e.gauge_id), '');
