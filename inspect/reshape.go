package inspect

// reshape lifts the board of a strung neck before the body joint by what lift gives at a place: the crowns move, the nut and
// a fret that a string is held at carry the string along, the saddle stays. The height of a string held at x_h (its nut or a fret)
// over fret f changes by ratio (lift(x_h) (x_s - x_f)/(x_s - x_h) - lift(x_f)); ratio is 1 where the lift is known all along. lift is
// asked for places of a track or string, l.
func (n *neck) reshape(r *Readings, ratio float64, lift func(l *Line, x, y float64) float64) {
	for i, t := range n.tracks {
		for j, z := range r.Profile[i].ZMM {
			if z != nil {
				*z += lift(&t.line, t.x[j], t.y[j])
			}
		}
	}
	for i := range n.strings {
		l := &n.strings[i].line
		at := func(x float64) float64 { return lift(l, x, l.YAt(x)) }
		r.moveString(n.strings[i].number, func(fret, held int) float64 {
			x, xh := l.At(fret), l.At(held)
			return ratio * (at(xh)*(l.Saddle-x)/(l.Saddle-xh) - at(x))
		})
	}
}

// bow changes the mean relief at the relief fret, over the tracks that MeanRelief takes, by mm: a uniform curvature c before the
// joint fret b, lift(x) = c (x_b - x)^2/2 with x_b the line's own, so that relief(k) of a track changes by c/2 (x_k - x_a)(x_b - x_k)
// (see reliefPerCurvature, actionPerCurvature). What that does to the strings is multiplied by ratio.
func (n *neck) bow(r *Readings, mm, ratio float64) {
	c := mm / n.spec.meanReliefPerCurvature(n.meanLines())
	n.reshape(r, ratio, func(l *Line, x, _ float64) float64 {
		d := max(l.At(n.b)-x, 0)
		return c * d * d / 2
	})
	n.square(r, c)
	for i := range r.Beam {
		b := &r.Beam[i]
		l := n.lineOf(b.Track)
		b.ReadingMM += c * n.spec.reliefPerCurvature(l, n.k) / n.spec.beamFactor(l, b)
	}
	for i := range r.Leaves {
		l := &r.Leaves[i]
		for _, leaf := range []*float64{l.PassesMM, l.StopsMM} {
			if leaf != nil {
				*leaf += c * n.spec.reliefPerCurvature(n.lineOf(l.Track), l.Fret)
			}
		}
	}
}

// square takes out of the tracks, bent by a curvature c before their own joints, what turned them against each other: bending does not
// twist a neck. Each is brought to c (X_b - x)^2/2 with the centre line's X_b by a straight line, which nothing along it knows of.
func (n *neck) square(r *Readings, c float64) {
	centre := n.fan.Centre.At(n.b)
	for i, t := range n.tracks {
		off := t.line.At(n.b) - centre
		for j, z := range r.Profile[i].ZMM {
			if z != nil {
				*z -= c*off*(centre-t.x[j]) + c*off*off/2
			}
		}
	}
}

// meanLines returns the lines of the tracks that MeanRelief takes the mean over: those with a limited relief, else all with one.
func (n *neck) meanLines() []Line {
	var limited, all []Line
	for _, name := range n.readTracks() {
		l := n.lineOf(name)
		all = append(all, l)
		if (limits{n.spec.Limits}).find(rowKey{name: Relief, track: name}) != nil {
			limited = append(limited, l)
		}
	}
	switch {
	case len(limited) > 0:
		return limited
	case len(all) > 0:
		return all
	}
	return []Line{n.fan.Centre}
}

// lower takes metal off one crown. The strings stay where they are, unless they are held there.
func (n *neck) lower(r *Readings, track string, fret int, mm float64) {
	for i := range r.Profile {
		if t := &r.Profile[i]; t.Track == track && t.ZMM[fret-1] != nil {
			*t.ZMM[fret-1] -= mm
		}
	}
	for i := range n.strings {
		s := &n.strings[i]
		l := &s.line
		c := &s.crowns[fret-1]
		var drop float64 // under the string
		if c.low != nil && c.low.name == track {
			drop += (1 - c.share) * mm
		}
		if c.high != nil && c.high.name == track {
			drop += c.share * mm
		}
		if drop == 0 {
			continue
		}
		r.moveString(s.number, func(over, held int) float64 {
			var dh float64
			if over == fret {
				dh = drop
			}
			if held == fret {
				dh -= drop * (l.Saddle - l.At(over)) / (l.Saddle - l.At(held))
			}
			return dh
		})
	}
}

// moveSaddle raises a string's saddle: the string turns about the nut or the fret it is held at.
func (n *neck) moveSaddle(r *Readings, number int, mm float64) {
	l := &n.stringOf(number).line
	r.moveString(number, func(fret, held int) float64 {
		x := l.At(held)
		return mm * (l.At(fret) - x) / (l.Saddle - x)
	})
}

// moveNut raises an open string over fret 1 by its nut slot: it turns about the saddle.
func (n *neck) moveNut(r *Readings, number int, mm float64) {
	l := &n.stringOf(number).line
	r.moveString(number, func(fret, held int) float64 {
		if held > 0 {
			return 0
		}
		return mm * (l.Saddle - l.At(fret)) / (l.Saddle - l.At(1))
	})
}

// moveString changes the heights of one string by what dh gives for the fret and the held fret.
func (r *Readings) moveString(number int, dh func(fret, held int) float64) {
	for i := range r.Action {
		if h := &r.Action[i]; h.String == number {
			h.HeightMM += dh(h.Fret, h.HeldFret)
		}
	}
	for i := range r.NutHeight {
		if h := &r.NutHeight[i]; h.String == number {
			h.HeightMM += dh(1, 0)
		}
	}
}
