package record

import (
	"maps"
	"slices"
	"time"

	"sagitta/batch"
)

// span is from when to when something was used; the zero value is never.
type span struct{ first, last time.Time }

func (s span) with(at time.Time) span {
	if s.first.IsZero() || at.Before(s.first) {
		s.first = at
	}
	if at.After(s.last) {
		s.last = at
	}
	return s
}

// checksOf casts the doubts of failed checks on necks that were just taken in, by their order numbers, and says what the checks of the
// gauges that they name cannot tell.
func (t *tx) checksOf(used map[string]span, first, last int64) (*batch.ImportChecks, error) {
	known := &batch.ImportChecks{Gauges: len(used)}
	necks := map[string]bool{}
	for _, gauge := range slices.Sorted(maps.Keys(used)) {
		checks, err := list(t.ctx, t, scanCheck, selectCheck+`WHERE c.gauge_id = ? ORDER BY c.ord`, gauge)
		if err != nil {
			return nil, err
		}
		u, err := t.unchecked(gauge, used[gauge], checks)
		if err != nil {
			return nil, err
		}
		if u != nil {
			known.Unknown = append(known.Unknown, *u)
		}
		all, err := t.castTaken(checks, used[gauge], first, last)
		if err != nil {
			return nil, err
		}
		known.Marked.Inspections += len(all)
		for _, p := range all {
			if !p.followed {
				necks[p.neck] = true
			}
		}
	}
	known.Marked.Necks = len(necks)
	return known, nil
}

// castTaken casts the doubts of a gauge's failed checks, each on what was measured since the check before it.
func (t *tx) castTaken(checks []batch.GaugeCheck, used span, first, last int64) ([]place, error) {
	var doubted []place
	s := sinceCheck{}
	since := time.Time{} // the check before
	for _, c := range checks {
		if !c.Good && !used.last.Before(since) && !used.first.After(c.At) {
			all, err := reached(t.ctx, t, reach{DoubtRange: batch.DoubtRange{GaugeID: c.GaugeID, From: since, To: c.At}, first: first, last: last})
			if err != nil {
				return nil, err
			}
			if err := t.cast(causeOf(c, s), all); err != nil {
				return nil, err
			}
			doubted = append(doubted, all...)
		}
		since = c.At
		if c.Good {
			s.From, s.proof = c.At, batch.ProofCheck
		}
	}
	return doubted, nil
}

// unchecked is where no check tells of a gauge that was used; nil where every use lies between two checks.
func (t *tx) unchecked(gauge string, used span, checks []batch.GaugeCheck) (*batch.UncheckedSpan, error) {
	u := batch.UncheckedSpan{Gauge: gauge}
	if len(checks) > 0 {
		if at := checks[0].At; used.first.Before(at) {
			u.Before = at
		}
		if at := checks[len(checks)-1].At; used.last.After(at) {
			u.After = at
		}
		if u.Before.IsZero() && u.After.IsZero() {
			return nil, nil
		}
	}
	return &u, t.row(`SELECT coalesce((SELECT name FROM gauge_entries WHERE gauge_id = ?1 ORDER BY ord DESC LIMIT 1), ?1)`, gauge).Scan(&u.Gauge)
}
