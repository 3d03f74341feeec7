package site

import (
	"fmt"
	"strings"
	"time"

	"sagitta/devices"
	"sagitta/station/bench"
	"sagitta/station/web/show"
)

// healthStrip is how the gauges and the record are, at the head of every page but the bench, whose own strip says it.
type healthStrip struct {
	Quiet   string // a word while all is well, "" while something is not
	Well    bool   // there are gauges, and all are well, and so is the record
	Trouble []healthLine
}

// More says how many beside the first are not well, "" for none.
func (h healthStrip) More() string {
	if n := len(h.Trouble) - 1; n > 0 {
		return fmt.Sprintf("and %d more", n)
	}
	return ""
}

// healthLine is one gauge, or something about the record, that is not well.
type healthLine struct {
	ID    string // of the gauge
	Name  string
	State string // the word whose shape stands before it
	Since time.Time
	Why   string
	ToDo  string
	Page  string // where that is done, "" for none
}

// healthOf picks what is not well: a record that is lost first, and what is due for its copies last.
func healthOf(gauges []bench.GaugeLine, concerns []bench.Concern) healthStrip {
	var h healthStrip
	h.concerned(concerns, true)
	for _, g := range gauges {
		if WellGauge(g) {
			continue
		}
		line := healthLine{ID: g.ID, Name: g.Name, State: g.State, Since: TroubleSince(g), ToDo: g.ToDo}
		if g.State == "locked out" {
			line.Why = g.LockedWhy
		}
		h.Trouble = append(h.Trouble, line)
	}
	h.concerned(concerns, false)
	switch n := len(gauges); {
	case n == 0 && len(h.Trouble) == 0:
		h.Quiet = "no gauge on file: values are typed at the bench"
	case len(h.Trouble) == 0:
		h.Well, h.Quiet = true, show.Pick(n == 1, "gauge well", fmt.Sprintf("all %d gauges well", n))
	}
	return h
}

// concerned adds what is the matter with the record: that it is lost or not as it was written, or all else.
func (h *healthStrip) concerned(all []bench.Concern, grave bool) {
	for _, c := range all {
		if (c.Lost || c.Grave) == grave {
			h.Trouble = append(h.Trouble, healthLine{Name: ConcernWords(c), State: ConcernState(c), Since: c.Since, ToDo: c.ToDo, Page: c.Page})
		}
	}
}

// ConcernWords says what is the matter with the record or its copies.
func ConcernWords(c bench.Concern) string {
	return strings.ToUpper(c.What[:1]) + c.What[1:] + ": " + c.Words
}

// ConcernState is the word whose shape stands before that.
func ConcernState(c bench.Concern) string { return show.Pick(c.Lost || c.Grave, "failed", "alarm") }

// WellGauge says that a gauge is in verdicts and its line is as it should be.
func WellGauge(g bench.GaugeLine) bool {
	return !g.Locked && (g.State == string(devices.StateLive) || g.State == string(devices.StateWaiting))
}

// TroubleSince is since when a gauge is not well, zero while it is, and where that is not known.
func TroubleSince(g bench.GaugeLine) time.Time {
	switch {
	case WellGauge(g):
		return time.Time{}
	case g.State == "locked out":
		return g.LockedSince
	}
	return g.Since
}

// healthNow is the strip of this moment.
func (s *Site) healthNow() healthStrip {
	if snap := s.snapshot(); snap != nil {
		return healthOf(snap.Gauges, snap.Concerns)
	}
	return healthStrip{}
}

// health answers the pages' module, which asks every few seconds.
func (s *Site) health(c *Request) error {
	c.Header("Cache-Control", "no-store")
	c.Header("X-Alarms", s.alarmsNow())
	return c.ShowPart("health", s.healthNow())
}
