package show

import (
	"fmt"
	"html/template"

	"sagitta/inspect/unit"
)

// An arc is drawn 22 px a mm, the same for every neck so that a list is compared at a glance, and no further than it has room.
const (
	arcPerMM  = 22.0
	arcMostMM = 0.9
)

// ReliefArc draws a neck's relief as the house sign: an arc under its chord, over it for a back-bow, with its number. relief is in
// mm, nil where the neck has none.
func ReliefArc(relief *float64, u unit.Unit) template.HTML {
	if relief == nil {
		return ""
	}
	depth := 2 * arcPerMM * max(-arcMostMM/3, min(arcMostMM, *relief)) // of the curve's control point: the arc is half as deep
	return template.HTML(fmt.Sprintf(`<span class="relief"><svg viewBox="0 0 64 30" width="64" height="30" aria-hidden="true"><path class="chord" d="M1 8h62"/><path class="arc" d="M1 8q31 %.1f 62 0"/></svg> %s</span>`,
		depth, template.HTMLEscapeString(Fixed(u.From(*relief), u.Digits(0.01), true))))
}
