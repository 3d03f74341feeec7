package devices

import "time"

// Light is what a lamp on a port's outgoing modem lines shows: RTS lights green, DTR red, both together are amber.
type Light int32

// The lights.
const (
	Dark Light = iota
	Green
	Red
	Amber
)

// lines are the modem lines that a light needs.
func (l Light) lines() (rts, dtr bool) { return l == Green || l == Amber, l == Red || l == Amber }

// Shine has every lamp show a light, those too that are plugged in later. It returns at once.
func (s *Supervisor) Shine(l Light) { s.light.Store(int32(l)) }

// shine sets the port's lines where it is a lamp's and another light is due. Where the port cannot set them it is tried again every second.
func (s *session) shine(now time.Time) {
	if s.gauges[0].gauge.Capture != CaptureLamp {
		return
	}
	want := Light(s.s.light.Load())
	if !s.lit.IsZero() && (!s.blind && want == s.shown || s.blind && now.Sub(s.lit) < lookAgain) {
		return
	}
	rts, dtr := want.lines()
	err := s.port.lines(rts, dtr)
	s.shown, s.lit, s.blind = want, now, err != nil
	why := ""
	if err != nil {
		why = "The lamp cannot be lit: this port does not let its modem lines be set. It is tried again every second; if that lasts, wire the lamp to an adapter with RTS and DTR."
	}
	s.gauges[0].footless(why, s.s.opt.OnHealth)
}
