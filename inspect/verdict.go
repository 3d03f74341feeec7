package inspect

// judge gives every row its limit and zone.
func (e *evaluation) judge() error {
	ok, off, unread := e.atPitch(e.limits)
	e.gated, e.off, e.unread = !ok, off, unread
	for i := range e.rows {
		if err := e.judgeRow(&e.rows[i]); err != nil {
			return err
		}
	}
	return nil
}

// judgeRow gives one row its limit and zone.
func (e *evaluation) judgeRow(c *Characteristic) error {
	c.Zone = NoLimit
	l := e.limits.find(c.key())
	if l == nil {
		return nil
	}
	c.Lower, c.Target, c.Upper = l.Bounds()
	k, leaves := kindOf(c.Name), c.Method == ByLeaves
	if c.Value == nil && !leaves || k.Gated && e.gated || c.CarriedFrom == nil && k.incomplete != nil && k.incomplete(e.neck, c) {
		c.Zone = NotMeasured
		return nil
	}
	if leaves {
		c.Zone = LeafZone(c.IntervalMM[0], c.IntervalMM[1], c.Lower, c.Upper)
		return nil
	}
	var u float64
	if c.U != nil {
		u = *c.U
		p := ConformProbability(*c.Value, u, c.Lower, c.Upper)
		c.PConform = &p
	}
	var err error
	c.Zone, err = Judge(e.spec.Decision.Rule, e.spec.Decision.Guard(), *c.Value, u, c.Lower, c.Upper)
	return err
}
