package inspect

// nutWork is what is worked at where an open string lies: the nut's slots, or the zero fret.
type nutWork struct{ do, why, high, low string }

// Where open strings lie in the nut's slots, and where they lie on a zero fret and the slots only guide them.
var (
	slotWork = nutWork{low: "too low: fill the slot or change the nut; nothing can be taken off"}
	zeroWork = nutWork{
		do:   "see to the zero fret",
		why:  ". The open strings lie on the zero fret and the nut only guides them: see first that each lies on it and not on its slot's floor",
		high: "what still stands high off the zero fret under it",
		low:  "the zero fret is too low under it: replace it; nothing can be put on",
	}
)

// nut says how much to take out of each slot, or that it must be filled; on a neck with a zero fret, the same of that.
func (p *plan) nut(a *Advice, rows []*Characteristic, _ rodState) error {
	on := slotWork
	if p.now.spec.Neck.ZeroFret {
		on = zeroWork
	}
	a.Do = on.do
	a.Why += on.why
	by := make([]float64, len(rows)) // down
	for i, c := range rows {
		by[i] = *c.Value - targetOf(c, *c.Value)
		item := AdviceItem{String: c.String}
		if by[i] > 0 {
			item.AmountMM, item.Note = &by[i], on.high
		} else {
			item.Note = on.low
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
