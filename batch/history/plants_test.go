package history

import (
	"math/rand/v2"
	"testing"
	"time"
)

// In a calendar without a Monday whose week is worked throughout, the last working day stands in.
func TestNoWholeWeek(t *testing.T) {
	start := time.Date(2026, 11, 4, 0, 0, 0, 0, time.UTC) // a Wednesday
	s := &Shop{days: newCalendar(start, start.AddDate(0, 0, 2))}
	if got := s.monday(rand.New(rand.NewPCG(1, 0))); got.Format(time.DateOnly) != "2026-11-05" {
		t.Errorf("%s", got)
	}
}
