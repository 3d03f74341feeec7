package inspect

import "math"

// intonations adds the intonation of every pair of pitches that was read.
func (e *evaluation) intonations() error {
	for i := range e.readings.Intonation {
		n := &e.readings.Intonation[i]
		e.add(Characteristic{Name: Intonation, String: n.String, Fret: n.Fret}, IntonationCents(n.OpenHz, n.FrettedHz, n.Fret), 0)
	}
	return nil
}

func (n *neck) workIntonation(w *workings, c *Characteristic) error {
	for i := range n.readings.Intonation {
		if p := &n.readings.Intonation[i]; p.String == c.String && p.Fret == c.Fret {
			w.add("Hz", p.OpenHz, "open string")
			w.add("Hz", p.FrettedHz, "pressed at fret %d", p.Fret)
			w.add("Hz", p.OpenHz*math.Exp2(float64(p.Fret)/12), "equal temperament above the open string")
		}
	}
	return nil
}
