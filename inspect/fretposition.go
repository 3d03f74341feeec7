package inspect

// fretPositions adds how far each fret stands from its place, x_n against L (1 - 2^(-n/12)), and with it how far its
// distance from the fret before, the nut for fret 1, is from its own. The readings bring no uncertainty for places.
func (e *evaluation) fretPositions() error {
	before := 0.0
	known := true // the fret before was measured; the nut's front edge is 0
	for i, x := range e.readings.FretXMM {
		if x == nil {
			known = false
			continue
		}
		off := *x - e.fan.Centre.X[i]
		c := Characteristic{Name: FretPosition, Fret: i + 1, Unit: kindOf(FretPosition).Unit, Value: &off}
		if known {
			step := off - before
			c.StepMM = &step
		}
		before, known = off, true
		e.rows = append(e.rows, c)
	}
	return nil
}

func (n *neck) workFretPosition(w *workings, c *Characteristic) error {
	w.add("mm", *n.readings.FretXMM[c.Fret-1], "place as measured")
	w.add("mm", n.fan.Centre.X[c.Fret-1], "place by the formula")
	return nil
}
