package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// CarriedReading is one reading of a crown that several crown heights rest on: crowns carried from one laying into another rest on
// the links between them, on the old and the new reading of each (see inspect/laying).
type CarriedReading struct {
	Point   PointRef // the crown that was read
	Laying  int      // in which it was
	ValueMM float64  // as read
	UMM     float64  // standard uncertainty
	Parts   []CarriedPart
}

// CarriedPart is what a reading moves: the height of a crown, by Weight times what the reading is moved by.
type CarriedPart struct {
	Track  int // index in Readings.Profile
	Fret   int // from 1; its crown is measured
	Weight float64
}

// move adds to the heights that rest on the reading what a reading of mm more would.
func (c *CarriedReading) move(r *Readings, mm float64) {
	for _, p := range c.Parts {
		*r.Profile[p.Track].ZMM[p.Fret-1] += p.Weight * mm
	}
}

// restore sets the heights that rest on the reading to those of other readings.
func (c *CarriedReading) restore(r, from *Readings) {
	for _, p := range c.Parts {
		*r.Profile[p.Track].ZMM[p.Fret-1] = *from.Profile[p.Track].ZMM[p.Fret-1]
	}
}

// addCarried adds to the uncertainties of all rows the parts of readings that several crowns rest on. Each is moved by its uncertainty
// either way, all that rests on it with it, and everything is computed again (JCGM 100:2008, 5.1.3, note 2).
func (e *evaluation) addCarried() error {
	if e.quick || len(e.readings.Carried) == 0 {
		return nil
	}
	work := e.readings.clone()
	squares := make([]fit.SumOfSquares, len(e.rows))
	for i := range e.readings.Carried {
		c := &e.readings.Carried[i]
		if c.UMM == 0 {
			continue
		}
		up, err := e.movedBy(work, c, c.UMM)
		if err != nil {
			return err
		}
		down, err := e.movedBy(work, c, -c.UMM)
		if err != nil {
			return err
		}
		for j := range e.rows {
			key := e.rows[j].key()
			u, okUp := up[key]
			d, okDown := down[key]
			if okUp && okDown {
				squares[j].Add(u, d)
			}
		}
	}
	for j := range e.rows {
		if u := e.rows[j].U; u != nil {
			*u = math.Hypot(*u, squares[j].U())
		}
	}
	return nil
}

// movedBy returns every value with a reading moved. work is a copy of the readings and is so again afterwards.
func (e *evaluation) movedBy(work *Readings, c *CarriedReading, mm float64) (map[rowKey]float64, error) {
	c.move(work, mm)
	defer c.restore(work, e.readings)
	n, err := newNeck(e.spec, work, true)
	if err != nil {
		return nil, err
	}
	moved := evaluation{neck: n, limits: e.limits}
	if err := moved.compute(); err != nil {
		return nil, err
	}
	values := make(map[rowKey]float64, len(moved.rows))
	for i := range moved.rows {
		if v := moved.rows[i].Value; v != nil {
			values[moved.rows[i].key()] = *v
		}
	}
	return values, nil
}
