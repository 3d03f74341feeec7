package bench

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
)

// byEye is the gauge without a line with which a point is measured that is entered by hand: the one that it is asked of, else the first
// that measures such points; nil where there is none, and nobody knows what it was measured with.
func (s *shelf) byEye(p *routine.Point) *batch.Gauge {
	if g := s.gauge(p.GaugeID); g != nil && g.ByEye() {
		return g
	}
	for i := range s.gauges {
		if g := &s.gauges[i]; g.ByEye() && g.Serves(p.Point.Kind) {
			return g
		}
	}
	return nil
}

// readByEye fills in a reading of a gauge without a line: corrected, with the gauge's own uncertainty unless one was entered, and with
// the zero in force. Refused while the gauge is locked out, and while nobody knows where a beam's feet stand.
func (b *Bench) readByEye(g *batch.Gauge, p *routine.Point, mm float64, r *batch.Reading) error {
	if why := b.locked(g); why != "" {
		return batch.Conflict.Errorf("the %s is locked out: %s. Check it, then measure %s", g.Name, why, p.Words)
	}
	if g.OnTwoFeet() && !g.FeetKnown() {
		return batch.Conflict.Errorf("nobody has entered yet where the feet of the %s stand: enter that first, once", g.Name)
	}
	zero, check := b.zero(g.ID)
	r.Value, r.Decoded = g.Correct(mm, p.AlongMM, zero), mm
	r.GaugeID, r.CheckID = g.ID, check
	r.FeetMM, r.PlungerMM = g.FeetMM, g.PlungerMM
	if r.U == 0 {
		r.U, r.URepeat = g.U(), g.URepeat()
	}
	return nil
}

// dialTravel is more than any dial of a beam shows, mm. Common practice, no source.
const dialTravel = 25.0

// readsCheck takes a value for a step of the check of a gauge without a line; done is false where no such check is on the bench.
func (b *Bench) readsCheck(ctx context.Context, v value) (done bool, err error) {
	s, on := b.state.(checking)
	if !on || !s.Gauge.ByEye() {
		return false, nil
	}
	mm, ok := v.mm()
	if !ok {
		return false, nil
	}
	if math.Abs(mm) > dialTravel {
		return true, batch.Mendable.Errorf("%g mm is more than a dial shows, %g mm: a serial number is scanned once the check is over", mm, dialTravel)
	}
	b.line(s.Gauge.ID).lastUnit = v.unit
	in, _ := unit.Parse(v.unit)
	return true, s.read(ctx, b, devices.Reading{Gauge: s.Gauge.ID, At: b.now(), Key: true, Value: decode.Value{Digits: v.digits, Unit: v.unit, Value: v.number, UnitNorm: in.String(), MM: mm}})
}

// shows confirms that the dial was turned to zero; what it shows on a master is typed.
func (s checking) shows(ctx context.Context, b *Bench) error {
	if s.Master() != nil {
		return batch.Conflict.Errorf("the %s is read by eye: type what it shows on the %g mm master", s.Gauge.Name, s.Master().NominalMM)
	}
	_, err := b.readsCheck(ctx, value{digits: "0", unit: unit.Millimetre.String()})
	return err
}

// stepByEye says what to do at a step of the check of a gauge without a line.
func stepByEye(g *batch.Gauge, m *batch.Master) string {
	if m != nil {
		return fmt.Sprintf("Put the %g mm master under the %s and type what it shows.", m.NominalMM, g.Name)
	}
	return fmt.Sprintf("Stand the %s on the flat reference. Turn its dial to zero and confirm with Space, or type what it shows.", g.Name)
}

// Feet are the places of a beam's feet and of what it reads between them, mm from the nut.
type Feet struct{ First, Reads, Second float64 }

// SetFeet enters, once and for all necks, where the feet of the beam stand that is asked for.
func (b *Bench) SetFeet(ctx context.Context, at Feet) error {
	return b.byHand(ctx, func() error {
		n := b.neck()
		g := (*batch.Gauge)(nil)
		if n != nil && n.point() != nil {
			g = b.gauge(n.point().GaugeID)
		}
		if g == nil || !g.OnTwoFeet() {
			return batch.Conflict.Errorf("no beam is asked for now: where its feet stand is entered on its page under Gauges")
		}
		if err := b.signedOn(); err != nil {
			return err
		}
		if !(at.First < at.Reads && at.Reads < at.Second) || at.First < -100 || at.Second > 1000 {
			return batch.Mendable.Errorf("feet at %s and %s, reading at %s: the reading is taken between the feet, all within a neck's length of the nut",
				lengthWords(at.First), lengthWords(at.Second), lengthWords(at.Reads))
		}
		entry := *g
		entry.FeetMM, entry.PlungerMM = [2]float64{at.First, at.Second}, at.Reads
		saved, err := b.rec.SaveGauge(context.WithoutCancel(ctx), b.inspector, entry)
		if err != nil {
			return err
		}
		*g = saved
		b.say(false, fmt.Sprintf("The feet of the %s stand %s apart. Now measure %s.", g.Name, lengthWords(at.Second-at.First), n.point().Words))
		return nil
	})
}

// PlaceOf reads where a foot of a beam stands on a line: "fret 3", or a length from its nut, without a unit in the one given.
func PlaceOf(text string, line inspect.Line, without unit.Unit) (mm float64, err error) {
	if number, is := strings.CutPrefix(text, "fret "); is {
		fret, notWhole := strconv.Atoi(strings.TrimSpace(number))
		if notWhole != nil || fret < 1 || fret > len(line.X) {
			return 0, batch.Mendable.Errorf("%s: this neck has frets 1 to %d", text, len(line.X))
		}
		return line.At(fret) - line.Nut, nil
	}
	if mm, err = unit.ReadLength(text, without); err != nil {
		return 0, batch.Mendable.Errorf("%w, or a fret such as fret 3", err)
	}
	return mm, nil
}

// needsFeet says that a beam is asked for of which nobody has entered where its feet stand.
func (s *shelf) needsFeet(p *routine.Point) bool {
	g := s.gauge(p.GaugeID)
	return g != nil && p.Point.Kind == batch.BeamReading && g.OnTwoFeet() && !g.FeetKnown()
}
