package export

import (
	"strings"

	"sagitta/inspect"

	"github.com/xuri/excelize/v2"
)

// The colours: the Okabe-Ito set (Okabe and Ito, Color Universal Design, 2002), with pale fills of the same hues and
// text dark enough on them for a contrast of 4.5:1 (WCAG 2.2, 1.4.3).
const (
	ink   = "1E2227"
	faint = "6B6F75" // of what is not measured
	rule  = "D9D4CA"
	paper = "F1EDE4" // behind header rows
	blue  = "0072B2"
	sky   = "56B4E9"
	green = "009E73"
	amber = "E69F00"
	red   = "D55E00" // vermillion
	pink  = "CC79A7"
)

// tint is a pale fill and the dark text on it.
type tint struct{ fill, text string }

// The tints of the states.
var (
	good    = tint{"D6EFE6", "00543D"}
	bad     = tint{"FBE3D3", "803800"}
	unsure  = tint{"FCEFCF", "664700"}
	special = tint{"DCEFFB", "004B75"}
	doubt   = tint{"F5E1EC", "733458"}
)

// look is one cell style.
type look struct {
	format        string // number format, empty for general
	tint          tint
	bold          bool
	size          float64 // 0: 10
	color         string  // of the text, empty: ink or the tint's
	wrap, top     bool
	right, indent bool
	signed        bool // room for the house sign before the text
	fill          string
	line          string // "top" or "bottom" for a rule
}

// styles hands out style numbers, each look once.
type styles struct {
	file  *excelize.File
	known map[look]int
}

// id returns the number of a look.
func (s *styles) id(l look) (int, error) {
	if id, ok := s.known[l]; ok {
		return id, nil
	}
	id, err := s.file.NewStyle(l.style())
	if err == nil {
		s.known[l] = id
	}
	return id, err
}

// style is the library's form of a look.
func (l look) style() *excelize.Style {
	st := &excelize.Style{Font: &excelize.Font{Bold: l.bold, Size: 10, Color: ink, Family: "Arial"},
		Alignment: &excelize.Alignment{WrapText: l.wrap, Vertical: "center"}}
	if l.size > 0 {
		st.Font.Size = l.size
	}
	if l.top {
		st.Alignment.Vertical = "top"
	}
	if l.right {
		st.Alignment.Horizontal = "right"
	} else if l.indent {
		st.Alignment.Horizontal, st.Alignment.Indent = "left", 1
	} else if l.signed {
		st.Alignment.Horizontal, st.Alignment.Indent = "left", 5
	}
	fill := l.fill
	if l.tint.fill != "" {
		fill, st.Font.Color = l.tint.fill, l.tint.text
	}
	if l.color != "" {
		st.Font.Color = l.color
	}
	if fill != "" {
		st.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{fill}}
	}
	if l.line != "" {
		st.Border = []excelize.Border{{Type: l.line, Color: rule, Style: 1}}
	}
	if l.format != "" {
		st.CustomNumFmt = &l.format
	}
	return st
}

// The number formats. Text cells carry the text format, so that editing one that begins with = does not make a formula.
const (
	textFormat  = "@"
	wholeFormat = "0"
	shareFormat = "0.0%"
	timeFormat  = "yyyy-mm-dd hh:mm:ss"
	dayFormat   = "yyyy-mm-dd"
)

// numberFormat is a fixed number of decimals.
func numberFormat(decimals int) string {
	if decimals == 0 {
		return wholeFormat
	}
	return "0." + strings.Repeat("0", decimals)
}

// zoneLook is the look of a value in a zone: outside its limits it says "out", undecided it says "?", beside the colour.
func zoneLook(zone inspect.Zone, decimals int) look {
	l := look{format: numberFormat(decimals)}
	switch zone {
	case inspect.Nonconforming:
		l.format += `" out"`
		l.tint = bad
	case inspect.Undecided:
		l.format += `" ?"`
		l.tint = unsure
	}
	return l
}

// dxf makes a conditional format's style.
func (s *styles) dxf(t tint) (int, error) {
	return s.file.NewConditionalStyle(&excelize.Style{
		Font: &excelize.Font{Color: t.text, Bold: true},
		Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{t.fill}},
	})
}
