package inspect

import (
	"math"
	"strings"
)

// repair says what the repairer has to reach: the board's end dressed to the bend curve's tangent, the twist taken out,
// relief on its target where the rod cannot bring it there.
func (p *plan) repair(a *Advice, rows []*Characteristic, rod rodState) error {
	if len(rod.stops) > 0 {
		a.Why += ". " + strings.TrimSuffix(strings.Join(rod.stops, " "), ".")
		a.Defects = rod.defects
	}
	p.assumed = "Worked out for a neck as the repairer has to leave it"
	if p.now.spec.ownWork() {
		p.assumed = "Worked out for a neck as that work has to leave it"
		p.now.spec.giveWork(a, rows)
	}
	return p.do(a, false, func(n *neck, r *Readings, _ aside) {
		if len(rod.stops) > 0 && !math.IsNaN(rod.mean) {
			n.bow(r, rod.target-rod.mean, p.ratio[0])
		}
		for _, c := range rows {
			if repair := kindOf(c.Name).repair; repair != nil {
				repair(n, r, c)
			}
		}
	})
}
