package instruments

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/life"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// lifePage is what an instrument did over its visits: with humidity, with other strings, and visit by visit.
type lifePage struct {
	Serial    string
	Sentences []string // what humidity does to it and what is to be expected
	How       string   // it was worked out
	Chart     *show.Chart
	Rows      []measuredRow
	Tracks    []string
	Strings   []int
	Months    []monthRow
	Asked     string // humidity that was asked about
	Answer    string
	Giving    string
	Sets      []string   // what each of the usual sets would do
	Stays     []stayView // the newest first
	Earlier   []stayView
	Notes     []noteLine // the newest first
	Unit      string
}

// newestStays is how many visits are told at once; the others are folded.
const newestStays = 4

// measuredRow is one inspection in numbers.
type measuredRow struct {
	At               time.Time
	Visit            string
	Relief, Action   []string
	Humidity, Warmth string
	Strings          string
	Doubt            bool
}

// monthRow is what a month lets expect.
type monthRow struct {
	Month, Air, Expected, From string
	Days                       int
	Why                        string // nothing is said
}

// stayView is one visit in sentences.
type stayView struct {
	Name  string
	Lines []string
}

func (s *server) life(c *site.Request) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	l, err := life.Read(ctx, s.opt.Record, serial)
	if err != nil {
		return err
	}
	if len(l.Stays) == 0 {
		_, err := s.opt.Record.Instrument(ctx, serial) // says that it is not known
		return err
	}
	days, err := s.opt.Record.AirDays(ctx)
	if err != nil {
		return err
	}
	lengths := c.Unit()
	h := l.Neck.HumidityOf()
	p := lifePage{Serial: serial, Sentences: []string{tell.LifeHumidity(h, lengths)}, How: tell.LifeHumidityHow(h, lengths), Unit: lengths.String()}
	p.months(&l.Neck, h, life.AirOf(days), lengths)
	if p.Asked = strings.TrimSpace(c.Query("humidity")); p.Asked != "" {
		p.Answer = expectedAt(&l.Neck, h, p.Asked, lengths)
	}
	p.numbers(l, lengths)
	p.Chart = lifeChart(l, p.Tracks, p.Strings, lengths)
	p.restrung(l, lengths)
	for _, stay := range slices.Backward(l.Stays) {
		p.Stays = append(p.Stays, stayView{Name: tell.StayName(stay), Lines: tell.StayTold(stay, lengths)})
	}
	visits := make([]batch.Visit, len(l.Stays))
	for i, stay := range l.Stays {
		visits[i] = stay.Visit
	}
	if p.Notes, err = s.noteLines(ctx, serial, visits); err != nil {
		return err
	}
	n := min(newestStays, len(p.Stays))
	p.Stays, p.Earlier = p.Stays[:n], p.Stays[n:]
	return c.Show(http.StatusOK, "life", "Life of "+serial, p)
}

// lifeOf is what the instrument's page says of its life: the first sentences, "" before anything can be compared.
func (s *server) lifeOf(ctx context.Context, serial string, lengths unit.Unit) ([]string, error) {
	l, err := life.Read(ctx, s.opt.Record, serial)
	if err != nil || len(l.Neck.Measured) == 0 {
		return nil, err
	}
	days, err := s.opt.Record.AirDays(ctx)
	if err != nil {
		return nil, err
	}
	return tell.Life(l, days, lengths), nil
}

// months says what each month's air lets expect.
func (p *lifePage) months(n *life.Neck, h life.Humidity, airs [12]life.Air, lengths unit.Unit) {
	e := n.Months(h, airs)
	p.Sentences = append(p.Sentences, tell.LifeMonths(h, airs, e, lengths)...)
	if !h.Known() {
		return
	}
	for i, a := range airs {
		if a.Days == 0 {
			continue
		}
		row := monthRow{Month: a.Month.String(), Days: a.Days, Air: inspect.Number(a.Mean, 0, false), Why: tell.LifeNotInMonth(e[i], h)}
		if e[i].Is == life.Told {
			row.Expected, row.From = tell.Relief(e[i].MM, lengths), tell.Relief(e[i].Low, lengths)+" to "+tell.Relief(e[i].High, lengths)
		}
		p.Months = append(p.Months, row)
	}
}

// expectedAt answers what is to be expected at a humidity that was typed.
func expectedAt(n *life.Neck, h life.Humidity, text string, lengths unit.Unit) string {
	percent, err := strconv.ParseFloat(strings.Replace(strings.TrimRight(text, " %RH"), ",", ".", 1), 64)
	if err != nil || !(percent >= 0 && percent <= 100) {
		return fmt.Sprintf("Found %q as a humidity; allowed: from 0 to 100 %% RH.", batch.Shown(text))
	}
	e := n.ExpectAt(h, percent)
	if why := tell.LifeNotExpected(e, h); why != "" {
		return fmt.Sprintf("Nothing is said of %s: %s.", tell.AirOf(percent), why)
	}
	return tell.LifeExpected(tell.AirOf(percent), e, lengths)
}

// numbers fills the table: relief by track, action of the outermost strings.
func (p *lifePage) numbers(l *life.Life, lengths unit.Unit) {
	for _, stay := range l.Stays {
		for i := range stay.Seen {
			p.measuredIn(stay.Seen[i].Result)
		}
	}
	slices.Sort(p.Strings)
	slices.Reverse(p.Strings) // bass to treble
	if n := len(p.Strings); n > 2 {
		p.Strings = []int{p.Strings[0], p.Strings[n-1]}
	}
	at := map[time.Time]string{}
	for _, m := range l.Neck.Measured {
		at[m.At] = m.Strings.Name
	}
	for _, stay := range l.Stays {
		for i := range stay.Seen {
			in := &stay.Seen[i]
			row := p.row(in, lengths)
			row.Visit, row.Strings = strconv.Itoa(stay.Number), at[in.At]
			if stay.Number == 0 {
				row.Visit = stay.Batch.Number
			}
			p.Rows = append(p.Rows, row)
		}
	}
}

// measuredIn adds the tracks and strings that a result has values of.
func (p *lifePage) measuredIn(r *inspect.Result) {
	for _, c := range r.Characteristics {
		switch {
		case c.Value == nil:
		case c.Name == inspect.Relief && !slices.Contains(p.Tracks, c.Track):
			p.Tracks = append(p.Tracks, c.Track)
		case c.Name == inspect.Action && !slices.Contains(p.Strings, c.String):
			p.Strings = append(p.Strings, c.String)
		}
	}
}

// row is one inspection in numbers.
func (p *lifePage) row(in *life.Seen, lengths unit.Unit) measuredRow {
	row := measuredRow{At: in.At, Doubt: in.InDoubt}
	for _, track := range p.Tracks {
		row.Relief = append(row.Relief, number(reliefOn(in.Result, track), lengths, show.Signed))
	}
	for _, n := range p.Strings {
		row.Action = append(row.Action, number(actionOf(in.Result, n), lengths, show.Number))
	}
	if v := in.Climate.HumidityPercent; v != nil {
		row.Humidity = inspect.Number(*v, 0, false)
	}
	if v := in.Climate.TemperatureC; v != nil {
		row.Warmth = inspect.Number(*v, 1, false)
	}
	return row
}

func number(v *float64, lengths unit.Unit, write func(float64, unit.Unit) string) string {
	if v == nil {
		return ""
	}
	return write(*v, lengths)
}

func reliefOn(r *inspect.Result, track string) *float64 {
	return valueOf(r, func(c *inspect.Characteristic) bool { return c.Name == inspect.Relief && c.Track == track })
}

func actionOf(r *inspect.Result, number int) *float64 {
	return valueOf(r, func(c *inspect.Characteristic) bool {
		return c.Name == inspect.Action && c.String == number && c.HeldFret == 0
	})
}

// valueOf is the first value of a characteristic that was measured then and not carried over.
func valueOf(r *inspect.Result, is func(*inspect.Characteristic) bool) *float64 {
	for i := range r.Characteristics {
		if c := &r.Characteristics[i]; is(c) && c.CarriedFrom == nil {
			return c.Value
		}
	}
	return nil
}

// restrung says what the usual sets for so many strings would do.
func (p *lifePage) restrung(l *life.Life, lengths unit.Unit) {
	if len(l.Neck.Measured) == 0 {
		return
	}
	giving := l.Neck.GivingOf()
	p.Giving = tell.LifeGiving(giving, lengths)
	on := l.Neck.Measured[len(l.Neck.Measured)-1].Strings
	spec := l.Stays[len(l.Stays)-1].Batch.Spec.Spec.WithDefaults()
	for _, set := range instrument.Sets() {
		if set.Kind != spec.Neck.Kind || set.Name == on.Name {
			continue
		}
		if strings, ok := instrument.Restrung(set, spec.Strings); ok {
			if r, ok := giving.Restring(on, life.StringsOn(spec, set.Name, strings)); ok {
				p.Sets = append(p.Sets, tell.LifeRestrung(set.Name, r, lengths))
			}
		}
	}
}
