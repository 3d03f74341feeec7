package web

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// checkChart is the history of a gauge's checks as a drawing; the same numbers stand in the table beside it.
type checkChart struct {
	SVG     template.HTML
	Caption string
}

// The drawing's size, user units.
const (
	chartWidth, chartHeight                      = 720.0, 240.0
	chartLeft, chartRight, chartTop, chartBottom = 76.0, 150.0, 16.0, 48.0
)

// chartOf draws the zero shifts and the errors on the master over the checks, oldest first, with the limits labelled at
// their lines. Fewer than two checks make no line and no drawing.
func chartOf(g batch.Gauge, checks []batch.GaugeCheck, lengths unit.Unit, now time.Time) checkChart {
	if len(checks) < 2 {
		return checkChart{}
	}
	const most = 60
	checks = checks[max(0, len(checks)-most):]
	masterLimit := 0.0
	for _, m := range g.Masters {
		masterLimit = max(masterLimit, m.LimitMM)
	}
	span := 1.15 * max(g.ZeroLimitMM, masterLimit)
	for _, c := range checks {
		span = max(span, 1.1*math.Abs(c.ShiftMM))
		if m := c.WorstMaster(); m != nil {
			span = max(span, 1.1*math.Abs(m.ErrorMM()))
		}
	}
	if span == 0 {
		span = 0.001
	}
	x := func(i int) float64 {
		return chartLeft + (chartWidth-chartLeft-chartRight)*float64(i)/float64(len(checks)-1)
	}
	y := func(mm float64) float64 {
		mid := (chartTop + chartHeight - chartBottom) / 2
		return mid - mm/span*(chartHeight-chartBottom-chartTop)/2
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart" viewBox="0 0 %g %g" role="img" aria-labelledby="check-title check-desc">`, chartWidth, chartHeight)
	fmt.Fprintf(&b, `<title id="check-title">Checks of this gauge</title><desc id="check-desc">Zero shift and error on the master at the last %d checks; the table below has the numbers.</desc>`, len(checks))
	fmt.Fprintf(&b, `<line class="axis" x1="%g" y1="%.1f" x2="%g" y2="%.1f"/>`, chartLeft, y(0), chartWidth-chartRight, y(0))
	fmt.Fprintf(&b, `<text class="tick" x="%g" y="%.1f" text-anchor="end">0</text>`, chartLeft-8, y(0)+4)
	var labels []chartLabel
	limit := func(mm float64, words string) {
		if mm <= 0 {
			return
		}
		for _, v := range []float64{mm, -mm} {
			fmt.Fprintf(&b, `<line class="limit" x1="%g" y1="%.1f" x2="%g" y2="%.1f"/>`, chartLeft, y(v), chartWidth-chartRight, y(v))
			fmt.Fprintf(&b, `<text class="tick" x="%g" y="%.1f" text-anchor="end">%s</text>`, chartLeft-8, y(v)+4, template.HTMLEscapeString(show.Signed(v, lengths)))
		}
		labels = append(labels, chartLabel{y(mm), words})
	}
	if g.ZeroLimitMM == masterLimit {
		limit(g.ZeroLimitMM, "both limits")
	} else {
		limit(g.ZeroLimitMM, "zero limit")
		limit(masterLimit, "master limit")
	}
	line := func(class string, value func(batch.GaugeCheck) *float64) {
		var d strings.Builder
		last := -1
		for i, c := range checks {
			v := value(c)
			if v == nil {
				continue
			}
			if last < 0 {
				fmt.Fprintf(&d, "M%.1f %.1f", x(i), y(*v))
			} else {
				fmt.Fprintf(&d, "L%.1f %.1f", x(i), y(*v))
			}
			last = i
		}
		if last < 0 {
			return
		}
		fmt.Fprintf(&b, `<path class="%s" d="%s"/>`, class, d.String())
		for i, c := range checks {
			if v := value(c); v != nil && !c.Good {
				fmt.Fprintf(&b, `<a href="#check-%s"><path class="failed" d="M%.1f %.1fl10 10m0-10l-10 10"/><title>failed: %s</title></a>`, c.ID, x(i)-5, y(*v)-5, template.HTMLEscapeString(c.Why))
			} else if v != nil && class == "shift" {
				fmt.Fprintf(&b, `<circle class="%s" cx="%.1f" cy="%.1f" r="4"/>`, class, x(i), y(*v))
			} else if v != nil {
				fmt.Fprintf(&b, `<rect class="%s" x="%.1f" y="%.1f" width="8" height="8"/>`, class, x(i)-4, y(*v)-4)
			}
		}
		labels = append(labels, chartLabel{y(*value(checks[last])), show.Pick(class == "shift", "zero shift", "error on the master")})
	}
	shift := func(c batch.GaugeCheck) *float64 { return &c.ShiftMM }
	onMaster := func(c batch.GaugeCheck) *float64 {
		m := c.WorstMaster()
		if m == nil {
			return nil
		}
		e := m.ErrorMM()
		return &e
	}
	line("shift", shift)
	line("master", onMaster)
	for _, l := range apart(labels) {
		fmt.Fprintf(&b, `<text class="label" x="%g" y="%.1f">%s</text>`, chartWidth-chartRight+8, l.y+4, l.words)
	}
	base := chartHeight - chartBottom + 16.0
	fmt.Fprintf(&b, `<text class="tick" x="%g" y="%g">%s</text>`, chartLeft, base, show.When(checks[0].At, now))
	fmt.Fprintf(&b, `<text class="tick" x="%g" y="%g" text-anchor="end">%s</text>`, chartWidth-chartRight, base, show.When(checks[len(checks)-1].At, now))
	fmt.Fprintf(&b, `<text class="axis-title" x="%g" y="%g" text-anchor="middle">checks, oldest first</text>`, (chartLeft+chartWidth-chartRight)/2, chartHeight-10)
	fmt.Fprintf(&b, `<text class="axis-title" transform="translate(14 %g) rotate(-90)" text-anchor="middle">deviation, %s</text></svg>`, (chartTop+chartHeight-chartBottom)/2, lengths)
	return checkChart{SVG: template.HTML(b.String()), Caption: fmt.Sprintf("Zero shift (circles) and largest error on a master (squares) at the last %d checks; a cross marks a failed one and leads to its row.", len(checks))}
}

// chartLabel is a label at the end of a line.
type chartLabel struct {
	y     float64
	words string
}

// apart orders labels from the top and moves those that would overlap down.
func apart(labels []chartLabel) []chartLabel {
	const height = 15
	slices.SortStableFunc(labels, func(a, b chartLabel) int { return cmp.Compare(a.y, b.y) })
	for i := 1; i < len(labels); i++ {
		labels[i].y = max(labels[i].y, labels[i-1].y+height)
	}
	return labels
}
