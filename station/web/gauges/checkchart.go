package gauges

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
	d := checkDrawing{checks: checks, lengths: lengths, span: spanOf(checks, max(g.ZeroLimitMM, masterLimit))}
	b := &d.svg
	fmt.Fprintf(b, `<svg class="chart" viewBox="0 0 %g %g" role="img" aria-labelledby="check-title check-desc">`, chartWidth, chartHeight)
	fmt.Fprintf(b, `<title id="check-title">Checks of this gauge</title><desc id="check-desc">Zero shift and error on the master at the last %d checks; the table below has the numbers.</desc>`, len(checks))
	fmt.Fprintf(b, `<line class="axis" x1="%g" y1="%.1f" x2="%g" y2="%.1f"/>`, chartLeft, d.y(0), chartWidth-chartRight, d.y(0))
	fmt.Fprintf(b, `<text class="tick" x="%g" y="%.1f" text-anchor="end">0</text>`, chartLeft-8, d.y(0)+4)
	if g.ZeroLimitMM == masterLimit {
		d.limit(g.ZeroLimitMM, "both limits")
	} else {
		d.limit(g.ZeroLimitMM, "zero limit")
		d.limit(masterLimit, "master limit")
	}
	d.line("shift", "zero shift", func(c batch.GaugeCheck) *float64 { return &c.ShiftMM })
	d.line("master", "error on the master", worstError)
	for _, l := range apart(d.labels) {
		fmt.Fprintf(b, `<text class="label" x="%g" y="%.1f">%s</text>`, chartWidth-chartRight+8, l.y+4, l.words)
	}
	base := chartHeight - chartBottom + 16.0
	fmt.Fprintf(b, `<text class="tick" x="%g" y="%g">%s</text>`, chartLeft, base, show.When(checks[0].At, now))
	fmt.Fprintf(b, `<text class="tick" x="%g" y="%g" text-anchor="end">%s</text>`, chartWidth-chartRight, base, show.When(checks[len(checks)-1].At, now))
	fmt.Fprintf(b, `<text class="axis-title" x="%g" y="%g" text-anchor="middle">checks, oldest first</text>`, (chartLeft+chartWidth-chartRight)/2, chartHeight-10)
	fmt.Fprintf(b, `<text class="axis-title" transform="translate(14 %g) rotate(-90)" text-anchor="middle">deviation, %s</text></svg>`, (chartTop+chartHeight-chartBottom)/2, lengths)
	return checkChart{SVG: template.HTML(b.String()), Caption: fmt.Sprintf("Zero shift (circles) and largest error on a master (squares) at the last %d checks; a cross marks a failed one and leads to its row.", len(checks))}
}

// worstError is the largest error on a master at a check, nil where none was read.
func worstError(c batch.GaugeCheck) *float64 {
	m := c.WorstMaster()
	if m == nil {
		return nil
	}
	e := m.ErrorMM()
	return &e
}

// spanOf is what the drawing shows to either side of zero, mm: the limits and every check.
func spanOf(checks []batch.GaugeCheck, limit float64) float64 {
	span := 1.15 * limit
	for _, c := range checks {
		span = max(span, 1.1*math.Abs(c.ShiftMM))
		if e := worstError(c); e != nil {
			span = max(span, 1.1*math.Abs(*e))
		}
	}
	return cmp.Or(span, 0.001)
}

// checkDrawing is the drawing in the making.
type checkDrawing struct {
	checks  []batch.GaugeCheck
	lengths unit.Unit
	span    float64 // mm, to either side of zero
	svg     strings.Builder
	labels  []chartLabel
}

func (d *checkDrawing) x(i int) float64 {
	return chartLeft + (chartWidth-chartLeft-chartRight)*float64(i)/float64(len(d.checks)-1)
}

func (d *checkDrawing) y(mm float64) float64 {
	mid := (chartTop + chartHeight - chartBottom) / 2
	return mid - mm/d.span*(chartHeight-chartBottom-chartTop)/2
}

// limit draws a limit to both sides of zero; 0 is none.
func (d *checkDrawing) limit(mm float64, words string) {
	if mm <= 0 {
		return
	}
	for _, v := range []float64{mm, -mm} {
		fmt.Fprintf(&d.svg, `<line class="limit" x1="%g" y1="%.1f" x2="%g" y2="%.1f"/>`, chartLeft, d.y(v), chartWidth-chartRight, d.y(v))
		fmt.Fprintf(&d.svg, `<text class="tick" x="%g" y="%.1f" text-anchor="end">%s</text>`, chartLeft-8, d.y(v)+4, template.HTMLEscapeString(show.Signed(v, d.lengths)))
	}
	d.labels = append(d.labels, chartLabel{d.y(mm), words})
}

// line draws one value of the checks that have it, a failed check as a cross that leads to its row.
func (d *checkDrawing) line(class, words string, value func(batch.GaugeCheck) *float64) {
	var path, marks strings.Builder
	end := 0.0
	for i, c := range d.checks {
		v := value(c)
		if v == nil {
			continue
		}
		x, y := d.x(i), d.y(*v)
		fmt.Fprintf(&path, "%s%.1f %.1f", show.Pick(path.Len() == 0, "M", "L"), x, y)
		switch {
		case !c.Good:
			fmt.Fprintf(&marks, `<a href="#check-%s"><path class="failed" d="M%.1f %.1fl10 10m0-10l-10 10"/><title>failed: %s</title></a>`, c.ID, x-5, y-5, template.HTMLEscapeString(c.Why))
		case class == "shift":
			fmt.Fprintf(&marks, `<circle class="%s" cx="%.1f" cy="%.1f" r="4"/>`, class, x, y)
		default:
			fmt.Fprintf(&marks, `<rect class="%s" x="%.1f" y="%.1f" width="8" height="8"/>`, class, x-4, y-4)
		}
		end = y
	}
	if path.Len() == 0 {
		return
	}
	fmt.Fprintf(&d.svg, `<path class="%s" d="%s"/>%s`, class, path.String(), marks.String())
	d.labels = append(d.labels, chartLabel{end, words})
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
