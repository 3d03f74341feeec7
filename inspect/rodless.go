package inspect

import (
	"fmt"
	"math"
)

// rodlessWords says what helps a neck without a truss rod: strings of another tension, the way that the relief asks for, or somebody
// else's work; no tension helps where no common change brings both sides inside.
func (e *evaluation) rodlessWords(st *rodState, uneven bool) string {
	too := st.mean - st.target
	if math.IsNaN(too) { // the leaves tell a direction only
		too = map[string]float64{"tighten": 1, "loosen": -1}[st.direction]
	}
	const words = "The neck has no truss rod. "
	others := "live with it, or fretwork or heat" + e.spec.byWhom(" by a repairer", "")
	if uneven || too == 0 {
		return words + "Strings of another tension move both sides alike and cannot even them: " + others
	}
	way := "Strings of lower tension let it straighten"
	if too < 0 {
		way = "Strings of higher tension pull more relief in"
	}
	pull, u := e.spec.PullOf()
	now := fmt.Sprintf("%.0f N", pull)
	if u > 0 {
		now = fmt.Sprintf("about %.0f ± %.0f N", pull, 2*u)
	}
	return words + way + "; else " + others + ". Its strings now pull " + now + " together"
}
