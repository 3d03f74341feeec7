package label

import (
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"

	"sagitta/batch"
	"sagitta/export/sheet"
	"sagitta/export/symbol"
	"sagitta/inspect/unit"
)

// Measures, mm. Modules are multiples of a dot of a printer with 203 dots an inch, so that no bar gets broader than its neighbour by the printer's step.
const (
	dot       = 0.125
	leastBar  = 2 * dot // a module of bars: narrower ones are not read by every scanner
	mostBar   = 4 * dot
	leastQR   = 3 * dot // a module of a QR code, read by a telephone at a hand's breadth
	mostQR    = 8 * dot
	barsHigh  = 0.15 // of their width, and never lower than the next (ISO/IEC 15417 leaves it to who prints; 15 % and 5 mm are usual)
	barsLeast = 5.0
	rim       = 1.5 // between text and edge
	largest   = 4.2 // letters' box of the serial number, on a label as high as the next
	usual     = 2.6 // of the lines
	ordinary  = 29.0
	smallest  = 1.7  // that is still read
	leading   = 1.25 // from line to line, in letters' boxes
)

// page sets one label.
type page struct {
	*fpdf.Fpdf
	size Size
	name string // the label's serial number, for errors
}

// PDF writes labels, a page of the size each, with the font in the file. Conflict: a label has no room for its codes; the error says which label,
// what it takes and what it has.
func PDF(w io.Writer, size Size, title, author string, labels []Label) error {
	if len(labels) == 0 {
		return batch.Conflict.Errorf("there is no neck to print a label for")
	}
	f := sheet.Document([2]float64{size.Wide, size.High}, title, author, labels[0].Date)
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	for i := range labels {
		f.AddPage()
		p := &page{f, size, labels[i].Serial}
		if err := p.set(&labels[i]); err != nil {
			return err
		}
	}
	if err := f.Error(); err != nil {
		return err
	}
	return f.Output(w)
}

// set puts the QR code at the right edge, bars along the foot, and words into what is left.
func (p *page) set(l *Label) error {
	foot := p.size.High
	if l.Bars {
		row, err := symbol.Bars(l.Serial)
		if err == nil { // else no label has bars for it, and the QR code serves alone
			if foot, err = p.bars(row); err != nil {
				return err
			}
		}
	}
	right, err := p.qr(l.Code, foot)
	if err != nil {
		return err
	}
	return p.words(l, right, foot)
}

// bars draws bars over the foot's whole width and returns where they begin.
func (p *page) bars(row []bool) (top float64, err error) {
	module := math.Min(math.Floor(p.size.Wide/float64(len(row))/dot)*dot, mostBar)
	if module < leastBar {
		return 0, batch.Conflict.Errorf("the bars of %s take %.0f mm with their margins, and a label of %s mm is narrower: take a wider one", p.name, math.Ceil(float64(len(row))*leastBar), p.size)
	}
	wide := module * float64(len(row))
	high := math.Max(barsLeast, barsHigh*wide)
	if high > p.size.High/2 {
		return 0, batch.Conflict.Errorf("the bars of %s take %.0f mm of height, and a label of %s mm has no room for more then: take a higher one", p.name, high, p.size)
	}
	x, top := (p.size.Wide-wide)/2, p.size.High-rim-high
	p.SetFillColor(0, 0, 0)
	symbol.Runs(row, func(at, modules int) { p.Rect(x+float64(at)*module, top, float64(modules)*module, high, "F") })
	return top, nil
}

// qr draws a QR code in the upper right corner, over the foot, and returns where it begins. It takes up to half of the width, with as much
// correction of errors as there is room for.
func (p *page) qr(text string, foot float64) (left float64, err error) {
	side := math.Min(foot, p.size.Wide*0.55)
	most := 0
	for _, level := range []symbol.Level{symbol.M, symbol.L} {
		rows, err := symbol.QR(text, level)
		if err != nil {
			return 0, batch.Conflict.Errorf("the code on the label of %s is too long: %v", p.name, err)
		}
		most = len(rows)
		module := math.Min(math.Floor(side/float64(len(rows))/dot+1e-9)*dot, mostQR)
		if module < leastQR {
			continue
		}
		wide := module * float64(len(rows))
		left, top := p.size.Wide-wide, (foot-wide)/2
		p.SetFillColor(0, 0, 0)
		for y, row := range rows {
			symbol.Runs(row, func(at, modules int) {
				p.Rect(left+float64(at)*module, top+float64(y)*module, float64(modules)*module, module, "F")
			})
		}
		return left, nil
	}
	return 0, batch.Conflict.Errorf("the code on the label of %s takes %.0f mm with its margin, and a label of %s mm has room for %.0f: take a larger one", p.name, math.Ceil(float64(most)*leastQR), p.size, math.Floor(side))
}

// words sets the serial number and the lines between the left edge and right, above foot. The serial number is always whole; lines that have no
// room left are not printed.
func (p *page) words(l *Label, right, foot float64) error {
	wide, y := right-2*rim, rim
	p.SetTextColor(0, 0, 0)
	more := math.Max(1, math.Min(p.size.High/ordinary, 2))
	size := largest * more
	for size > smallest && p.wide("B", size, l.Serial) > wide {
		size -= 0.1
	}
	for _, line := range p.cut("B", size, l.Serial, wide) {
		p.Text(rim, y+size*0.85, line)
		y += size * leading
	}
	if y > foot+size*(leading-1) {
		return batch.Conflict.Errorf("%s has no room beside the code on a label of %s mm: take a larger one", p.name, p.size)
	}
	y += 0.3
	size = usual * more
	for size > smallest && y+p.high(l.Lines, size, wide) > foot-rim/2 {
		size -= 0.1
	}
	for _, words := range l.Lines {
		lines := p.cut("", size, words, wide)
		if y+float64(len(lines))*size*leading > foot-rim/2+0.01 {
			break
		}
		for _, line := range lines {
			p.Text(rim, y+size*0.85, line)
			y += size * leading
		}
	}
	return nil
}

// high is how much the lines take.
func (p *page) high(lines []string, size, wide float64) float64 {
	n := 0
	for _, words := range lines {
		n += len(p.cut("", size, words, wide))
	}
	return float64(n) * size * leading
}

func (p *page) wide(style string, size float64, words string) float64 {
	p.SetFont("sheet", style, size*72/unit.MMPerInch)
	return p.GetStringWidth(words)
}

// cut breaks words into lines of a width: between words where it can, within one where that is wider than a line.
func (p *page) cut(style string, size float64, words string, wide float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(words) {
		if line != "" && p.wide(style, size, line+" "+word) <= wide {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; p.wide(style, size, line) > wide; {
			n := 0
			for i, r := range line {
				if p.wide(style, size, line[:i+utf8.RuneLen(r)]) > wide {
					break
				}
				n = i + utf8.RuneLen(r)
			}
			if n == 0 {
				break
			}
			lines, line = append(lines, line[:n]), line[n:]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
