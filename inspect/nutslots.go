package inspect

// nut says how much to take out of each slot, or that it must be filled.
func (p *plan) nut(a *Advice, rows []*Characteristic, _ rodState) error {
	by := make([]float64, len(rows)) // down
	for i, c := range rows {
		by[i] = *c.Value - targetOf(c, *c.Value)
		item := AdviceItem{String: c.String}
		if by[i] > 0 {
			item.AmountMM = &by[i]
		} else {
			item.Note = "too low: fill the slot or change the nut; nothing can be taken off"
		}
		a.Items = append(a.Items, item)
	}
	move := func(share float64) work {
		return func(n *neck, r *Readings, _ aside) {
			for i, c := range rows {
				n.moveNut(r, c.String, -share*by[i])
			}
		}
	}
	share, err := p.milder(a, rows, move)
	for i := range by {
		by[i] *= share
	}
	if err != nil {
		return err
	}
	return p.do(a, false, move(1))
}
