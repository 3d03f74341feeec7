package record

import (
	"sagitta/batch"
	"sagitta/inspect"
)

// status is a row of neck_status: what a neck's inspections and verdicts say of it. An inspection whose newest verdict is remeasure is
// not judged, nor is one that was opened again after its verdict; the first judged one says whether the neck passed first time and why
// not.
type status struct {
	attempts          int
	firstAt, lastAt   int64
	inspector         string
	state             batch.InspectionState
	disposition       inspect.Disposition
	judged            int
	firstPass         bool
	failing, failWord string
}

const statusColumns = `attempts, first_at, last_at, inspector, state, disposition, judged, first_pass, first_failing, first_failing_words`

func (s *status) args() []any {
	return []any{s.attempts, s.firstAt, s.lastAt, s.inspector, string(s.state), string(s.disposition), s.judged, s.firstPass, s.failing, s.failWord}
}

// attempt is what an inspection brings to its neck's status.
type attempt struct {
	neck           string // its ID
	at, judgedAt   int64
	inspector      string
	disposition    inspect.Disposition // of the verdict that counts, "" where none does
	failing, words string
	state          batch.InspectionState
}

const selectAttempts = `SELECT i.neck_id, i.at, i.inspector, coalesce(v.disposition, ''), coalesce(v.at, 0), coalesce(v.failing, ''), coalesce(v.failing_words, ''),
	coalesce((SELECT e.state FROM inspection_events e WHERE e.inspection_id = i.id ORDER BY e.ord DESC LIMIT 1), 'open') `

func scanAttempt(s scanner) (a attempt, err error) {
	return a, s.Scan(&a.neck, &a.at, &a.inspector, &a.disposition, &a.judgedAt, &a.failing, &a.words, &a.state)
}

// take adds a neck's next attempt.
func (s *status) take(a attempt) {
	if s.attempts++; s.attempts == 1 || a.at < s.firstAt {
		s.firstAt = a.at
	}
	s.lastAt, s.inspector, s.state = a.at, a.inspector, a.state
	if a.disposition == "" {
		return
	}
	if s.disposition = a.disposition; a.judgedAt > 0 {
		s.lastAt = a.judgedAt
	}
	if a.disposition == inspect.Remeasure {
		return
	}
	if s.judged++; s.judged > 1 {
		return
	}
	if s.firstPass = a.disposition == inspect.Pass; !s.firstPass {
		s.failing, s.failWord = a.failing, a.words
	}
}

// count adds the neck to its batch's tally by its keys, as the record's triggers do.
func (s *status) count(tally map[string]int) {
	tally["registered"]++
	tally["inspections"] += s.judged
	if s.judged > 0 {
		tally["inspected"]++
	}
	if s.firstPass {
		tally["first pass"]++
	}
	if s.state == batch.Open || s.state == batch.Parked {
		tally["in progress"]++
	}
	if s.disposition != "" {
		tally["now "+string(s.disposition)]++
	}
	if s.failing != "" {
		tally["reason "+s.failing]++
	}
}

// refreshNeck brings a neck's status up to date, and what is kept of its first judged inspection.
func (t *tx) refreshNeck(neckID string) error {
	all, err := list(t.ctx, t, scanAttempt, selectAttempts+`FROM inspections i LEFT JOIN counting_verdicts v ON v.inspection_id = i.id WHERE i.neck_id = ? ORDER BY i.attempt`, neckID)
	if err != nil {
		return err
	}
	var s status
	for _, a := range all {
		s.take(a)
	}
	if err := t.exec(`UPDATE neck_status SET (`+statusColumns+`) = `+places(10)+` WHERE neck_id = ?`, append(s.args(), neckID)...); err != nil {
		return err
	}
	return t.refreshFirst(neckID)
}
