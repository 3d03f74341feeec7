package instruments

import (
	"context"
	"net/http"
	"strings"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// actLook sends a form of wishes to be shown again with what was chosen; else the visit begins.
const actLook = "look"

// wishPage is the one screen of a new instrument, or of its next visit.
type wishPage struct {
	Title, Sentence string
	Action          string // where the form is sent
	Button          string
	Known           string // the serial number that was given as new and is on file
	Form            wishForm
}

// asked is what is said of an instrument and its player, and where it is measured.
type asked struct {
	form.Form
	gauges []batch.Gauge // that measure; none: the form asks which there are
}

// ask makes the fields of a new instrument, or of a visit of one that is entered.
func (s *server) ask(c *site.Request, known bool) (*asked, error) {
	gauges, err := show.InUse(c.Request.Context(), s.opt.Record)
	if err != nil {
		return nil, err
	}
	a := &asked{gauges: gauges}
	first, more := form.Group{}, form.Group{Folded: true}
	if !known {
		first.Fields = append(first.Fields,
			form.Field{Name: "serial", Label: "Serial number", Kind: "text", Allowed: "or any name that tells it from others", Needed: true, Focus: true},
			form.Field{Name: "owner", Label: "Owner", Kind: "text", Allowed: "may stay empty"})
		more.Fields = append(more.Fields,
			form.Field{Name: "contact", Label: "How the owner is reached", Kind: "text"},
			form.Field{Name: "maker", Label: "Maker's number", Kind: "text", Allowed: "where it is another"})
	}
	first.Fields = append(first.Fields, form.Field{Name: "words", Label: "What the player wants, in their own words", Kind: "area", Rows: 2, Focus: known})
	if len(gauges) == 0 {
		with := form.Field{Name: "with", Label: "What you measure with", Kind: "select", Value: show.ByHand[0].Key, Needed: true}
		for i, h := range show.ByHand {
			with.Options = append(with.Options, form.Option{Value: h.Key, Label: tell.Upper(strings.TrimPrefix(h.Label, "I have ")), On: i == 0})
		}
		first.Fields = append(first.Fields, with)
	}
	climate := []form.Field{
		{Name: "temperature", Label: "Temperature", Kind: "number", Unit: "°C", Allowed: "of the room, now"},
		{Name: "humidity", Label: "Humidity", Kind: "number", Unit: "% RH", Allowed: "of the room, now"},
	}
	if known {
		first.Fields = append(first.Fields, climate...)
	} else {
		more.Fields = append(more.Fields, climate...)
	}
	by, err := c.ByField(batch.Keep)
	if err != nil {
		return nil, err
	}
	if by.Kind == "select" && by.Value != "" { // known already
		more.Fields = append(more.Fields, by)
	} else {
		first.Fields = append(first.Fields, by)
	}
	a.Groups = []form.Group{first, more}
	return a, nil
}

// with are the gauges that the visit is measured with: those on file, or those that were chosen.
func (a *asked) with() []batch.Gauge {
	if len(a.gauges) > 0 {
		return a.gauges
	}
	var gauges []batch.Gauge
	if h, err := show.HandfulOf(a.Field("with").Value); err == nil {
		for _, k := range h.Kinds {
			gauges = append(gauges, batch.Ordinary(k, unit.Millimetre))
		}
	}
	return gauges
}

func (s *server) newInstrument(c *site.Request) error {
	a, err := s.ask(c, false)
	if err != nil {
		return err
	}
	kind := c.Query("kind")
	if kind == "" {
		kind = instrument.Templates()[0].Name
	}
	e, err := begin(choices{Kind: kind, Action: instrument.Usual, Hand: instrument.Usual}, c.Unit())
	if err != nil {
		return err
	}
	return s.showWishes(c, http.StatusOK, newPage(), a, e, nil)
}

func newPage() wishPage {
	return wishPage{Title: "New instrument", Action: Path + "/new", Button: "Take it to the bench", Sentence: "The serial number is enough: all else is usual for its kind, says where it is from, and is there to be changed."}
}

// showWishes shows the form of wishes with what was typed and what that comes to.
func (s *server) showWishes(c *site.Request, status int, p wishPage, a *asked, e *entry, kept []string) error {
	p.Form = e.form(a.Groups[0].Fields, a.Groups[1].Fields, e.first == "", kept)
	p.Form.Error = strings.TrimSpace(a.Error + " " + p.Form.Error)
	if spec := e.spec(); spec != nil {
		p.Form.Left, p.Form.Hardly = fitted(spec, a.with(), c.Unit())
	}
	if c.FromModule() {
		return c.ShowPart("wishes", p)
	}
	return c.Show(status, "wishpage", p.Title, p)
}

// takeNew begins a new instrument with its first visit.
func (s *server) takeNew(c *site.Request) error {
	a, err := s.ask(c, false)
	if err != nil {
		return err
	}
	return s.take(c, newPage(), a, batch.Instrument{}, func(ch choices) (*entry, error) { return begin(ch, c.Unit()) })
}

// take begins a visit as its form says, or shows the form again. known is an instrument that is entered, the zero value for a new one.
func (s *server) take(c *site.Request, p wishPage, a *asked, known batch.Instrument, start func(choices) (*entry, error)) error {
	e, kept, err := sentEntry(c.Request.PostForm, start)
	if err != nil {
		return err
	}
	a.Fill(c)
	if c.PostForm("act") == actLook {
		return s.showWishes(c, http.StatusOK, p, a, e, kept)
	}
	v := record.NewVisit{Serial: known.Serial, Kind: e.Kind, MakerNumber: known.MakerNumber, Strings: e.Set, Wishes: a.Text("words", longestWords), Spec: e.spec()}
	if known.Serial == "" {
		v.Serial, v.MakerNumber = a.Text("serial", batch.LongestSerial), a.Text("maker", batch.LongestSerial)
		v.Owner = batch.Owner{Name: a.Text("owner", 200), Contact: a.Text("contact", longestWords)}
	}
	climate := inspect.Climate{TemperatureC: measured(a, "temperature", -20, 60), HumidityPercent: measured(a, "humidity", 0, 100)}
	by := c.By()
	if by == "" {
		by = a.Choice("by")
	}
	if v.Serial == "new" {
		a.Field("serial").Fail("This is the name of a page. Choose another.")
	}
	status := http.StatusUnprocessableEntity
	if known.Serial == "" {
		switch err := s.onFile(c, v.Serial); {
		case batch.KindOf(err) == batch.Conflict:
			a.RefuseAt("serial", err)
			p.Known, status = v.Serial, http.StatusConflict
		case err != nil:
			return err
		}
	}
	if v.Spec == nil || !a.Ok() {
		return s.showWishes(c, status, p, a, e, kept)
	}
	fitted(v.Spec, a.with(), c.Unit())
	visit, err := s.open(c, a, by, v)
	if err != nil {
		if known.Serial == "" {
			a.RefuseAt("serial", err)
		} else {
			a.Refuse(err)
		}
		return s.showWishes(c, c.Refused(&a.Form), p, a, e, kept)
	}
	there, err := s.bring(c, by, visit, climate)
	if err != nil {
		return err
	}
	return c.To(show.Pick(there, "/", site.InstrumentPath(visit.Serial)))
}

// onFile refuses as new what was here before and is not here now: its next visit begins with what is known of it. Of one that is here, or was
// built under that number, opening the visit says so.
func (s *server) onFile(c *site.Request, serial string) error {
	visits, err := s.opt.Record.Visits(c.Request.Context(), strings.TrimSpace(serial))
	if err != nil || len(visits) == 0 || visits[len(visits)-1].EndedAt.IsZero() {
		return err
	}
	return batch.Conflict.Errorf("%s", tell.OnFile(visits[len(visits)-1]))
}

// measured is a number that may be left out; nil then.
func measured(a *asked, name string, low, high float64) *float64 {
	if a.Field(name).Value == "" {
		return nil
	}
	v := a.Number(name, low, high)
	return &v
}

// open enters what is not on file yet, and begins the visit.
func (s *server) open(c *site.Request, a *asked, by string, v record.NewVisit) (batch.Visit, error) {
	ctx := c.Request.Context()
	if len(a.gauges) == 0 {
		with, err := show.HandfulOf(a.Field("with").Value)
		if err != nil {
			return batch.Visit{}, err
		}
		if err := with.Enter(ctx, s.opt.Record, by, c.Unit(), s.opt.GaugesChanged); err != nil {
			return batch.Visit{}, err
		}
	}
	return s.opt.Record.OpenVisit(ctx, by, v)
}

// bring takes a visit's neck to the bench where it is free and who acts is at it; there says that it lies there now.
func (s *server) bring(c *site.Request, by string, v batch.Visit, climate inspect.Climate) (there bool, err error) {
	ctx := context.WithoutCancel(c.Request.Context())
	if s.opt.Bench == nil {
		return false, nil
	}
	snap := s.opt.Bench.Snapshot()
	if snap.Inspector == "" && !c.SignsOn() {
		if err := s.opt.Bench.SetInspector(ctx, by); err != nil {
			return false, nil // who keeps instruments need not measure
		}
		snap = s.opt.Bench.Snapshot()
	}
	if snap.Inspector != by || !free(snap) {
		return false, nil
	}
	if climate != (inspect.Climate{}) {
		if err := s.opt.Bench.SetClimate(ctx, climate); err != nil {
			return false, err
		}
	}
	if err := s.opt.Bench.OpenBatch(ctx, v.Batch.Number); err != nil {
		return false, err
	}
	return true, s.opt.Bench.Entry(ctx, v.Serial, "mm")
}

// free says that an instrument can be laid on the bench.
func free(snap *bench.Snapshot) bool {
	return snap.Check == nil && snap.Study == nil && snap.Stage != bench.Measuring && snap.Stage != bench.PersonDecides
}
