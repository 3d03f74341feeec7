package inspect

import "slices"

// action says how far each string's saddle must move, or the bridge that carries all of them.
func (p *plan) action(a *Advice, rows []*Characteristic, _ rodState) error {
	switch p.now.spec.Neck.BridgeKind() {
	case OneSaddle, TwoPosts:
		return p.wholeBridge(a, rows)
	}
	moved := map[int]bool{}
	for _, c := range rows {
		if moved[c.String] {
			continue
		}
		moved[c.String] = true
		by := p.then.saddleMove(c)
		a.Items = append(a.Items, AdviceItem{String: c.String, AmountMM: &by})
	}
	slices.SortStableFunc(a.Items, func(x, y AdviceItem) int { return x.String - y.String })
	move := func(share float64) work {
		return func(n *neck, r *Readings, _ aside) {
			for _, item := range a.Items {
				n.moveSaddle(r, item.String, share**item.AmountMM)
			}
		}
	}
	share, err := p.milder(a, rows, move)
	if err != nil {
		return err
	}
	for _, item := range a.Items {
		*item.AmountMM *= share
	}
	return p.do(a, false, move(1))
}

// saddleMove is how far the saddle must rise to bring an action to its target, or a clearance to its bound.
func (e *evaluation) saddleMove(c *Characteristic) float64 {
	return (targetOf(c, *c.Value) - *c.Value) * e.saddlePer(c)
}

// saddlePer is how far the saddle must rise for an action, or a clearance where it is least, to rise by 1.
func (e *evaluation) saddlePer(c *Characteristic) float64 {
	held, over := c.HeldFret, c.Fret
	if c.Name != Action {
		if held, over = e.worstGap(c); over == 0 {
			return 1
		}
	}
	l := &e.stringOf(c.String).line
	x := l.At(held) // the string turns about it
	return (l.Saddle - x) / (l.At(over) - x)
}
