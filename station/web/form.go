package web

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"sagitta/inspect/unit"
)

// field is one labelled input: what was typed is kept beside what is wrong with it.
type field struct {
	Name    string
	ID      string // of its input in the page, where another form of the page has a field of the same name; empty: Name
	Label   string
	Kind    string // "text", "number", "select", "check", "area", "date", "file"
	Unit    string // shown inside the field
	Allowed string // the allowed range or form, beside the field
	Value   string
	Error   string
	Accept  string   // of a file: the endings offered; empty: .toml
	List    string   // the id of a list of values that are proposed while typing
	Missing string   // why nothing can be chosen; what is missing is entered on the page People
	Options []option // of a select or of check boxes
	Needed  bool
	Rows    int // of a text area
}

// option is one choice of a field.
type option struct {
	Value, Label string
	On           bool
}

// form is a set of fields in groups, and what is wrong with it as a whole.
type form struct {
	Groups []fieldGroup
	Error  string
}

// fieldGroup is a titled part of a form.
type fieldGroup struct {
	Title  string
	Note   string
	Fields []field
}

// field finds one by name; a form holds every name its handler asks for.
func (f *form) field(name string) *field {
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			if f.Groups[i].Fields[j].Name == name {
				return &f.Groups[i].Fields[j]
			}
		}
	}
	return &field{Name: name}
}

// At is what names a field's parts in the page.
func (fd field) At() string { return cmp.Or(fd.ID, fd.Name) }

// apart names the form's fields in the page apart from those of other forms, and returns the form.
func (f *form) apart(prefix string) *form {
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			fd := &f.Groups[i].Fields[j]
			fd.ID = prefix + "-" + fd.Name
		}
	}
	return f
}

// fill takes over what was typed.
func (f *form) fill(c *gin.Context) {
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			fd := &f.Groups[i].Fields[j]
			switch fd.Kind {
			case "check":
				fd.set(c.PostFormArray(fd.Name)...)
			case "area":
				fd.set(c.PostForm(fd.Name))
			default:
				fd.set(strings.TrimSpace(c.PostForm(fd.Name)))
			}
		}
	}
}

// set gives a field its value, or its choices.
func (fd *field) set(values ...string) {
	if len(values) > 0 && fd.Kind != "check" {
		fd.Value = values[0]
	}
	for i := range fd.Options {
		fd.Options[i].On = false
		for _, v := range values {
			fd.Options[i].On = fd.Options[i].On || fd.Options[i].Value == v
		}
	}
}

// chosen lists the values of the boxes that are ticked.
func (fd *field) chosen() []string {
	var on []string
	for _, o := range fd.Options {
		if o.On {
			on = append(on, o.Value)
		}
	}
	return on
}

// fail says what is wrong with a field; the first complaint stays.
func (fd *field) fail(format string, args ...any) {
	if fd.Error == "" {
		fd.Error = fmt.Sprintf(format, args...)
	}
}

// Wrong lists the fields that need another look.
func (f *form) Wrong() []field {
	var wrong []field
	for _, g := range f.Groups {
		for _, fd := range g.Fields {
			if fd.Error != "" {
				wrong = append(wrong, fd)
			}
		}
	}
	return wrong
}

// ok says that nothing is wrong with the form.
func (f *form) ok() bool {
	return f.Error == "" && len(f.Wrong()) == 0
}

// text returns what was typed, and complains when a needed field is empty or longer than most runes.
func (f *form) text(name string, most int) string {
	fd := f.field(name)
	switch n := len([]rune(fd.Value)); {
	case n == 0 && fd.Needed:
		fd.fail("Nothing is here. Give %s.", lowerFirst(fd.Label))
	case n > most:
		fd.fail("%d characters; at most %d are allowed.", n, most)
	case strings.ContainsFunc(fd.Value, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' }):
		fd.fail("There is a character here that cannot be printed; use printable text.")
	}
	return fd.Value
}

// choice returns the chosen value, and complains about one that is not offered.
func (f *form) choice(name string) string {
	fd := f.field(name)
	for _, o := range fd.Options {
		if o.Value == fd.Value && (o.Value != "" || !fd.Needed) {
			return fd.Value
		}
	}
	if fd.Value == "" {
		if fd.Needed {
			fd.fail("Nothing is chosen. Choose one of the list.")
		}
		return ""
	}
	fd.fail("%q is not offered; choose one of the list.", fd.Value)
	return fd.Value
}

// number returns a number from low to high; an empty field that is not needed is 0.
func (f *form) number(name string, low, high float64) float64 {
	fd := f.field(name)
	v, err := parseNumber(fd.Value)
	switch {
	case fd.Value == "" && !fd.Needed:
		return 0
	case err != nil:
		fd.fail("%q is not a number; allowed is %s to %s.", fd.Value, plain(low), plain(high))
	case v < low || v > high:
		fd.fail("%s is outside %s to %s.", plain(v), plain(low), plain(high))
	}
	return v
}

// whole returns a whole number from low to high; an empty field that is not needed is 0.
func (f *form) whole(name string, low, high int) int {
	v := f.number(name, float64(low), float64(high))
	if v != math.Trunc(v) {
		f.field(name).fail("%s is not a whole number.", plain(v))
	}
	return int(v)
}

// length returns mm from a length in the page's unit or with its own (mm or in), from low to high mm; an empty field
// that is not needed is 0.
func (f *form) length(name string, lengths unit.Unit, low, high float64) float64 {
	fd := f.field(name)
	if fd.Value == "" && !fd.Needed {
		return 0
	}
	mm, err := parseLength(fd.Value, lengths)
	switch {
	case err != nil:
		fd.fail("%q is not a length; allowed is %s to %s.", fd.Value, exact(low, lengths), exact(high, lengths))
	case mm < low-1e-12 || mm > high+1e-12:
		fd.fail("%s is outside %s to %s.", exact(mm, lengths), exact(low, lengths), exact(high, lengths))
	}
	return mm
}

// date returns a day in local time, zero when the field is empty.
func (f *form) date(name string) time.Time {
	fd := f.field(name)
	if fd.Value == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation("2006-01-02", fd.Value, time.Local)
	if err != nil {
		fd.fail("%q is not a day; write year-month-day, as in 2027-03-31.", fd.Value)
	}
	return t
}

// lowerFirst begins a label in the middle of a sentence.
func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToLower(first)) + s[size:]
}
