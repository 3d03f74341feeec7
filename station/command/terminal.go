package command

import (
	"io"
	"os"
	"regexp"
	"runtime"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"

	"sagitta/batch/tell"
)

// page is what text for people is set on.
type page struct {
	width int
	ascii bool // a terminal that shows ASCII only
}

const (
	usualWidth    = 120 // of what is no terminal
	narrowestPage = 60  // narrower terminals fold the lines themselves
)

// pageOf is the page that a writer is: the terminal's width, and plain ASCII where the terminal's locale is no UTF-8.
func pageOf(out io.Writer) page {
	if !isTerminal(out) {
		return page{width: usualWidth}
	}
	f := out.(*os.File)
	p := page{width: usualWidth, ascii: runtime.GOOS != "windows" && !utf8Locale(os.Getenv)}
	if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 0 {
		p.width = max(w, narrowestPage)
	}
	return p
}

// isTerminal says whether a writer is a terminal.
func isTerminal(out io.Writer) bool {
	f, ok := out.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// utf8Locale reports whether the environment's character set is UTF-8: the first that is set of LC_ALL, LC_CTYPE and LANG
// decides (IEEE Std 1003.1, Base Definitions, 8.2, from memory).
func utf8Locale(env func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := env(name); v != "" {
			v = strings.ToUpper(v)
			return strings.Contains(v, "UTF-8") || strings.Contains(v, "UTF8")
		}
	}
	return false
}

// plain writes the signs that ASCII lacks.
var plain = strings.NewReplacer("−", "-", "–", "-", "±", "+/-", "²", "^2", "√", "sqrt")

// trailing is what columns leave at the ends of their lines.
var trailing = regexp.MustCompile(`[ \t]+\n`)

// set gives text its signs: a true minus in front of every number, or ASCII only.
func (p page) set(text []byte) []byte {
	text = trailing.ReplaceAll(text, []byte("\n"))
	if p.ascii {
		return []byte(plain.Replace(string(text)))
	}
	return []byte(tell.Minus(string(text)))
}

// wrapped breaks text between words so that it fits a width; the first line keeps its own indent, those after it get another.
func wrapped(text string, width, indent int) string {
	words := strings.Fields(text)
	first := len(text) - len(strings.TrimLeft(text, " "))
	var b strings.Builder
	b.WriteString(strings.Repeat(" ", first))
	at := first
	for i, word := range words {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case at+1+n > width:
			b.WriteString("\n" + strings.Repeat(" ", indent))
			at = indent
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += n
	}
	return b.String()
}
