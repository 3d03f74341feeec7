package show

import (
	"testing"
	"time"
)

func TestTimesShowTheirDateWhenNotToday(t *testing.T) {
	now := time.Date(2026, 11, 25, 13, 0, 0, 0, time.Local)
	for want, at := range map[string]time.Time{
		"07:12": time.Date(2026, 11, 25, 7, 12, 0, 0, time.Local), "2026-11-24 23:59": time.Date(2026, 11, 24, 23, 59, 0, 0, time.Local), "": {},
	} {
		if got := When(at, now); got != want {
			t.Errorf("when(%v) = %q, want %q", at, got, want)
		}
	}
}
