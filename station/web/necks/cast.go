package necks

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/url"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// castPage asks for a range to cast doubt over, then shows how many necks it will mark before it is cast.
type castPage struct {
	Form  *form.Form
	Will  string       // what it will mark, "" before that was counted
	Shown batch.Marked // what was counted
	Seal  string       // of the range and what was counted, sent with the form again
}

// sealOfRange names a range and what was counted in it.
func sealOfRange(over batch.DoubtRange, m batch.Marked) string {
	sum := sha256.Sum256(fmt.Append(nil, over.From.UnixNano(), over.To.UnixNano(), over.GaugeID, over.Inspector, over.BatchID, m))
	return hex.EncodeToString(sum[:])
}

// castForm asks what doubt is cast over, why, and who casts it. A gauge or batch may be chosen already.
func (s *server) castForm(c *site.Request) (*form.Form, error) {
	ctx := c.Request.Context()
	by, err := c.ByField(batch.CastDoubt)
	if err != nil {
		return nil, err
	}
	by.Label = "Cast by"
	all, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	gauges := []form.Option{{Value: "", Label: "any, and what was typed"}}
	for _, g := range all {
		if !g.NoGauge() {
			gauges = append(gauges, form.Option{Value: g.ID, Label: g.Name, On: g.ID == c.Query("gauge")})
		}
	}
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "from", Label: "Measured from", Kind: "text", Allowed: "year-month-day hour:minute, e.g. 2026-11-02 10:00; empty: from the beginning"},
		{Name: "to", Label: "Measured until", Kind: "text", Allowed: "the same way, that minute with it; empty: until now"},
		{Name: "gauge", Label: "With the gauge", Kind: "select", Value: c.Query("gauge"), Options: gauges},
		{Name: "inspector", Label: "By the inspector", Kind: "text", Allowed: "a name as on the page People; empty: anybody"},
		{Name: "batch", Label: "In " + c.Words().Say("batch"), Kind: "text", Allowed: "its number; empty: any", Value: c.Query("batch")},
		{Name: "reason", Label: "Reason", Kind: "text", Allowed: "what may be wrong with it, e.g. the flat reference was scratched", Needed: true},
		by,
	}}}}, nil
}

// rangeFrom reads the range and marks what is wrong beside its field.
func (s *server) rangeFrom(c *site.Request, f *form.Form) (over batch.DoubtRange, err error) {
	ctx := c.Request.Context()
	over.From, over.To = momentOf(f, "from"), momentOf(f, "to")
	if !over.From.IsZero() {
		over.From = over.From.Add(-1) // the minute itself is within
	}
	if !over.To.IsZero() {
		over.To = over.To.Add(time.Minute - 1)
	}
	if over.GaugeID = f.Choice("gauge"); over.GaugeID != "" {
		g, err := show.GaugeOf(ctx, s.opt.Record, over.GaugeID)
		if err != nil {
			return over, err
		}
		over.GaugeName = g.Name
	}
	if over.Inspector = f.Text("inspector", 80); over.Inspector != "" {
		if known, err := s.opt.Record.Inspected(ctx, over.Inspector); err != nil {
			return over, err
		} else if !known {
			f.Field("inspector").Fail("Nothing was measured by %q. Give the name as it stands with the inspections.", over.Inspector)
		}
	}
	if over.Batch = f.Text("batch", 80); over.Batch != "" {
		b, err := s.opt.Record.Batch(ctx, over.Batch)
		if batch.KindOf(err) == batch.Absent {
			f.Field("batch").Fail("There is no batch %q. Give its number as on the page Batches.", over.Batch)
			return over, nil
		}
		if err != nil {
			return over, err
		}
		over.BatchID, over.Batch = b.ID, b.Number
	}
	return over, nil
}

// momentOf reads a local time, zero where the field is empty.
func momentOf(f *form.Form, name string) time.Time {
	fd := f.Field(name)
	if fd.Value == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation("2006-01-02 15:04", fd.Value, time.Local)
	if err != nil {
		fd.Fail("%q is no time. Give year-month-day hour:minute, as in 2026-11-02 10:00.", fd.Value)
	}
	return t
}

func (s *server) castNew(c *site.Request) error {
	f, err := s.castForm(c)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "cast", "Cast doubt", castPage{Form: f})
}

// castCount counts what doubt over a range will mark.
func (s *server) castCount(c *site.Request) error {
	f, over, err := s.castSent(c)
	if err != nil {
		return err
	}
	return s.showCast(c, f, over)
}

// castDoubt casts it where the page that it was sent from showed just that.
func (s *server) castDoubt(c *site.Request) error {
	ctx := c.Request.Context()
	f, over, err := s.castSent(c)
	if err != nil {
		return err
	}
	by, reason := f.Choice("by"), f.Text("reason", 300)
	if !f.Ok() {
		return s.showCast(c, f, over)
	}
	m, err := s.opt.Record.DoubtReach(ctx, over)
	if err == nil && c.PostForm("shown") != sealOfRange(over, m) {
		err = batch.Conflict.Errorf("this is not what the page counted: the range was changed, or something was measured meanwhile. Nothing was marked; look at what it will mark now")
	}
	if err == nil {
		_, err = s.opt.Record.CastDoubt(ctx, by, reason, over, m)
	}
	if err != nil {
		f.Refuse(err)
		return s.showCast(c, f, over)
	}
	if s.opt.Bench != nil {
		if err := s.opt.Bench.ReloadDoubt(ctx); err != nil {
			return err
		}
	}
	return c.To("/callback?" + pick(over))
}

// castSent reads the form that was sent.
func (s *server) castSent(c *site.Request) (*form.Form, batch.DoubtRange, error) {
	f, err := s.castForm(c)
	if err != nil {
		return nil, batch.DoubtRange{}, err
	}
	f.Fill(c)
	over, err := s.rangeFrom(c, f)
	return f, over, err
}

// showCast shows the form with what it would mark.
func (s *server) showCast(c *site.Request, f *form.Form, over batch.DoubtRange) error {
	p := castPage{Form: f}
	if len(f.Wrong()) == 0 {
		var err error
		if p.Shown, err = s.opt.Record.DoubtReach(c.Request.Context(), over); err != nil && f.Ok() {
			f.Refuse(err)
		}
		if err == nil {
			p.Will, p.Seal = tell.DoubtWouldMark(p.Shown, over), sealOfRange(over, p.Shown)
		}
	}
	if f.Ok() {
		return c.Show(http.StatusOK, "cast", "Cast doubt", p)
	}
	return c.Show(c.Refused(f), "cast", "Cast doubt", p)
}

// pick is the call-back list that shows what was cast.
func pick(over batch.DoubtRange) string {
	switch {
	case over.GaugeID != "":
		return url.Values{"gauge": {over.GaugeID}}.Encode()
	case over.Batch != "":
		return url.Values{"batch": {over.Batch}}.Encode()
	}
	return ""
}
