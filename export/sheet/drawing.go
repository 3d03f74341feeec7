package sheet

import (
	"fmt"
	"html"
	"strings"
)

// Drawing is a picture in mm, y down, that both writers draw.
type Drawing struct {
	Wide, High float64
	Words      string // for who does not see it
	Shapes     []Shape
}

// Shape is a line through points, closed and filled where Fill names a colour, or a text at its one point.
type Shape struct {
	Points [][2]float64
	Stroke string // colour, "" for none
	Fill   string // colour, "" for none
	Width  float64
	Dashed bool
	Round  float64 // radius of a disc at each point
	Text   string
	Size   float64 // of the text, mm
	Align  string  // "start", "middle", "end"
}

func (d *Drawing) line(stroke string, width float64, points ...[2]float64) *Shape {
	d.Shapes = append(d.Shapes, Shape{Points: points, Stroke: stroke, Width: width})
	return &d.Shapes[len(d.Shapes)-1]
}

func (d *Drawing) area(fill string, points ...[2]float64) {
	d.Shapes = append(d.Shapes, Shape{Points: points, Fill: fill})
}

func (d *Drawing) disc(fill string, r float64, at ...[2]float64) {
	d.Shapes = append(d.Shapes, Shape{Points: at, Fill: fill, Round: r})
}

func (d *Drawing) text(fill string, size float64, align string, x, y float64, words string) {
	d.Shapes = append(d.Shapes, Shape{Points: [][2]float64{{x, y}}, Fill: fill, Size: size, Align: align, Text: words})
}

// svg writes a drawing; colours are classes.
func (d *Drawing) svg(class string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="%s" viewBox="0 0 %.2f %.2f" role="img" aria-label="%s">`, class, d.Wide, d.High, html.EscapeString(d.Words))
	for i := range d.Shapes {
		s := &d.Shapes[i]
		switch {
		case s.Text != "":
			fmt.Fprintf(&b, `<text class="f-%s" x="%.2f" y="%.2f" font-size="%.2f" text-anchor="%s">%s</text>`, s.Fill, s.Points[0][0], s.Points[0][1], s.Size, s.Align, html.EscapeString(s.Text))
		case s.Round > 0:
			for _, p := range s.Points {
				fmt.Fprintf(&b, `<circle class="f-%s" cx="%.2f" cy="%.2f" r="%.2f"/>`, s.Fill, p[0], p[1], s.Round)
			}
		default:
			b.WriteString(`<path class="`)
			if s.Fill != "" {
				b.WriteString("f-" + s.Fill)
			} else {
				fmt.Fprintf(&b, `s-%s" stroke-width="%.2f`, s.Stroke, s.Width)
			}
			if s.Dashed {
				b.WriteString(`" stroke-dasharray="1.2 .9`)
			}
			b.WriteString(`" d="`)
			for n, p := range s.Points {
				fmt.Fprintf(&b, "%c%.2f %.2f", "ML"[min(n, 1)], p[0], p[1])
			}
			if s.Fill != "" {
				b.WriteString("z")
			}
			b.WriteString(`"/>`)
		}
	}
	b.WriteString("</svg>")
	return b.String()
}
