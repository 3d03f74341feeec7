package sheet

import (
	_ "embed"
	"encoding/base64"
	"html/template"
	"io"
	"net/http"
)

//go:embed sheet.html
var htmlText string

var htmlPage = template.Must(template.New("sheet").Funcs(template.FuncMap{
	// wide and narrow are a part's drawing for paper and for a phone.
	"wide":   func(p Part) template.HTML { return template.HTML(p.Draw(paperWide(p)).svg("wide")) },
	"narrow": func(p Part) template.HTML { return template.HTML(p.Draw(phoneWide).svg("narrow")) },
	"arc":    func() template.HTML { return template.HTML(arcMark().svg("mark")) },
	"list":   func() []string { return []string{"ink", "quiet", "rule", "accent", "board"} },
	"colour": func(c string) template.CSS { return template.CSS(c) }, // checked when the template was read
}).Parse(htmlText))

// phoneWide is how wide a drawing is on a phone, mm at the size of its letters.
const phoneWide = 96.0

func paperWide(p Part) float64 {
	if p.Wide {
		return 180
	}
	return 85
}

// HTML writes the sheet as one file that needs nothing else and no script.
func HTML(w io.Writer, s *Sheet) error { return htmlPage.Execute(w, s) }

// Data is the photograph as a data URI.
func (p *Photo) Data() template.URL {
	return template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(p.JPEG))
}

// MarkData is the maker's picture as a data URI, "" for none.
func (s *Sheet) MarkData() template.URL {
	if s.mark == nil {
		return ""
	}
	return template.URL("data:" + http.DetectContentType(s.mark) + ";base64," + base64.StdEncoding.EncodeToString(s.mark))
}
