package sheet

import (
	"fmt"
	"html"
	"html/template"
	"strings"

	"sagitta/export/symbol"
)

// The checkpoint's place at the foot of the page, mm: a QR code with its blank, and the lines beside it. It reaches into the margin, as far as any printer prints.
const (
	anchorHigh    = 24.0
	anchorLetters = 1.8
	anchorBelow   = 6.0 // to the paper's edge
)

// anchorRoom is how much of the page the checkpoint takes from what stands above it.
func (s *Sheet) anchorRoom() float64 {
	if s.Anchor == nil {
		return 0
	}
	return anchorHigh + anchorBelow - margin + 5
}

// anchor sets the newest checkpoint: line by line, so that it can be copied out, as QR code, and in what the file says of itself.
func (p *page) anchor() {
	c := p.sheet.Anchor
	if c == nil {
		return
	}
	p.SetXmpMetadata(described(c.Note))
	rows, err := symbol.QR(c.Note, symbol.M)
	if err != nil {
		p.SetError(err)
		return
	}
	_, high := p.GetPageSize()
	top := high - anchorBelow - anchorHigh
	module := anchorHigh / float64(len(rows))
	p.SetFillColor(0, 0, 0)
	for y, row := range rows {
		symbol.Runs(row, func(at, modules int) {
			p.Rect(margin+float64(at)*module, top+float64(y)*module, float64(modules)*module, module, "F")
		})
	}
	left, y := margin+anchorHigh+2, top+3
	p.words("quiet", "", 2.2, p.sheet.Words.Checkpoint, left, y, "start")
	for line := range strings.Lines(c.Note) {
		y += anchorLetters * 1.35
		p.words("quiet", "", anchorLetters, strings.TrimSuffix(line, "\n"), left, y, "start")
	}
}

// described is a text as a document's description (XMP, ISO 16684-1), which stands in the file as it is.
func described(text string) []byte {
	return fmt.Appendf(nil, `<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:description><rdf:Alt><rdf:li xml:lang="x-default">%s</rdf:li></rdf:Alt></dc:description></rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>`, html.EscapeString(text))
}

// AnchorCode is the newest checkpoint as QR code; "" where there is none.
func (s *Sheet) AnchorCode() template.HTML {
	rows, err := symbol.QR(s.Anchor.Note, symbol.M)
	if err != nil {
		return ""
	}
	return template.HTML(fmt.Sprintf(`<svg class="code" viewBox="0 0 %d %d" role="img" aria-label="QR code of the checkpoint"><rect width="%d" height="%d" fill="#fff"/><path style="fill:#000" d="%s"/></svg>`,
		len(rows), len(rows), len(rows), len(rows), symbol.Path(rows)))
}
