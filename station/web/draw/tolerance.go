package draw

import (
	"fmt"
	"html/template"
	"math"

	"sagitta/station/web/show"
)

// ToleranceBar draws where a value lies between its limits: the limits as strokes, what is allowed shaded, the value as a
// mark, its expanded uncertainty as a line through it. largest scales a tolerance with one limit at zero.
func ToleranceBar(value, u float64, lower, target, upper *float64, largest float64, large bool) template.HTML {
	lo, hi := barEnds(lower, upper, largest)
	const left, right = 30.0, 170.0
	at := func(x float64) float64 {
		return math.Max(4, math.Min(196, left+(x-lo)/(hi-lo)*(right-left)))
	}
	from, to := 0.0, 200.0 // what is allowed goes on where there is no limit
	limits := ""
	if lower != nil {
		from = at(*lower)
		limits += fmt.Sprintf(`<path class="limit" d="M%.1f 2V18"/>`, from)
	}
	if upper != nil {
		to = at(*upper)
		limits += fmt.Sprintf(`<path class="limit" d="M%.1f 2V18"/>`, to)
	}
	out := fmt.Sprintf(`<svg class="%s" viewBox="0 0 200 20" preserveAspectRatio="none" aria-hidden="true"><path class="axis" d="M0 10H200"/><rect class="inside" x="%.1f" y="5" width="%.1f" height="10"/>%s`,
		show.Pick(large, "tolerance large", "tolerance"), from, to-from, limits)
	if target != nil {
		out += fmt.Sprintf(`<path class="target" d="M%.1f 5V15"/>`, at(*target))
	}
	if u > 0 {
		out += fmt.Sprintf(`<path class="spread" d="M%.1f 10H%.1f"/>`, at(value-u), at(value+u))
	}
	x := at(value)
	out += fmt.Sprintf(`<path class="value" d="M%.1f 1l4 9-4 9-4-9z"/></svg>`, x)
	return template.HTML(out)
}

// barEnds are the values at a bar's two fixed places: both limits, or, where there is one, zero and 2.5 times the limit
// (the largest value of its rows where the limit is zero), so that equal values stand at equal places.
func barEnds(lower, upper *float64, largest float64) (lo, hi float64) {
	if lower != nil && upper != nil && *upper > *lower {
		return *lower, *upper
	}
	one := 0.0
	switch {
	case upper != nil:
		one = *upper
	case lower != nil:
		one = *lower
	}
	span := 2.5 * math.Abs(one)
	if span == 0 {
		span = largest
	}
	if span == 0 {
		span = 0.1
	}
	if one < 0 || one == 0 && upper != nil && lower == nil {
		return -span, 0
	}
	return 0, span
}
