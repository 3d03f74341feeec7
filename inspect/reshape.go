package inspect

// reshape lifts the board of a strung neck before the body joint by what lift gives at a place: the crowns move, the nut and
// a fret that a string is held at carry the string along, the saddle stays. The height of a string held at x_h (0 is
// the nut) over fret f changes by ratio (lift(x_h) (L - x_f)/(L - x_h) - lift(x_f)); ratio is 1 where the lift is known all along.
func (n *neck) reshape(r *Readings, ratio float64, lift func(x, y float64) float64) {
	for i, t := range n.tracks {
		for j, z := range r.Profile[i].ZMM {
			if z != nil {
				*z += lift(n.x[j], t.y[j])
			}
		}
	}
	l := n.spec.Neck.ScaleMM
	for i := range n.spec.Strings {
		s := &n.spec.Strings[i]
		at := func(x float64) float64 { return lift(x, TrackY(s.YNutMM, s.YSaddleMM, l, x)) }
		r.moveString(s.Number, func(fret, held int) float64 {
			x, xh := n.x[fret-1], n.heldAt(held)
			return ratio * (at(xh)*(l-x)/(l-xh) - at(x))
		})
	}
}

// heldAt is the place of a held fret; 0 is the nut.
func (n *neck) heldAt(fret int) float64 {
	if fret == 0 {
		return 0
	}
	return n.x[fret-1]
}

// bow changes relief at the relief fret by mm: a uniform curvature c before the joint fret b, lift(x) = c (x_b - x)^2/2, so
// that relief(k) changes by c/2 (x_k - x_a)(x_b - x_k) (see reliefToAction). What that does to the strings is multiplied by ratio.
func (n *neck) bow(r *Readings, mm, ratio float64) {
	xa, xb := n.x[n.a-1], n.x[n.b-1]
	relief := func(fret int) float64 { return (n.x[fret-1] - xa) * (xb - n.x[fret-1]) / 2 } // for a curvature of 1
	c := mm / relief(n.k)
	n.reshape(r, ratio, func(x, _ float64) float64 {
		d := max(xb-x, 0)
		return c * d * d / 2
	})
	for i := range r.Beam {
		r.Beam[i].ReadingMM += mm / beamFactor(n.spec, &r.Beam[i])
	}
	for i := range r.Leaves {
		l := &r.Leaves[i]
		for _, leaf := range []*float64{l.PassesMM, l.StopsMM} {
			if leaf != nil {
				*leaf += c * relief(l.Fret)
			}
		}
	}
}

// lower takes metal off one crown. The strings stay where they are, unless they are held there.
func (n *neck) lower(r *Readings, track string, fret int, mm float64) {
	for i := range r.Profile {
		if t := &r.Profile[i]; t.Track == track && t.ZMM[fret-1] != nil {
			*t.ZMM[fret-1] -= mm
		}
	}
	l := n.spec.Neck.ScaleMM
	for i := range n.strings {
		s := &n.strings[i]
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
				dh -= drop * (l - n.x[over-1]) / (l - n.x[held-1])
			}
			return dh
		})
	}
}

// moveSaddle raises a string's saddle: the string turns about the nut or the fret it is held at.
func (n *neck) moveSaddle(r *Readings, number int, mm float64) {
	l := n.spec.Neck.ScaleMM
	r.moveString(number, func(fret, held int) float64 {
		x := n.heldAt(held)
		return mm * (n.x[fret-1] - x) / (l - x)
	})
}

// moveNut raises an open string over fret 1 by its nut slot: it turns about the saddle.
func (n *neck) moveNut(r *Readings, number int, mm float64) {
	l := n.spec.Neck.ScaleMM
	r.moveString(number, func(fret, held int) float64 {
		if held > 0 {
			return 0
		}
		return mm * (l - n.x[fret-1]) / (l - n.x[0])
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
