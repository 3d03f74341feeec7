package instruments

import (
	"errors"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/record"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// keepPage makes an instrument of a neck that was measured in a batch.
type keepPage struct {
	Serial string
	Form   *form.Form
}

// neckToKeep is the neck that an address names, and what was measured of it; there says that it is an instrument already.
func (s *server) neckToKeep(c *site.Request) (neck batch.Neck, kind string, there bool, err error) {
	ctx := c.Request.Context()
	if neck, err = s.opt.Record.Neck(ctx, c.Param("serial")); err != nil {
		return neck, "", false, err
	}
	if _, err = s.opt.Record.Instrument(ctx, neck.Serial); !errors.Is(err, record.ErrUnknown) {
		return neck, "", err == nil, err
	}
	visits, err := s.opt.Record.Visits(ctx, neck.Serial)
	if spec := lastSpec(visits); spec != nil {
		kind = nearestKind(spec)
	}
	return neck, kind, false, err
}

func keepForm(c *site.Request, kind string) (*form.Form, error) {
	by, err := c.ByField(batch.Keep)
	of := form.Field{Name: "kind", Label: "Kind of instrument", Kind: "select", Needed: true}
	for _, t := range instrument.Templates() {
		of.Options = append(of.Options, form.Option{Value: t.Name, Label: t.Title, On: t.Name == kind})
	}
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{of, {Name: "maker", Label: "Its maker's number", Kind: "text", Allowed: "may be empty"}, by}}}}, err
}

// keepNeck asks what an instrument is.
func (s *server) keepNeck(c *site.Request) error {
	neck, kind, there, err := s.neckToKeep(c)
	if err != nil {
		return err
	}
	if there {
		return c.To(site.InstrumentPath(neck.Serial))
	}
	f, err := keepForm(c, kind)
	if err != nil {
		return err
	}
	return s.showKeep(c, http.StatusOK, neck.Serial, f)
}

func (s *server) showKeep(c *site.Request, status int, serial string, f *form.Form) error {
	return c.Show(status, "keep", "Keep "+serial+" as an instrument", keepPage{serial, f})
}

// takeNeck keeps a neck as an instrument: what was measured of it is the beginning of its life.
func (s *server) takeNeck(c *site.Request) error {
	neck, kind, there, err := s.neckToKeep(c)
	if err != nil {
		return err
	}
	f, err := keepForm(c, kind)
	if err != nil {
		return err
	}
	f.Fill(c)
	in, by := batch.Instrument{Serial: neck.Serial, Kind: f.Choice("kind"), MakerNumber: f.Text("maker", batch.LongestSerial)}, f.Choice("by")
	if f.Ok() && !there {
		if err := s.opt.Record.EnterInstrument(c.Request.Context(), by, in); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.showKeep(c, c.Refused(f), neck.Serial, f)
	}
	return c.To(site.InstrumentPath(neck.Serial))
}
