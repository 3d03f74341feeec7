// Package form is what people type into: fields with their bounds, what was typed kept with what is wrong with it.
package form

import (
	"cmp"
	"embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// Field is one labelled input: what was typed is kept beside what is wrong with it.
type Field struct {
	Name    string
	ID      string // of its input in the page, where another form of the page has a field of the same name; empty: Name
	Label   string
	Kind    string // "text", "number", "select", "check", "area", "date", "file"; "signed"; "secret" and "pin", which are never written back
	Unit    string // shown inside the field
	Allowed string // the allowed range or form, beside the field
	Value   string
	Error   string
	Auto    string   // what a browser may fill in, "" for nothing
	Accept  string   // of a file: the endings offered; empty: .toml
	Many    bool     // of a file: several may be chosen
	List    string   // the id of a list of values that are proposed while typing
	Meaning string   // of a signed one: what the password beside it signs; "" asks for none
	Barred  string   // of a signed one: why who is signed on may not send the form
	Missing string   // why nothing can be chosen; what is missing is entered on the page People
	Options []Option // of a select or of check boxes
	Needed  bool
	Focus   bool // it has the cursor when the page opens
	Rows    int  // of a text area
}

// Option is one choice of a field.
type Option struct {
	Value, Label string
	On           bool
}

// Templates write fields and forms: "field", "form-error", "form-fields".
//
//go:embed templates
var Templates embed.FS

// Form is a set of fields in groups, and what is wrong with it as a whole.
type Form struct {
	Groups  []Group
	Error   string
	refusal error
}

// Group is a titled part of a form.
type Group struct {
	Title  string
	Note   string
	Fields []Field
	Folded bool // shown when it is opened, or something in it is wrong
}

// ShownIn is the unit of length that the form's fields are in, "" for none: it is sent with them, since another window may switch meanwhile.
func (f *Form) ShownIn() string {
	for _, g := range f.Groups {
		for _, fd := range g.Fields {
			if fd.Unit == unit.Millimetre.String() || fd.Unit == unit.Inch.String() {
				return fd.Unit
			}
		}
	}
	return ""
}

// Open says that a folded group is to be shown: something in it is wrong.
func (g Group) Open() bool {
	return slices.ContainsFunc(g.Fields, func(f Field) bool { return f.Error != "" })
}

// Field finds one by name; a form holds every name its handler asks for.
func (f *Form) Field(name string) *Field {
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			if f.Groups[i].Fields[j].Name == name {
				return &f.Groups[i].Fields[j]
			}
		}
	}
	return &Field{Name: name}
}

// At is what names a field's parts in the page.
func (fd Field) At() string { return cmp.Or(fd.ID, fd.Name) }

// Apart names the form's fields in the page apart from those of other forms, and returns the form.
func (f *Form) Apart(prefix string) *Form {
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			fd := &f.Groups[i].Fields[j]
			fd.ID = prefix + "-" + fd.Name
		}
	}
	return f
}

// Sent is what came with a request.
type Sent interface {
	PostForm(name string) string
	PostFormArray(name string) []string
}

// Fill takes over what was typed.
func (f *Form) Fill(c Sent) {
	for i := range f.Groups {
		for j := range f.Groups[i].Fields {
			fd := &f.Groups[i].Fields[j]
			switch fd.Kind {
			case "signed": // the session says it
			case "check":
				fd.Set(c.PostFormArray(fd.Name)...)
			case "area", "secret":
				fd.Set(c.PostForm(fd.Name))
			default:
				fd.Set(strings.TrimSpace(c.PostForm(fd.Name)))
			}
		}
	}
}

// Set gives a field its value, or its choices.
func (fd *Field) Set(values ...string) {
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

// Chosen lists the values of the boxes that are ticked.
func (fd *Field) Chosen() []string {
	var on []string
	for _, o := range fd.Options {
		if o.On {
			on = append(on, o.Value)
		}
	}
	return on
}

// Fail says what is wrong with a field; the first complaint stays.
func (fd *Field) Fail(format string, args ...any) {
	if fd.Error == "" {
		fd.Error = fmt.Sprintf(format, args...)
	}
}

// Refuse says why what was typed was not taken. Where that was the machine's fault nothing typed is wrong: it is kept, to be
// sent again.
func (f *Form) Refuse(err error) {
	f.refusal, f.Error = err, Sentence(err)
}

// Sentence says why what was typed was not taken.
func Sentence(err error) string {
	if batch.KindOf(err) == batch.Machine {
		return "Nothing was recorded. " + tell.Sentence(err) + " What was typed is kept here: send it again when this is mended."
	}
	return tell.Sentence(err)
}

// RefuseAt is Refuse for an error that one field explains; what the machine could not do is told of the whole form.
func (f *Form) RefuseAt(name string, err error) {
	if batch.KindOf(err) == batch.Machine {
		f.Refuse(err)
		return
	}
	f.refusal = err
	f.Field(name).Fail("%s", tell.Sentence(err))
}

// Refusal is the error that the form was refused with, nil where only its fields are wrong.
func (f *Form) Refusal() error { return f.refusal }

// Wrong lists the fields that need another look.
func (f *Form) Wrong() []Field {
	var wrong []Field
	for _, g := range f.Groups {
		for _, fd := range g.Fields {
			if fd.Error != "" {
				wrong = append(wrong, fd)
			}
		}
	}
	return wrong
}

// Ok says that nothing is wrong with the form.
func (f *Form) Ok() bool {
	return f.Error == "" && len(f.Wrong()) == 0
}

// Text returns what was typed, and complains when a needed field is empty or longer than most runes.
func (f *Form) Text(name string, most int) string {
	fd := f.Field(name)
	switch n := len([]rune(fd.Value)); {
	case n == 0 && fd.Needed:
		fd.Fail("Nothing is here. Give %s.", tell.Lower(fd.Label))
	case n > most:
		fd.Fail("%d characters; at most %d are allowed.", n, most)
	case strings.ContainsFunc(fd.Value, func(r rune) bool { return r < ' ' && r != '\n' && r != '\r' && r != '\t' }):
		fd.Fail("There is a character here that cannot be printed; use printable text.")
	}
	return fd.Value
}

// Choice returns the chosen value, and complains about one that is not offered.
func (f *Form) Choice(name string) string {
	fd := f.Field(name)
	for _, o := range fd.Options {
		if o.Value == fd.Value && (o.Value != "" || !fd.Needed) {
			return fd.Value
		}
	}
	if fd.Value == "" {
		if fd.Needed {
			fd.Fail("Nothing is chosen. Choose one of the list.")
		}
		return ""
	}
	fd.Fail("%q is not offered; choose one of the list.", fd.Value)
	return fd.Value
}

// Number returns a number from low to high; an empty field that is not needed is 0.
func (f *Form) Number(name string, low, high float64) float64 {
	fd := f.Field(name)
	v, err := show.ParseNumber(fd.Value)
	switch {
	case fd.Value == "" && !fd.Needed:
		return 0
	case err != nil:
		fd.Fail("%q is not a number; allowed is %s to %s.", fd.Value, show.Plain(low), show.Plain(high))
	case v < low || v > high:
		fd.Fail("%s is outside %s to %s.", show.Plain(v), show.Plain(low), show.Plain(high))
	}
	return v
}

// Whole returns a whole number from low to high; an empty field that is not needed is 0.
func (f *Form) Whole(name string, low, high int) int {
	v := f.Number(name, float64(low), float64(high))
	if v != math.Trunc(v) {
		f.Field(name).Fail("%s is not a whole number.", show.Plain(v))
	}
	return int(v)
}

// Length returns mm from a length in the page's unit or with its own (mm or in), from low to high mm; an empty field
// that is not needed is 0.
func (f *Form) Length(name string, lengths unit.Unit, low, high float64) float64 {
	fd := f.Field(name)
	if fd.Value == "" && !fd.Needed {
		return 0
	}
	mm, err := show.ParseLength(fd.Value, lengths)
	switch {
	case err != nil:
		fd.Fail("%q is not a length; allowed is %s to %s.", fd.Value, show.Exact(low, lengths), show.Exact(high, lengths))
	case mm < low-1e-12 || mm > high+1e-12:
		fd.Fail("%s is outside %s to %s.", show.Exact(mm, lengths), show.Exact(low, lengths), show.Exact(high, lengths))
	}
	return mm
}

// Date returns a day in local time, zero when the field is empty.
func (f *Form) Date(name string) time.Time {
	fd := f.Field(name)
	if fd.Value == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation("2006-01-02", fd.Value, time.Local)
	if err != nil {
		fd.Fail("%q is not a day; write year-month-day, as in 2027-03-31.", fd.Value)
	}
	return t
}

// Pairs reads lines of two lengths, mm; the first of each line must rise.
func (f *Form) Pairs(name string, lengths unit.Unit) [][2]float64 {
	fd := f.Field(name)
	var pairs [][2]float64
	for i, line := range strings.Split(fd.Value, "\n") {
		words := strings.Fields(strings.NewReplacer(";", " ", "\t", " ", ", ", " ").Replace(line))
		if len(words) == 0 {
			continue
		}
		if len(words) != 2 {
			fd.Fail("Line %d: %q is not two numbers, as in 1.000 0.002.", i+1, strings.TrimSpace(line))
			return nil
		}
		a, errA := show.ParseLength(words[0], lengths)
		b, errB := show.ParseLength(words[1], lengths)
		if errA != nil || errB != nil {
			fd.Fail("Line %d: %q is not two numbers, as in 1.000 0.002.", i+1, strings.TrimSpace(line))
			return nil
		}
		if n := len(pairs); n > 0 && a <= pairs[n-1][0] {
			fd.Fail("Line %d: %s does not rise above the line before, %s.", i+1, show.Exact(a, lengths), show.Exact(pairs[n-1][0], lengths))
			return nil
		}
		pairs = append(pairs, [2]float64{a, b})
	}
	return pairs
}
