package inspect

// nutHeights adds the nut heights as read.
func (e *evaluation) nutHeights() error {
	for i := range e.readings.NutHeight {
		h := &e.readings.NutHeight[i]
		e.add(Characteristic{Name: NutHeight, String: h.String}, h.HeightMM, e.own(h.UMM))
	}
	return nil
}

func (p *points) nutHeight(c *Characteristic) {
	p.add(PointRef{Kind: PointNutHeight, String: c.String})
}
