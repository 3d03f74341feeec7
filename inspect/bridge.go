package inspect

import (
	"math"
	"slices"
)

// bridgeMove is how a bridge that carries all strings is to be moved: by how much it rises under the outermost string on either
// side, mm, and what every string is moved by in between, straight from one to the other.
type bridgeMove struct{ bass, treble float64 }

// at returns how far a string rises at the saddle.
func (m bridgeMove) at(share float64) float64 { return m.bass + (m.treble-m.bass)*share }

// bridged is what one string asks of the bridge: its share of the way from bass to treble, how far it should rise, and between which
// moves it is inside its limits. Infinite where it has no such limit.
type bridged struct{ share, wanted, least, most float64 }

// bound is a half-plane that a move must lie in: a bass + b treble <= c.
type bound struct{ a, b, c float64 }

// onBridge returns what every string with a limited action asks of the bridge, and which of rows' clearances ask for a rise besides.
func (e *evaluation) onBridge(rows []*Characteristic) []bridged {
	var all []bridged
	for i := range e.rows {
		c := &e.rows[i]
		asks := slices.ContainsFunc(rows, func(r *Characteristic) bool { return r.key() == c.key() })
		if c.Value == nil || c.Zone == NoLimit || c.Name != Action && !asks {
			continue
		}
		per := e.saddlePer(c)
		r := bridged{share: e.spec.acrossBridge(e.spec.FindString(c.String)), wanted: e.saddleMove(c), least: math.Inf(-1), most: math.Inf(1)}
		if c.Lower != nil {
			r.least = per * (*c.Lower - *c.Value)
		}
		if c.Upper != nil {
			r.most = per * (*c.Upper - *c.Value)
		}
		if c.Name != Action {
			r.wanted = math.NaN() // a bound only
		}
		all = append(all, r)
	}
	return all
}

// acrossBridge is how far a string stands from the outermost bass string to the outermost treble string at the bridge, 0 to 1.
func (s *Spec) acrossBridge(t *String) float64 {
	low, high, _ := s.outerStrings()
	if high.YSaddleMM == low.YSaddleMM {
		return 0
	}
	return (t.YSaddleMM - low.YSaddleMM) / (high.YSaddleMM - low.YSaddleMM)
}

// straightMove returns the move of the bridge that brings the strings nearest to what they want, in least squares, with every one
// inside its limits; only downwards where lower says so. Ok is false where no move does that.
func straightMove(strings []bridged, lower bool) (m bridgeMove, ok bool) {
	var bounds []bound
	add := func(share, most float64, sign float64) {
		if !math.IsInf(most, 0) {
			bounds = append(bounds, bound{sign * (1 - share), sign * share, sign * most})
		}
	}
	for _, s := range strings {
		add(s.share, s.most, 1)
		add(s.share, s.least, -1)
	}
	if lower {
		add(0, 0, 1)
		add(1, 0, 1)
	}
	best := math.Inf(1)
	for _, try := range candidates(strings, bounds) {
		inside := !slices.ContainsFunc(bounds, func(b bound) bool { return b.a*try.bass+b.b*try.treble > b.c+1e-9 })
		if cost := missed(strings, try); inside && cost < best {
			best, m, ok = cost, try, true
		}
	}
	return m, ok
}

// missed is the sum of the squares of what a move leaves of what the strings want.
func missed(strings []bridged, m bridgeMove) float64 {
	var sum float64
	for _, s := range strings {
		if d := m.at(s.share) - s.wanted; !math.IsNaN(d) {
			sum += d * d
		}
	}
	return sum
}

// candidates returns the moves among which the best within bounds lies: the least-squares move, the one on each bound, and the corners
// of bounds (a convex square sum over a polygon has its least value inside, on an edge or at a corner).
func candidates(strings []bridged, bounds []bound) []bridgeMove {
	var all []bridgeMove
	add := func(bass, treble float64) {
		if !math.IsNaN(bass+treble) && !math.IsInf(bass+treble, 0) {
			all = append(all, bridgeMove{bass, treble})
		}
	}
	// Normal equations of sum (bass (1 - s) + treble s - w)^2.
	var aa, ab, bb, aw, bw float64
	for _, s := range strings {
		if math.IsNaN(s.wanted) {
			continue
		}
		p, q := 1-s.share, s.share
		aa, ab, bb, aw, bw = aa+p*p, ab+p*q, bb+q*q, aw+p*s.wanted, bw+q*s.wanted
	}
	if det := aa*bb - ab*ab; det > 1e-9 {
		add((aw*bb-bw*ab)/det, (bw*aa-aw*ab)/det)
	} else if aa+2*ab+bb > 0 { // one string only: the bridge moves as a whole
		add((aw+bw)/(aa+2*ab+bb), (aw+bw)/(aa+2*ab+bb))
	}
	for i, e := range bounds {
		// On a bound: from its foot along its direction, the least of the square sum.
		n := e.a*e.a + e.b*e.b
		x, y := e.a*e.c/n, e.b*e.c/n
		dx, dy := -e.b, e.a
		if curved := aa*dx*dx + 2*ab*dx*dy + bb*dy*dy; curved > 1e-12 {
			t := -((aa*x+ab*y-aw)*dx + (ab*x+bb*y-bw)*dy) / curved
			add(x+t*dx, y+t*dy)
		} else {
			add(x, y)
		}
		for _, o := range bounds[:i] {
			if det := e.a*o.b - e.b*o.a; math.Abs(det) > 1e-12 {
				add((e.c*o.b-o.c*e.b)/det, (e.a*o.c-o.a*e.c)/det)
			}
		}
	}
	return all
}

// Notes on the ends of a saddle.
const (
	noteUnderside = "off the saddle's underside"
	notePost      = "at its post"
	noteNewSaddle = "a higher saddle, or a shim under it: nothing can be put on"
)

// wholeBridge says how far a bridge that carries all strings moves at its bass and its treble end: a saddle of one piece is taken
// down from below, where all strings that have an action's limit come inside by that, and else made anew; two posts go either way.
func (p *plan) wholeBridge(a *Advice, rows []*Characteristic) error {
	strings := p.then.onBridge(rows)
	one := p.now.spec.Neck.BridgeKind() == OneSaddle
	m, fits := straightMove(strings, one)
	if !fits && one {
		m, fits = straightMove(strings, false)
	}
	if !fits { // no straight move serves every string: the nearest one
		free := slices.Clone(strings)
		for i := range free {
			free[i].least, free[i].most = math.Inf(-1), math.Inf(1)
		}
		m, _ = straightMove(free, one && meanWanted(free) < 0)
	}
	note := notePost
	switch {
	case one && (m.bass > 0 || m.treble > 0):
		note = noteNewSaddle
	case one:
		note = noteUnderside
	}
	move := func(share float64) work {
		return func(n *neck, r *Readings, _ aside) {
			for i := range n.spec.Strings {
				t := &n.spec.Strings[i]
				n.moveSaddle(r, t.Number, share*m.at(n.spec.acrossBridge(t)))
			}
		}
	}
	share, err := p.milder(a, rows, move)
	if err != nil {
		return err
	}
	bassEnd, trebleEnd := share*m.bass, share*m.treble
	a.Items = []AdviceItem{{Track: bass, AmountMM: &bassEnd, Note: note}, {Track: treble, AmountMM: &trebleEnd, Note: note}}
	for i := range a.Items {
		if *a.Items[i].AmountMM == 0 {
			a.Items[i].Note = ""
		}
	}
	a.Why += ". " + p.now.spec.bridgeWords()
	if err := p.do(a, false, move(share)); err != nil {
		return err
	}
	if left := p.then.failing(StepAction); !fits && len(left) > 0 {
		a.Why += ". No straight move brings every string inside: after it " + p.then.causes(left) + ", which the heights of the strings among themselves at the bridge must mend"
	}
	return nil
}

// meanWanted is how far the strings should rise on the average.
func meanWanted(strings []bridged) float64 {
	var sum float64
	for _, s := range strings {
		if !math.IsNaN(s.wanted) {
			sum += s.wanted
		}
	}
	return sum
}

// bridgeWords says how a bridge under all strings is worked at.
func (s *Spec) bridgeWords() string {
	low, high, _ := s.outerStrings()
	words := "The bridge stands on two posts and carries all strings: the ends are under "
	if s.Neck.BridgeKind() == OneSaddle {
		words = "One saddle carries all strings: straight from end to end, so that its top keeps its arc; the ends are under "
	}
	return words + stringsWords([]int{low.Number, high.Number})
}
