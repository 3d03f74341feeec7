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
	leaves := c.Method == "leaves"
	if c.Value == nil && !leaves || kinds[c.Name].gated && e.gated || e.incomplete(c) {
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
	c.Zone, err = Judge(e.spec.Decision.Rule, e.spec.Decision.GuardFactor, *c.Value, u, c.Lower, c.Upper)
	return err
}

// incomplete reports that a maximum or zone lacks a crown of its range, so that its value may hide the worst of them.
func (e *evaluation) incomplete(c *Characteristic) bool {
	switch c.Name {
	case reliefMax:
		return e.track(c.Track).missing(e.a, e.b)
	case straightness:
		return !e.track(c.Track).complete
	case hump:
		return e.track(c.Track).missing(e.b+1, len(e.x))
	case flatness:
		return e.missing(len(e.x))
	case levelZone:
		return e.missing(e.b)
	case clearance, margin:
		for i := range e.strings {
			if e.strings[i].number == c.String {
				return !e.strings[i].complete()
			}
		}
	}
	return false
}

// missing reports a crown of frets 1 to last that is missing on a measured track, or a track of the routine that is
// missing altogether.
func (n *neck) missing(last int) bool {
	for _, t := range n.tracks {
		if t.missing(1, last) {
			return true
		}
	}
	if n.spec.Routine == nil {
		return false
	}
	for _, name := range n.spec.Routine.Tracks {
		if n.track(name) == nil {
			return true
		}
	}
	return false
}
