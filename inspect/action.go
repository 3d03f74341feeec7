package inspect

// actions adds the actions as read.
func (e *evaluation) actions() error {
	for i := range e.readings.Action {
		h := &e.readings.Action[i]
		e.add(Characteristic{Name: Action, String: h.String, Fret: h.Fret, HeldFret: h.HeldFret}, h.HeightMM, e.own(h.UMM))
	}
	return nil
}

func (p *points) action(c *Characteristic) {
	p.add(PointRef{Kind: PointAction, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret})
}

// workHeight adds a height as it was read.
func workHeight(_ *neck, w *workings, c *Characteristic) error {
	w.add("mm", *c.Value, "height as read")
	return nil
}
