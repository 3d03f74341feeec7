// Package intake reads old inspections from a delimited file by a mapping of its columns: a row is one inspection, rows of
// one serial number are its attempts in order of time. Values get their limits and zones from a specification; what came
// without readings stays without.
package intake

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/inspect"
)

// Options say what a file is read for.
type Options struct {
	File     string // its name, for errors and reasons
	Spec     *inspect.Spec
	Batch    batch.Batch                        // its Pattern must fit
	Location *time.Location                     // of the file's times
	Taken    func(serial string) (string, bool) // the batch that has a serial number already
}

// reader is one file on its way to stories.
type reader struct {
	Options
	m       *files.Mapping
	number  func(cell string) (v float64, problem string)
	columns map[string]int
	layout  string
	faults  []batch.FileError
	lines   map[string]int // of each serial number's newest row
	stories []batch.Story
	place   map[string]int // of each serial number's story
}

// Read turns a file into stories, in the order in which serial numbers come first. faults lists everything that is wrong,
// by line and column; where there is any, nothing of the file is fit to be kept.
func Read(m *files.Mapping, text []byte, opt Options) (stories []batch.Story, faults []batch.FileError) {
	r := &reader{Options: opt, m: m, lines: map[string]int{}, place: map[string]int{}}
	in, err := files.NewDelimited(opt.File, text, files.Signs{Separator: m.Separator, Decimal: m.Decimal})
	if err != nil {
		return nil, []batch.FileError{asFault(opt.File, err)}
	}
	r.number = in.Number
	if !r.find(in.Header) {
		return nil, r.faults
	}
	pattern, err := opt.Batch.SerialPattern()
	if err != nil {
		return nil, []batch.FileError{{File: opt.File, Problem: err.Error()}}
	}
	for {
		line, cells, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			r.faults = append(r.faults, asFault(opt.File, err))
			continue
		}
		serial, a, ok := r.row(line, cells)
		if !ok {
			continue
		}
		if r.fits(line, serial, pattern) {
			r.keep(line, serial, a)
		}
	}
	if len(r.stories) == 0 && len(r.faults) == 0 {
		r.faults = append(r.faults, batch.FileError{File: opt.File, Line: 1, Problem: "has no row below its header"})
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	return r.stories, nil
}

// fits says that the batch may have a serial number.
func (r *reader) fits(line int, serial string, pattern *regexp.Regexp) bool {
	if r.Batch.Pattern != "" && !pattern.MatchString(serial) {
		r.fault(line, r.m.Serial, strconv.Quote(serial), "a serial number that fits the batch's pattern "+r.Batch.Pattern)
		return false
	}
	if err := r.Batch.Check.Check(serial); err != nil {
		r.fault(line, r.m.Serial, strconv.Quote(serial), "a serial number that ends in its check character ("+err.Error()+")")
		return false
	}
	return true
}

// keep adds an inspection to its neck's story, which begins where the serial number comes first.
func (r *reader) keep(line int, serial string, a batch.StoryAttempt) {
	i, again := r.place[serial]
	if !again {
		if number, taken := r.Taken(serial); taken {
			r.fault(line, r.m.Serial, serial+", which is in batch "+number+" already", "a serial number that is not in the record")
		}
		i = len(r.stories)
		r.place[serial] = i
		r.stories = append(r.stories, batch.Story{Serial: serial})
	}
	s := &r.stories[i]
	if again && !a.StartedAt.After(s.Attempts[len(s.Attempts)-1].StartedAt) {
		r.fault(line, r.m.Date, a.StartedAt.Format("2006-01-02 15:04:05"), fmt.Sprintf("later than the inspection of %s on line %d", serial, r.lines[serial]))
		return
	}
	r.lines[serial] = line
	s.Attempts = append(s.Attempts, a)
}

// asFault is an error of a file as what is wrong with it.
func asFault(file string, err error) batch.FileError {
	var fault batch.FileError
	if !errors.As(err, &fault) {
		fault = batch.FileError{File: file, Problem: err.Error()}
	}
	return fault
}

func (r *reader) fault(line int, column, found, allowed string) {
	r.faults = append(r.faults, batch.FileError{File: r.File, Line: line, Field: column, Found: batch.Shown(found), Allowed: allowed})
}

// find places the mapping's columns in the header.
func (r *reader) find(header []string) bool {
	r.columns = map[string]int{}
	for i, name := range header {
		if _, twice := r.columns[name]; twice && r.asked(name) {
			r.fault(1, name, "it twice in the header", "once")
		}
		r.columns[name] = i
	}
	for _, name := range r.names() {
		if _, ok := r.columns[name]; !ok {
			r.fault(1, name, "no such column in the header", strings.Join(header, ", "))
		}
	}
	for i := range r.m.Measurements { // once, not for every row
		c := &r.m.Measurements[i]
		if _, err := r.Spec.JudgeElsewhere(inspect.Characteristic{Name: c.Characteristic, Track: c.Track, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret}); err != nil {
			r.faults = append(r.faults, batch.FileError{File: r.File, Line: 1, Field: c.Column, Problem: "the mapping does not fit the batch's specification: " + err.Error()})
		}
	}
	layout, err := files.Layout(r.m.DateFormat)
	if err == nil && r.m.Time != "" {
		var clock string
		clock, err = files.Layout(r.m.TimeFormat)
		layout += " " + clock
	}
	if err != nil {
		r.faults = append(r.faults, batch.FileError{File: r.File, Problem: err.Error()})
	}
	r.layout = layout
	return len(r.faults) == 0
}

// names are the columns that the mapping asks for.
func (r *reader) names() []string {
	all := []string{r.m.Serial, r.m.Date, r.m.Inspector}
	for _, name := range []string{r.m.Time, r.m.Disposition, r.m.Humidity, r.m.Temperature} {
		if name != "" {
			all = append(all, name)
		}
	}
	for _, c := range r.m.Measurements {
		all = append(all, c.Column)
	}
	return all
}

func (r *reader) asked(name string) bool { return slices.Contains(r.names(), name) }

// row reads one inspection; ok is false where something in it is wrong.
func (r *reader) row(line int, cells []string) (serial string, a batch.StoryAttempt, ok bool) {
	before := len(r.faults)
	cell := func(column string) string { return strings.TrimSpace(cells[r.columns[column]]) }
	needed := func(column, what string) string {
		v := cell(column)
		if v == "" {
			r.fault(line, column, "an empty cell", what)
		}
		return v
	}
	if serial = needed(r.m.Serial, "a serial number"); serial != "" && !batch.IsSerial(serial) {
		r.fault(line, r.m.Serial, strconv.Quote(serial), batch.AllowedSerial)
	}
	a.Inspector = needed(r.m.Inspector, "a name")
	when, format := needed(r.m.Date, r.m.DateFormat), r.m.DateFormat
	if r.m.Time != "" {
		when += " " + needed(r.m.Time, r.m.TimeFormat)
		format += " " + r.m.TimeFormat
	}
	var err error
	if a.StartedAt, err = time.ParseInLocation(r.layout, when, r.Location); err != nil && len(r.faults) == before {
		r.fault(line, r.m.Date, strconv.Quote(when), "a date that exists, as "+format)
	}
	a.Posture = r.Spec.Routine.Posture
	a.Climate.HumidityPercent = r.within(line, r.m.Humidity, cells, 0, 100)
	a.Climate.TemperatureC = r.within(line, r.m.Temperature, cells, -20, 60)
	res := &inspect.Result{Serial: serial, Spec: r.Spec.Name, Revision: r.Spec.Revision}
	for i := range r.m.Measurements {
		if c, fine := r.measurement(line, &r.m.Measurements[i], cells); fine {
			res.Characteristics = append(res.Characteristics, c)
		}
	}
	v := r.verdict(line, res, a, cell)
	a.Verdicts = []batch.Verdict{v}
	return serial, a, len(r.faults) == before
}

// value reads a decimal number; nil for an empty cell.
func (r *reader) value(line int, column string, cells []string) (*float64, bool) {
	cell := strings.TrimSpace(cells[r.columns[column]])
	if cell == "" {
		return nil, true
	}
	v, problem := r.number(cell)
	if problem != "" {
		r.faults = append(r.faults, batch.FileError{File: r.File, Line: line, Field: column, Problem: problem + ", or nothing where it was not measured"})
		return nil, false
	}
	return &v, true
}

// within reads a number that must lie between two, "" being no column.
func (r *reader) within(line int, column string, cells []string, lo, hi float64) *float64 {
	if column == "" {
		return nil
	}
	v, ok := r.value(line, column, cells)
	if ok && v != nil && (*v < lo || *v > hi) {
		r.fault(line, column, strconv.FormatFloat(*v, 'g', -1, 64), fmt.Sprintf("%g to %g", lo, hi))
	}
	return v
}

// measurement reads and judges one value.
func (r *reader) measurement(line int, c *files.MappedColumn, cells []string) (inspect.Characteristic, bool) {
	x := inspect.Characteristic{Name: c.Characteristic, Track: c.Track, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret}
	v, ok := r.value(line, c.Column, cells)
	if !ok {
		return x, false
	}
	if v != nil {
		in := c.InUnit(*v)
		x.Value = &in
		if c.U > 0 {
			u := c.InUnit(c.U)
			x.U = &u
		}
	}
	x, err := r.Spec.JudgeElsewhere(x)
	if err != nil {
		r.faults = append(r.faults, batch.FileError{File: r.File, Line: line, Field: c.Column, Problem: err.Error()})
		return x, false
	}
	return x, true
}

// verdict is what the row says was decided, or else what its values say.
func (r *reader) verdict(line int, res *inspect.Result, a batch.StoryAttempt, cell func(string) string) batch.Verdict {
	res.Disposition = inspect.DispositionElsewhere(res.Characteristics)
	res.Conforms = res.Disposition == inspect.Pass
	res.Why = "taken in from " + r.File + " without readings"
	v := batch.Verdict{At: a.StartedAt, Result: res, Disposition: res.Disposition}
	word := ""
	if r.m.Disposition != "" {
		word = cell(r.m.Disposition)
	}
	switch {
	case word != "":
		means, known := r.m.Words[strings.ToLower(word)]
		if !known {
			r.fault(line, r.m.Disposition, strconv.Quote(word), "one of "+strings.Join(sortedKeys(r.m.Words), ", ")+"; add other words under [words] in the mapping")
			return v
		}
		if v.Disposition = inspect.Disposition(means); v.Disposition != res.Disposition {
			v.DecidedBy, v.Reason = a.Inspector, fmt.Sprintf("as written in %s, line %d", r.File, line)
		}
	case res.Disposition == inspect.Remeasure:
		column := r.m.Disposition
		r.faults = append(r.faults, batch.FileError{File: r.File, Line: line, Field: column,
			Problem: "the values alone decide nothing: " + undecided(r.Spec, res) + "; needed: a disposition in the file"})
	}
	return v
}

func undecided(spec *inspect.Spec, res *inspect.Result) string {
	for _, c := range res.Characteristics {
		if c.Zone == inspect.Undecided || c.Zone == inspect.NotMeasured {
			return inspect.Words(spec, c) + " is " + string(c.Zone)
		}
	}
	return "there are none"
}

func sortedKeys(words map[string]string) []string {
	var keys []string
	for k := range words {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
