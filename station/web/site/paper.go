package site

import (
	"fmt"
	"html/template"
	"strings"
)

// paperHead is the style that gives every sheet of a printed page its running head and foot: the house sign, the station and the
// page's title above, the page's number of all below. Margin boxes as in CSS Paged Media, level 3.
func (s *Site) paperHead(title string) (template.CSS, error) {
	sign, err := s.assetPath("sign.svg")
	if err != nil {
		return "", err
	}
	head := "sagitta"
	if s.opt.Station != "" {
		head += " · " + s.opt.Station
	}
	return template.CSS(fmt.Sprintf(`@page { @top-left { content: url(%s) " " %s } @top-right { content: %s } @bottom-right { content: "page " counter(page) " of " counter(pages) } }`,
		sign, cssText(head), cssText(title))), nil
}

// cssText writes a text as a string of a style sheet: everything but letters, digits and plain signs is escaped by its number, so
// that no text can end the string or the style.
func cssText(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', strings.ContainsRune(" .,:;-_()+·", r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\%06x`, r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
