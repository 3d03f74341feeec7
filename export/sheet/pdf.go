package sheet

import (
	"bytes"
	"io"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"sagitta/inspect/unit"
)

// Measures of the page, mm; those that are multiplied by its measure shrink where there is much to say.
const (
	margin   = 15.0
	gutter   = 9.0
	body     = 3.1  // height of the letters' box
	leading  = 4.5  // from line to line
	between  = 4.6  // parts
	least    = 0.62 // measure of the fullest page
	perPoint = unit.MMPerInch / 72
)

// page sets a sheet on one page.
type page struct {
	*fpdf.Fpdf
	sheet   *Sheet
	measure float64
	dry     bool // heights are only taken
}

// Document is a PDF of pages of a size, mm, with the font of everything in it, "sheet", plain and bold; its dates are given so that the same content gives the same bytes.
func Document(size [2]float64, title, author string, date time.Time) *fpdf.Fpdf {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: size[0], Ht: size[1]}})
	f.SetCreationDate(date.UTC())
	f.SetModificationDate(date.UTC())
	f.SetCatalogSort(true)
	f.SetProducer("sagitta", true)
	f.SetTitle(title, true)
	f.SetAuthor(author, true)
	f.AddUTF8FontFromBytes("sheet", "", goregular.TTF)
	f.AddUTF8FontFromBytes("sheet", "B", gobold.TTF)
	f.SetAutoPageBreak(false, 0)
	return f
}

// PDF writes the sheet as one page of vectors with its fonts in it; the same sheet gives the same bytes.
func PDF(w io.Writer, s *Sheet) error {
	paper := Papers[s.Paper]
	f := Document(paper, s.Words.Title+" "+s.Serial, s.Heading, s.Date)
	f.SetMargins(margin, margin, margin)
	f.AddPage()
	p := &page{Fpdf: f, sheet: s, measure: 1}
	room := paper[1] - margin - s.anchorRoom()
	p.dry = true
	for p.measure > least && p.all(0) > room {
		p.measure -= 0.02
	}
	spare := room - p.all(0)
	p.dry = false
	p.all(max(0, min(spare/float64(len(s.Parts)+1), 5)))
	p.anchor()
	if err := f.Error(); err != nil {
		return err
	}
	return f.Output(w)
}

// all sets the page, with so much more room between its parts, and returns where it ends.
func (p *page) all(more float64) float64 {
	y := p.head()
	wide := p.width()
	narrow := (wide - gutter) / 2
	left, right := y, y
	for i := range p.sheet.Parts {
		part := &p.sheet.Parts[i]
		gap := between*p.measure + more
		switch {
		case part.Wide:
			top := max(left, right)
			if len(part.Sign) > 0 && !p.dry { // at the foot of the page
				_, high := p.GetPageSize()
				top = max(top, high-margin-p.sheet.anchorRoom()-18*p.measure-gap)
			}
			y := p.part(part, margin, top+gap, wide)
			left, right = y, y
		case left <= right:
			left = p.part(part, margin, left+gap, narrow)
		default:
			right = p.part(part, margin+narrow+gutter, right+gap, narrow)
		}
	}
	return max(left, right)
}

func (p *page) width() float64 {
	wide, _ := p.GetPageSize()
	return wide - 2*margin
}

// head sets the maker's heading, the mark and what the instrument is.
func (p *page) head() float64 {
	s, right := p.sheet, margin+p.width()
	if !p.dry {
		p.mark(margin, margin)
		p.words("ink", "B", 6.4, s.Heading, margin+24, margin+6.2, "start")
		if s.Heading == "" {
			p.words("ink", "B", 6.4, s.Words.Title, margin+24, margin+6.2, "start")
		}
		p.words("quiet", "", 3, s.Below, margin+24, margin+11, "start")
		p.words("ink", "B", 5, s.Serial, right, margin+6.2, "end")
		if s.Heading != "" {
			p.words("quiet", "", 3, s.Words.Title, right, margin+11, "end")
		}
		p.stroke("ink", 0.35, margin, margin+14, right, margin+14)
	}
	y := margin + 14.0
	each := p.width() / float64(len(s.Facts))
	below := y
	for i, f := range s.Facts {
		x := margin + each*float64(i)
		if !p.dry {
			p.words("quiet", "", 2.6, f.Name, x, y+4.6, "start")
		}
		below = max(below, p.paragraph("ink", body, f.Is, x, y+5, each-3))
	}
	return below
}

// mark sets the maker's picture in a box of 20 by 11 mm, or the arc over its chord.
func (p *page) mark(x, y float64) {
	if p.sheet.mark != nil {
		kind := "PNG"
		if bytes.HasPrefix(p.sheet.mark, []byte{0xff, 0xd8}) {
			kind = "JPG"
		}
		info := p.RegisterImageOptionsReader("mark", fpdf.ImageOptions{ImageType: kind}, bytes.NewReader(p.sheet.mark))
		if info == nil || p.Err() {
			return
		}
		k := min(20/info.Width(), 11/info.Height())
		p.ImageOptions("mark", x, y, info.Width()*k, info.Height()*k, false, fpdf.ImageOptions{ImageType: kind}, 0, "")
		return
	}
	p.drawing(arcMark(), x, y, 20)
}

// arcMark is the house sign.
func arcMark() *Drawing {
	d := &Drawing{Wide: 20, High: 10}
	var arc [][2]float64
	for i := range 33 {
		t := float64(i) / 32
		arc = append(arc, [2]float64{1 + 18*t, 2.5 + 4*5.8*t*(1-t)})
	}
	d.line("ink", 1, [2]float64{1, 2.5}, [2]float64{19, 2.5})
	d.line("ink", 1, arc...)
	d.line("accent", 1, [2]float64{10, 2.5}, [2]float64{10, 8.3})
	return d
}

// part sets a block at a place and returns where it ends.
func (p *page) part(b *Part, x, y, wide float64) float64 {
	m := p.measure
	if len(b.Sign) > 0 {
		return p.sign(b, x, y, wide)
	}
	if b.Title != "" {
		if !p.dry {
			p.words("accent", "B", 3.4*m, b.Title, x, y+3*m, "start")
		}
		y += 5 * m
	}
	if b.Draw != nil {
		d := b.Draw(wide)
		if !p.dry {
			p.drawing(d, x, y, wide)
		}
		y += d.High
	}
	if b.Photo != nil {
		y = p.photo(b.Photo, x, y, wide)
	}
	if b.Table != nil {
		y = p.table(b.Table, x, y, wide)
	}
	for _, pair := range b.Pairs {
		name := wide * 0.42
		if !p.dry {
			p.words("quiet", "", body*m, pair.Name, x, y+3.2*m, "start")
		}
		end := p.paragraph("ink", body*m, pair.Is, x+name, y, wide-name)
		y = max(end, y+leading*m)
	}
	for _, line := range b.Lines {
		y = p.paragraph("ink", body*m, line, x, y, wide)
	}
	for _, line := range b.Small {
		y = p.paragraph("quiet", 2.5*m, line, x, y+0.5*m, wide)
	}
	return y
}

// photoHigh is how high a photograph stands at most, mm.
const photoHigh = 52.0

// photo sets a photograph as large as its place allows, and returns where it ends.
func (p *page) photo(b *Photo, x, y, wide float64) float64 {
	k := min(wide/float64(b.Wide), photoHigh*p.measure*p.measure/float64(b.High))
	if !p.dry {
		p.RegisterImageOptionsReader("photograph", fpdf.ImageOptions{ImageType: "JPG"}, bytes.NewReader(b.JPEG))
		p.ImageOptions("photograph", x, y, float64(b.Wide)*k, float64(b.High)*k, false, fpdf.ImageOptions{ImageType: "JPG"}, 0, "")
	}
	return y + float64(b.High)*k + 1
}

func (p *page) sign(b *Part, x, y, wide float64) float64 {
	y += 11 * p.measure
	if p.dry {
		return y + 7*p.measure
	}
	from := x
	for i, name := range b.Sign {
		to := x + wide*0.3
		if i > 0 {
			to = x + wide
		}
		p.stroke("quiet", 0.3, from, y, to, y)
		p.words("quiet", "", 2.6, name, from, y+3.6, "start")
		from = to + gutter
	}
	return y + 7*p.measure
}

// table sets numbers right-aligned under their heads.
func (p *page) table(t *Table, x, y, wide float64) float64 {
	m := p.measure
	first := min(wide*0.12, 24)
	each := min((wide-first)/float64(len(t.Head)-1), 42)
	high := leading * m
	for i, head := range t.Head { // the tallest head decides
		p.font("", 2.5*m)
		w := each - 2
		if i == 0 {
			w = first
		}
		high = max(high, float64(len(p.SplitText(head, w)))*3.4*m+1)
	}
	if !p.dry {
		for i, head := range t.Head {
			at, w, align := x, first, "start"
			if i > 0 {
				at, w, align = x+first+each*float64(i), each-2, "end"
			}
			p.font("", 2.5*m)
			lines := p.SplitText(head, w)
			for n, line := range lines {
				p.words("quiet", "", 2.5*m, line, at, y+high-1.2*m-3.4*m*float64(len(lines)-1-n), align)
			}
		}
		p.stroke("rule", 0.25, x, y+high, x+wide, y+high)
	}
	y += high
	row := leading * m
	for _, cells := range t.Rows {
		if !p.dry {
			for i, cell := range cells {
				if i == 0 {
					p.words("ink", "B", body*m, cell, x, y+3.3*m, "start")
					continue
				}
				p.words("ink", "", body*m, cell, x+first+each*float64(i), y+3.3*m, "end")
			}
			p.stroke("rule", 0.12, x, y+row, x+wide, y+row)
		}
		y += row
	}
	return y + 0.8*m
}

// font takes letters whose box is so many mm high.
func (p *page) font(style string, size float64) { p.SetFont("sheet", style, size/perPoint) }

// words sets one line, its foot at y.
func (p *page) words(colour, style string, size float64, words string, x, y float64, align string) {
	if words == "" {
		return
	}
	p.font(style, size)
	p.SetTextColor(p.colour(colour))
	switch align {
	case "end":
		x -= p.GetStringWidth(words)
	case "middle":
		x -= p.GetStringWidth(words) / 2
	}
	p.Text(x, y, words)
}

// paragraph sets words in lines of a width, their top at y, and returns where they end.
func (p *page) paragraph(colour string, size float64, words string, x, y, wide float64) float64 {
	p.font("", size)
	for _, line := range p.SplitText(words, wide) {
		if !p.dry {
			p.words(colour, "", size, strings.TrimSpace(line), x, y+size*1.05, "start")
		}
		y += size * 1.42
	}
	return y
}

func (p *page) stroke(colour string, width, x0, y0, x1, y1 float64) {
	p.SetDrawColor(p.colour(colour))
	p.SetLineWidth(width)
	p.Line(x0, y0, x1, y1)
}

// drawing sets a drawing at a place, as wide as is given.
func (p *page) drawing(d *Drawing, x, y, wide float64) {
	k := wide / d.Wide
	p.SetLineCapStyle("round")
	p.SetLineJoinStyle("round")
	for i := range d.Shapes {
		s := &d.Shapes[i]
		switch {
		case s.Text != "":
			p.words(s.Fill, "", s.Size*k, s.Text, x+s.Points[0][0]*k, y+s.Points[0][1]*k, s.Align)
		case s.Round > 0:
			p.SetFillColor(p.colour(s.Fill))
			for _, at := range s.Points {
				p.Circle(x+at[0]*k, y+at[1]*k, s.Round*k, "F")
			}
		default:
			p.path(s, x, y, k)
		}
	}
	p.SetLineCapStyle("butt")
	p.SetLineJoinStyle("miter")
}

func (p *page) path(s *Shape, x, y, k float64) {
	for n, at := range s.Points {
		if n == 0 {
			p.MoveTo(x+at[0]*k, y+at[1]*k)
			continue
		}
		p.LineTo(x+at[0]*k, y+at[1]*k)
	}
	if s.Fill != "" {
		p.SetFillColor(p.colour(s.Fill))
		p.ClosePath()
		p.DrawPath("F")
		return
	}
	p.SetDrawColor(p.colour(s.Stroke))
	p.SetLineWidth(s.Width * k)
	if s.Dashed {
		p.SetDashPattern([]float64{1.2, 0.9}, 0)
	}
	p.DrawPath("D")
	p.SetDashPattern(nil, 0)
}

// colour is one of the template's by its name.
func (p *page) colour(name string) (r, g, b int) {
	n, _ := strconv.ParseUint(p.sheet.Colours.byKey()[name][1:], 16, 32) // checked when it was read
	return int(n >> 16), int(n >> 8 & 0xff), int(n & 0xff)
}
