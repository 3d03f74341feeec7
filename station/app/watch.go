package app

import (
	"log/slog"
	"sync"

	"sagitta/devices"
)

// watch passes on every change of a gauge's health and logs which ports are lost and found.
type watch struct {
	show func(devices.Health)

	mu   sync.Mutex
	lost map[string]bool // by the gauge's ID
}

// lostStates are those in which a gauge's port cannot be read.
var lostStates = map[devices.State]bool{
	devices.StateUnplugged: true, devices.StateMissing: true, devices.StateBusy: true, devices.StateDenied: true,
	devices.StateAlike: true, devices.StateFailed: true,
}

// health is devices.Options.OnHealth; it is called from every port's goroutine.
func (w *watch) health(h devices.Health) {
	w.log(h)
	w.show(h)
}

func (w *watch) log(h devices.Health) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.lost == nil {
		w.lost = map[string]bool{}
	}
	was, now := w.lost[h.Gauge], lostStates[h.State]
	w.lost[h.Gauge] = now
	about := []any{"gauge", h.Gauge, "port", h.Port, "state", h.State, "words", h.Words, "reconnections", h.Reconnections}
	switch {
	case now:
		slog.Warn("port lost", about...)
	case was:
		slog.Info("port found", about...)
	default:
		slog.Debug("gauge", about...)
	}
}
