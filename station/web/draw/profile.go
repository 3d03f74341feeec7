package draw

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

const (
	profileHeight = 176.0
	profileTop    = 24.0
	profileBottom = 14.0
)

// curve is one track's crowns against its chord over the datum frets: mm above the chord, one entry per fret.
type curve struct {
	track string
	line  inspect.Line // where it runs
	z     []*float64
	bend  []*float64
	from  int // frets of the line it is drawn against
	to    int
}

// onChord says that both datum frets are known.
func (c curve) onChord(spec *inspect.Spec) bool {
	return c.from == spec.Datum.FirstFret && c.to == spec.Datum.SecondFret
}

// Profile draws the crowns' heights against the chord over the datum frets, on the board's x axis, z stretched by a
// round factor that is shown: crowns, bend curve, level deviations as short bars, relief, the limits of relief as a band
// of even bows. Empty until two crowns of a track are known.
func Profile(spec *inspect.Spec, readings *inspect.Readings, res *inspect.Result, lengths unit.Unit) template.HTML {
	spec = spec.WithDefaults()
	curves := curvesOf(spec, readings, res)
	if len(curves) == 0 {
		return ""
	}
	a := XAxisOf(spec)
	lower, upper := reliefLimits(res)
	lo, hi := extent(curves, upper)
	stretch, zero := fitProfile(a, lo, hi)
	py := func(mm float64) float64 { return zero - mm*a.Scale*stretch }
	d := spec.Datum
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="profile" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">`, drawWidth, profileHeight, template.HTMLEscapeString(profileWords(spec, curves, lengths)))
	onChord := slices.ContainsFunc(curves, func(c curve) bool { return c.onChord(spec) })
	drawScale(&b, lo, hi, py, lengths, show.Pick(onChord, "chord", "line"))
	first, second, line, class := d.FirstFret, d.SecondFret, "chord", "chord"
	if onChord {
		if lower != nil && upper != nil {
			drawBand(&b, spec, a, py, *lower, *upper)
		}
		for _, x := range datumPlaces(spec, curves) {
			fmt.Fprintf(&b, `<path class="datum" d="M%.1f %.1fl-5 -9h10z"/>`, a.At(x), py(0))
		}
	} else { // no chord yet, so nothing that could be read as relief
		first, second, line, class = curves[0].from, curves[0].to, "no chord yet: line", "chord sofar"
	}
	from, to := curves[0].line.At(first), curves[0].line.At(second)
	for _, c := range curves[1:] {
		from, to = min(from, c.line.At(first)), max(to, c.line.At(second))
	}
	fmt.Fprintf(&b, `<path class="%s" d="M%.1f %.1fH%.1f"/>`, class, a.At(from), py(0), a.At(to))
	fmt.Fprintf(&b, `<text class="tick place" x="%.1f" y="%.1f" text-anchor="middle">%s over frets %d and %d</text>`, a.At((from+to)/2), py(0)-12, line, first, second)
	for i, c := range curves {
		far := ""
		if !c.onChord(spec) {
			far = fmt.Sprintf(`<tspan class="place"> over %d–%d so far</tspan>`, c.from, c.to)
		}
		drawCurve(&b, c, far, i, len(curves), a, py, !c.onChord(spec))
	}
	fmt.Fprintf(&b, `<text class="tick axis-words" x="%.1f" y="14" text-anchor="end">heights stretched %.0f times</text>`, drawWidth-drawRight, stretch)
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// datumPlaces are the places of the datum frets on the curves' tracks, each once.
func datumPlaces(spec *inspect.Spec, curves []curve) []float64 {
	var places []float64
	for _, c := range curves {
		for _, n := range []int{spec.Datum.FirstFret, spec.Datum.SecondFret} {
			if x := c.line.At(n); !slices.Contains(places, x) {
				places = append(places, x)
			}
		}
	}
	return places
}

// curvesOf takes every track with two crowns or more; until both datum frets are known the line through the outermost
// measured ones stands in for the chord.
func curvesOf(spec *inspect.Spec, readings *inspect.Readings, res *inspect.Result) []curve {
	if readings == nil {
		return nil
	}
	fan := spec.Fan()
	var curves []curve
	for _, t := range readings.Profile {
		first, last, furthest := chordEnds(spec, t.ZMM)
		if first >= last {
			continue
		}
		line := fan.Line(t.YNutMM, t.YSaddleMM)
		x := func(i int) float64 { return line.At(i + 1) }
		chord := func(i int) float64 {
			return *t.ZMM[first] + (*t.ZMM[last]-*t.ZMM[first])*(x(i)-x(first))/(x(last)-x(first))
		}
		c := curve{track: t.Track, line: line, from: first + 1, to: last + 1, z: make([]*float64, len(t.ZMM)), bend: make([]*float64, len(t.ZMM))}
		bend := bendOf(res, t.Track)
		for i, z := range t.ZMM {
			if z != nil {
				v := *z - chord(i)
				c.z[i] = &v
			}
			if i <= furthest && i < len(bend) && bend[i] != nil {
				v := *bend[i] - chord(i)
				c.bend[i] = &v
			}
		}
		curves = append(curves, c)
	}
	return curves
}

// chordEnds are the indexes of the crowns that a track's chord goes over, and of the furthest one that is measured: the bend
// curve is not drawn beyond it. Without two crowns first is not less than last.
func chordEnds(spec *inspect.Spec, z []*float64) (first, last, furthest int) {
	first, last = slices.IndexFunc(z, func(z *float64) bool { return z != nil }), len(z)-1
	for last > 0 && z[last] == nil {
		last--
	}
	if first < 0 || first == last {
		return 0, 0, 0
	}
	furthest = last
	if i := spec.Datum.FirstFret - 1; i < len(z) && z[i] != nil {
		first = i
	}
	if i := spec.Datum.SecondFret - 1; i < len(z) && z[i] != nil {
		last = i
	}
	return first, last, furthest
}

func bendOf(res *inspect.Result, track string) []*float64 {
	if res != nil {
		for _, p := range res.Profile {
			if p.Track == track {
				return p.BendMM
			}
		}
	}
	return nil
}

// reliefLimits are the limits of relief, nil where it has none.
func reliefLimits(res *inspect.Result) (lower, upper *float64) {
	if res == nil {
		return nil, nil
	}
	for _, c := range res.Characteristics {
		if c.Name == inspect.Relief && (c.Lower != nil || c.Upper != nil) {
			return c.Lower, c.Upper
		}
	}
	return nil, nil
}

// extent is the lowest and highest of what is drawn, mm against the chord.
func extent(curves []curve, upper *float64) (lo, hi float64) {
	hi, lo = 0.05, -0.05
	for _, c := range curves {
		for _, z := range c.z {
			if z != nil {
				lo, hi = math.Min(lo, *z), math.Max(hi, *z)
			}
		}
	}
	if upper != nil {
		lo = math.Min(lo, -*upper*1.08)
	}
	return lo, hi
}

// fitProfile finds the roundest stretch that fits, and where the chord lies.
func fitProfile(a xAxis, lo, hi float64) (stretch, zero float64) {
	room := profileHeight - profileTop - profileBottom
	most := room / ((hi - lo) * a.Scale)
	stretch = 1
	for _, step := range []float64{2, 5, 10, 20, 25, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000} {
		if step <= most {
			stretch = step
		}
	}
	return stretch, profileTop + hi*a.Scale*stretch
}

// drawScale draws the height scale at the left, in the page's unit.
func drawScale(b *strings.Builder, lo, hi float64, py func(float64) float64, lengths unit.Unit, above string) {
	step := 0.1
	if lengths == unit.Inch {
		step = unit.Inch.To(0.004)
	}
	for (hi-lo)/step > 5 {
		step *= 2
	}
	for k := math.Ceil(lo / step); k*step <= hi; k++ {
		v := k * step
		label := show.Fixed(v, 1, true)
		if lengths == unit.Inch {
			label = show.Fixed(unit.Inch.From(v), 3, true)
		}
		fmt.Fprintf(b, `<path class="grid" d="M%.1f %.1fH%.1f"/><text class="tick%s" x="%.1f" y="%.1f" text-anchor="end">%s</text>`,
			drawLeft, py(v), drawWidth-drawRight, show.Pick(int(k)%2 == 0, "", " minor"), drawLeft-6, py(v)+5, label)
	}
	fmt.Fprintf(b, `<text class="tick axis-words" x="6" y="14">%s above the %s</text>`, lengths, above)
}

// drawBand draws the limits of relief as the even bows that just meet them, at the centre line's places.
func drawBand(b *strings.Builder, spec *inspect.Spec, a xAxis, py func(float64) float64, lower, upper float64) {
	centre := spec.Fan().Centre
	x0, x1, xk := centre.At(spec.Datum.FirstFret), centre.At(spec.Datum.SecondFret), centre.At(spec.Datum.ReliefFret)
	bow := func(relief, x float64) float64 { return -relief * (x - x0) * (x1 - x) / ((xk - x0) * (x1 - xk)) }
	const steps = 48
	var there, back strings.Builder
	for i := 0; i <= steps; i++ {
		x := x0 + (x1-x0)*float64(i)/steps
		fmt.Fprintf(&there, "%.1f %.1f ", a.At(x), py(bow(lower, x)))
		xr := x1 - (x1-x0)*float64(i)/steps
		fmt.Fprintf(&back, "%.1f %.1f ", a.At(xr), py(bow(upper, xr)))
	}
	fmt.Fprintf(b, `<path class="band" d="M%sL%sZ"/>`, there.String(), back.String())
	fmt.Fprintf(b, `<rect class="band place" x="%.1f" y="%.1f" width="28" height="12"/><text class="tick place" x="%.1f" y="%.1f">between the limits of relief at fret %d</text>`,
		drawLeft, profileHeight-16, drawLeft+36, profileHeight-5, spec.Datum.ReliefFret)
}

// drawCurve draws one track: its bend curve, its crowns, and each crown's distance from the bend; fainter while its line
// is not yet the chord, and far then marks up how far it goes.
func drawCurve(b *strings.Builder, c curve, far string, i, of int, a xAxis, py func(float64) float64, sofar bool) {
	fmt.Fprintf(b, `<g class="curve c%d%s">`, i%3, show.Pick(sofar, " sofar", ""))
	var bend strings.Builder
	for n, v := range c.bend {
		if v != nil {
			fmt.Fprintf(&bend, "%.1f %.1f ", a.At(c.line.At(n+1)), py(*v))
		}
	}
	if bend.Len() > 0 {
		fmt.Fprintf(b, `<path class="bend" d="M%s"/>`, strings.TrimSpace(bend.String()))
	}
	for n, z := range c.z {
		if z == nil {
			continue
		}
		if v := c.bend[n]; v != nil {
			fmt.Fprintf(b, `<path class="deviation" d="M%.1f %.1fV%.1f"/>`, a.At(c.line.At(n+1)), py(*v), py(*z))
		}
		fmt.Fprintf(b, `%s`, crownMark(i, a.At(c.line.At(n+1)), py(*z), n+1, c.track))
	}
	// The label stands at the last crown drawn, one under the other so that tracks do not cover each other.
	for n := len(c.z) - 1; n >= 0; n-- {
		if c.z[n] != nil {
			fmt.Fprintf(b, `<text class="label" x="%.1f" y="%.1f" text-anchor="end">%s %s%s</text>`,
				drawWidth-drawRight-float64(of-1-i)*230, profileHeight-6, [3]string{"●", "□", "▲"}[i%3], template.HTMLEscapeString(c.track), far)
			break
		}
	}
	b.WriteString(`</g>`)
}

// crownMark gives each track its own shape, so that print in one colour tells them apart.
func crownMark(i int, x, y float64, fret int, track string) string {
	title := fmt.Sprintf("<title>%s, fret %d</title>", template.HTMLEscapeString(track), fret)
	switch i % 3 {
	case 1:
		return fmt.Sprintf(`<rect class="crown" x="%.1f" y="%.1f" width="7" height="7">%s</rect>`, x-3.5, y-3.5, title)
	case 2:
		return fmt.Sprintf(`<path class="crown" d="M%.1f %.1fl5 9h-10z">%s</path>`, x, y-5, title)
	}
	return fmt.Sprintf(`<circle class="crown" cx="%.1f" cy="%.1f" r="4">%s</circle>`, x, y, title)
}

// profileWords says for a screen reader what the drawing shows.
func profileWords(spec *inspect.Spec, curves []curve, lengths unit.Unit) string {
	words := fmt.Sprintf("Profile of the crowns against the chord over frets %d and %d.", spec.Datum.FirstFret, spec.Datum.SecondFret)
	for _, c := range curves {
		if i := spec.Datum.ReliefFret - 1; i < len(c.z) && c.z[i] != nil {
			words += fmt.Sprintf(" %s: fret %d lies %s below it.", c.track, i+1, show.Length(-*c.z[i], lengths))
		}
	}
	return words
}
