package instruments

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"mime"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/web/draw"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// photographRecord is what photographs ask of the record.
type photographRecord interface {
	Photographs(ctx context.Context, serial string) ([]batch.Photograph, error)
	AddPhotographs(ctx context.Context, by, serial string, all []batch.Photograph) error
	HidePhotograph(ctx context.Context, by, id, reason string) error
}

// mountPhotographs puts an instrument's photographs on the site.
func (s *server) mountPhotographs(g *site.Group) {
	at := Path + "/:serial/photographs"
	g.GET(at, func(c *site.Request) error { return s.showPhotographs(c, http.StatusOK, photographForms{}) })
	g.POST(at, s.addPhotographs)
	g.POST(at+"/hide", s.hidePhotograph)
	g.GET(at+"/:digest", s.photographFile)
	g.GET(at+"/:digest/small", s.smallPhotograph)
}

// small is how many pixels the longer side of a photograph has in a list.
const small = 480

// inBlock is how many photographs an instrument's own page shows.
const inBlock = 6

// longestCaption bounds what is written with a photograph, characters.
const longestCaption = 300

// photo is a photograph in a list.
type photo struct {
	batch.Photograph
	Path  string
	Words string
	Mark  string // what leads to it on the page, as the first of its pin; "" for the others
}

// photographBlock is what an instrument's own page shows of its photographs.
type photographBlock struct {
	Serial   string
	Sentence string
	Drawing  template.HTML // of the neck with those that are of a fret; "" for none
	Newest   []photo
}

// photographPage is all photographs of an instrument.
type photographPage struct {
	photographBlock
	Entered bool // as an instrument
	Groups  []photographGroup
	Form    *form.Form // nil where it is none
	Hide    *form.Form // nil where there is nothing to hide
}

// photographGroup is the photographs of one visit, or of none.
type photographGroup struct {
	Title       string
	Photographs []photo
}

// photographForms are what was typed and not taken.
type photographForms struct{ Add, Hide *form.Form }

// photographsPath is the page of an instrument's photographs.
func photographsPath(serial string) string { return site.InstrumentPath(serial) + "/photographs" }

// shown are photographs as they are listed, the newest first.
func shown(all []batch.Photograph) []photo {
	out := make([]photo, len(all))
	for i, p := range all {
		out[len(all)-1-i] = photo{p, photographsPath(p.Serial) + "/" + p.Digest, tell.Photograph(p), ""}
	}
	return out
}

// fretOf is the fret that a pin names, 0 for none.
func fretOf(pin string) int {
	n, _ := strconv.Atoi(strings.TrimPrefix(pin, "fret "))
	return n
}

// photographBlockOf makes the block of an instrument's page.
func photographBlockOf(serial string, all []batch.Photograph, visits []batch.Visit) photographBlock {
	b := photographBlock{Serial: serial, Sentence: tell.Photographs(all, visits), Newest: shown(all)}
	if len(visits) > 0 {
		b.Drawing = onNeck(visits[len(visits)-1].Batch.Spec.Spec, serial, b.Newest)
	}
	return b
}

// onNeck draws the neck with the newest photograph of each fret.
func onNeck(spec *inspect.Spec, serial string, newest []photo) template.HTML {
	count := map[string]int{}
	var first []photo
	for _, p := range newest {
		if count[p.Pin]++; count[p.Pin] == 1 && fretOf(p.Pin) > 0 {
			first = append(first, p)
		}
	}
	if spec == nil || len(first) == 0 {
		return ""
	}
	pins := make([]draw.Pin, len(first))
	for i, p := range first {
		pins[i] = draw.Pin{Fret: fretOf(p.Pin), Picture: p.Path + "/small", Path: photographsPath(serial) + "#" + anchor(p.Pin), Words: p.Pin}
		if n := count[p.Pin]; n > 1 {
			pins[i].Words += fmt.Sprintf(" (the newest of %d)", n)
		}
	}
	return draw.Pinned(spec.WithDefaults(), pins, "")
}

// anchor is where the first photograph of a pin stands on the page.
func anchor(pin string) string { return strings.ReplaceAll(pin, " ", "-") }

func (s *server) photographBlock(ctx context.Context, serial string, visits []batch.Visit) (photographBlock, error) {
	all, err := s.opt.Record.Photographs(ctx, serial)
	if err != nil {
		return photographBlock{}, err
	}
	b := photographBlockOf(serial, all, visits)
	b.Newest = b.Newest[:min(len(b.Newest), inBlock)]
	return b, nil
}

func (s *server) showPhotographs(c *site.Request, status int, was photographForms) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	visits, err := s.opt.Record.Visits(ctx, serial)
	if err != nil {
		return err
	}
	_, err = s.opt.Record.Instrument(ctx, serial)
	entered := err == nil
	switch {
	case errors.Is(err, record.ErrUnknown) && len(visits) > 0: // a neck of a batch
	case err != nil:
		return err
	}
	all, err := s.opt.Record.Photographs(ctx, serial)
	if err != nil {
		return err
	}
	p := photographPage{photographBlock: photographBlockOf(serial, all, visits), Entered: entered}
	p.Groups = grouped(p.Newest, visits)
	if entered {
		if p.Form = was.Add; p.Form == nil {
			if p.Form, err = addForm(c, visits); err != nil {
				return err
			}
		}
	}
	if len(all) > 0 {
		if p.Hide = was.Hide; p.Hide == nil {
			if p.Hide, err = hideForm(c, p.Newest); err != nil {
				return err
			}
		}
	}
	return c.Show(status, "photographs", "Photographs of "+serial, p)
}

// grouped puts photographs, the newest first, to their visits, the newest first; those of no visit come last.
func grouped(newest []photo, visits []batch.Visit) []photographGroup {
	ids := []string{""}
	for _, v := range visits {
		if v.ID != "" {
			ids = append(ids, v.ID)
		}
	}
	ids = append(ids[1:], ids[0])
	slices.Reverse(ids[:len(ids)-1])
	var groups []photographGroup
	marked := map[string]bool{}
	for _, id := range ids {
		g := photographGroup{Title: tell.Upper(tell.VisitOf(id, visits))}
		for _, p := range newest {
			if p.VisitID != id {
				continue
			}
			if !marked[p.Pin] {
				marked[p.Pin], p.Mark = true, anchor(p.Pin)
			}
			g.Photographs = append(g.Photographs, p)
		}
		if len(g.Photographs) > 0 {
			groups = append(groups, g)
		}
	}
	return groups
}

// addForm asks for photographs.
func addForm(c *site.Request, visits []batch.Visit) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	if err != nil {
		return nil, err
	}
	pins := []form.Option{{Value: batch.WholeInstrument, Label: tell.Upper(tell.Pin(batch.WholeInstrument))}}
	var of []form.Option
	for _, v := range slices.Backward(visits) {
		if v.ID != "" {
			of = append(of, form.Option{Value: v.ID, Label: tell.Upper(tell.VisitOf(v.ID, visits)), On: len(of) == 0 && v.EndedAt.IsZero()})
		}
	}
	of = append(of, form.Option{Label: tell.Upper(tell.VisitOf("", nil)), On: len(of) == 0 || !of[0].On})
	if len(visits) > 0 && visits[len(visits)-1].Batch.Spec.Spec != nil {
		spec := visits[len(visits)-1].Batch.Spec.Spec
		for n := 1; n <= spec.Neck.Frets; n++ {
			pins = append(pins, form.Option{Value: fmt.Sprintf("fret %d", n), Label: fmt.Sprintf("Fret %d", n)})
		}
		for _, str := range spec.Strings {
			pins = append(pins, form.Option{Value: fmt.Sprintf("string %d", str.Number), Label: fmt.Sprintf("String %d", str.Number)})
		}
	}
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		// Named kinds: a telephone that keeps HEIC then sends JPEG.
		{Name: "photographs", Label: "Photographs", Kind: "file", Many: true, Accept: "image/jpeg,image/png", Needed: true,
			Allowed: fmt.Sprintf("JPEG or PNG, several at once; each up to %d MB, together up to %d MB", photograph.MostBytes/1_000_000, site.LargestPhotographs>>20)},
		{Name: "pin", Label: "What they show", Kind: "select", Options: pins},
		{Name: "visit", Label: "Taken in", Kind: "select", Options: of},
		{Name: "caption", Label: "Caption", Kind: "text", Allowed: fmt.Sprintf("up to %d characters; may be empty", longestCaption)},
		by,
	}}}}, nil
}

// addPhotographs keeps all that were chosen, or none.
func (s *server) addPhotographs(c *site.Request) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	visits, err := s.opt.Record.Visits(ctx, serial)
	if err != nil {
		return err
	}
	f, err := addForm(c, visits)
	if err != nil {
		return err
	}
	f.Fill(c)
	pin, visit, caption, by := f.Choice("pin"), f.Choice("visit"), f.Text("caption", longestCaption), f.Choice("by")
	files, err := site.Uploads(c, "photographs", photograph.MostBytes)
	if err != nil {
		f.RefuseAt("photographs", err)
	}
	kept, known := s.taken(f, files)
	for i := range known {
		known[i].Pin, known[i].VisitID, known[i].Caption = pin, visit, caption
	}
	if f.Ok() {
		err := photograph.Keep(s.opt.Folder, kept, func() error { return s.opt.Record.AddPhotographs(ctx, by, serial, known) })
		if err == nil {
			return c.To(photographsPath(serial))
		}
		f.Refuse(err)
	}
	if len(files) > 0 {
		f.Field("photographs").Fail("%s: choose %s again.", tell.Counted(len(files), "photograph is not kept yet", "photographs are not kept yet"), show.Pick(len(files) == 1, "it", "them"))
	}
	return s.showPhotographs(c, c.Refused(f), photographForms{Add: f})
}

// taken takes photographs in; what cannot be is told by its name.
func (s *server) taken(f *form.Form, files []site.Uploaded) (kept []photograph.Photograph, known []batch.Photograph) {
	if len(files) == 0 {
		f.Field("photographs").Fail("No file was chosen. Choose a JPEG or PNG file, or several.")
	}
	var wrong []string
	for _, file := range files {
		p, err := photograph.Take(file.Content)
		if err != nil {
			wrong = append(wrong, path.Base(file.Name)+": "+tell.Sentence(err))
			continue
		}
		kept = append(kept, p)
		known = append(known, batch.Photograph{Digest: p.Digest, Width: p.Width, Height: p.Height, Bytes: len(p.JPEG)})
	}
	if len(wrong) > 0 {
		f.Field("photographs").Fail("%s", strings.Join(wrong, " "))
	}
	return kept, known
}

// hideForm takes a photograph out of sight.
func hideForm(c *site.Request, newest []photo) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	if err != nil {
		return nil, err
	}
	var which []form.Option
	for _, p := range newest {
		which = append(which, form.Option{Value: p.ID, Label: p.Words + ", " + show.Day(p.At)})
	}
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "photograph", Label: "Photograph", Kind: "select", Options: which},
		{Name: "reason", Label: "Why", Kind: "text", Needed: true, Allowed: "kept with the record, as the file is"},
		by,
	}}}}).Apart("hide"), nil
}

func (s *server) hidePhotograph(c *site.Request) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	all, err := s.opt.Record.Photographs(ctx, serial)
	if err != nil {
		return err
	}
	f, err := hideForm(c, shown(all))
	if err != nil {
		return err
	}
	f.Fill(c)
	id, reason, by := f.Choice("photograph"), f.Text("reason", longestCaption), f.Choice("by")
	if f.Ok() {
		err := s.opt.Record.HidePhotograph(ctx, by, id, reason)
		if err == nil {
			return c.To(photographsPath(serial))
		}
		f.Refuse(err)
	}
	return s.showPhotographs(c, c.Refused(f), photographForms{Hide: f})
}

// known is the photograph of an instrument that an address names: one that is in sight.
func (s *server) known(c *site.Request) (batch.Photograph, error) {
	all, err := s.opt.Record.Photographs(c.Request.Context(), c.Param("serial"))
	if err != nil {
		return batch.Photograph{}, err
	}
	i := slices.IndexFunc(all, func(p batch.Photograph) bool { return p.Digest == c.Param("digest") })
	if i < 0 {
		return batch.Photograph{}, batch.Absent.Errorf("There is no such photograph of %s.", c.Param("serial"))
	}
	return all[i], nil
}

func (s *server) photographFile(c *site.Request) error {
	p, err := s.known(c)
	if err != nil {
		return err
	}
	file, err := photograph.Read(s.opt.Folder, p.Digest)
	if err != nil {
		return err
	}
	name := batch.FileName(fmt.Sprintf("%s %s %s", p.Serial, tell.Pin(p.Pin), show.Day(p.At))) + ".jpg"
	c.Header("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": name}))
	c.Data(http.StatusOK, "image/jpeg", file)
	return nil
}

func (s *server) smallPhotograph(c *site.Request) error {
	p, err := s.known(c)
	if err != nil {
		return err
	}
	made, err := photograph.Small(s.opt.Folder, p.Digest, small)
	if err != nil {
		return err
	}
	c.Data(http.StatusOK, "image/jpeg", made.JPEG)
	return nil
}
