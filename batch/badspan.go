package batch

import "time"

// BadSpan is a time in which a gauge may have read wrong: from its last check that passed, or from its first use, to the check that
// failed. What was measured with it then is kept apart where causes are looked for.
type BadSpan struct {
	GaugeID  string
	From, To time.Time // From is zero where no check had passed; To is the failed check's
	CheckID  string    // that failed; of several in a row the first
	Why      string    // sentence: what it found and what is allowed
}

// Holds reports whether a gauge's use at a moment lies in the span.
func (s BadSpan) Holds(gaugeID string, at time.Time) bool {
	return s.GaugeID == gaugeID && !at.Before(s.From) && at.Before(s.To)
}
