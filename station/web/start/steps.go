package start

import (
	"context"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// The steps, by their keys.
const (
	stepName  = "name"
	stepGauge = "gauges"
	stepCheck = "check"
	stepSpec  = "spec"
	stepNeck  = "neck"

	stepInstrument = "instrument"
)

// page shows the steps.
type page struct {
	Sentence string
	Promised []promised // due within a week, in a builder's house
	Missing  int        // steps
	Steps    []step
	House    *form.Form  // what was wrong with saying for whom the record is kept, nil for nothing
	Others   batch.House // for whom the record might be kept instead; "" where who looks may not say so, or nothing is on file
}

// promised is something that was promised for an instrument, in words.
type promised struct{ Words, Path string }

// soon is how many days before it is due what was promised stands here.
const soon = 7

// promised lists what was promised and is due soon.
func (s *server) promised(ctx context.Context) (all []promised, err error) {
	today := batch.DayOf(s.opt.Now())
	due, err := s.opt.Record.PromisesDue(ctx, today.After(soon))
	for _, p := range due {
		all = append(all, promised{tell.Promised(p, today), site.InstrumentPath(p.Serial) + "#promises"})
	}
	return all, err
}

// step is one thing that must be there before a neck is judged.
type step struct {
	Key, Title string
	Done       string // what is there, in a sentence; "" while it is missing
	Next       bool   // it is the first that is missing
	Refused    bool   // what was typed into one of its forms was not taken
	Words      string // what it is for
	Ways       []way  // to do it
}

// way is a form that does a step: fields with a button, or choices, each with a button of its own; or a page that does it.
type way struct {
	Action  string
	Words   string
	Form    *form.Form // nil where a press is enough
	Button  string
	Main    bool
	Also    []choice // other buttons of the form
	Choices []choice
	Link    string
}

// choice is a value that is sent by a press.
type choice struct {
	Name, Value, Label string
	Main               bool
}

// show shows the page; refused is a step's form with what was typed and what is wrong with it, nil for none.
func (s *server) show(c *site.Request, status int, refused map[string]*form.Form) error {
	p, err := s.page(c, refused)
	if err != nil {
		return err
	}
	return c.Show(status, "start", "First steps", p)
}

// stepMaker makes a step, and says what it takes.
type stepMaker struct {
	make  func(*site.Request, *bench.Snapshot) (step, error)
	takes batch.Right
}

// page works out what is there and what is missing.
func (s *server) page(c *site.Request, refused map[string]*form.Form) (page, error) {
	snap := s.opt.Bench.Snapshot()
	p := page{House: refused[housePath]}
	parts := []stepMaker{{s.nameStep, batch.Measure}, {s.gaugeStep, batch.SetUp}, {s.checkStep, batch.Measure}, {s.specStep, batch.ReleaseSpec}, {s.neckStep, batch.OpenBatch}}
	if c.Words().Builder() {
		var err error
		if p.Promised, err = s.promised(c.Request.Context()); err != nil {
			return p, err
		}
		parts = append(parts[:3], stepMaker{s.instrumentStep, batch.Keep})
	}
	for _, part := range parts {
		st, err := part.make(c, snap)
		if err != nil {
			return p, err
		}
		if why := c.Barred(part.takes); why != "" {
			st.Words, st.Ways = st.Words+" "+why, nil
		}
		for i := range st.Ways {
			if f := refused[st.Ways[i].Action]; f != nil && (st.Ways[i].Choices == nil) == (len(f.Groups) > 0) {
				st.Ways[i].Form, st.Refused = f, true
			}
		}
		p.Steps = append(p.Steps, st)
	}
	if people, err := s.opt.Record.People(c.Request.Context()); err != nil {
		return p, err
	} else if len(people) > 0 && c.Barred(batch.Keep) == "" {
		p.Others = batch.Builder
		if c.Words().Builder() {
			p.Others = batch.Factory
		}
	}
	for i := range p.Steps {
		if p.Steps[i].Done != "" {
			continue
		}
		if p.Missing++; p.Missing == 1 {
			p.Steps[i].Next = true
			p.Steps[i].focus()
		}
	}
	switch {
	case p.Missing == 0:
		p.Sentence = "All is there: the bench asks for one thing after another."
	case p.Missing == len(p.Steps):
		p.Sentence = tell.FirstSteps(len(p.Steps), c.Words())
	default:
		p.Sentence = tell.Upper(tell.Counted(p.Missing, "step is", "steps are")) + " left before the first " + c.Words().Say("verdict") + "."
	}
	return p, nil
}

// focus gives the first field of the step's first way the cursor.
func (st *step) focus() {
	if len(st.Ways) > 0 && st.Ways[0].Form != nil {
		st.Ways[0].Form.Groups[0].Fields[0].Focus = true
	}
}

func (s *server) nameStep(c *site.Request, snap *bench.Snapshot) (step, error) {
	st := step{Key: stepName, Title: "Your name", Words: "Every reading keeps the name of who took it."}
	people, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return st, err
	}
	if snap.Inspector != "" {
		st.Done = snap.Inspector + " works at the bench."
	}
	f := nameForm()
	if snap.SignsOn {
		st.Words += " People sign on here: whoever measures scans their badge at the bench, or gives name and PIN."
		st.Ways = []way{{Action: "/bench/inspector", Button: "I work at the bench", Main: true}}
		return st, nil
	}
	st.Words += " Just you, on this machine: give it here, and nothing asks for a password."
	if len(people) == 0 {
		f.Groups[0].Fields[0].Allowed = "as it stands in reports. The first person may do all that a quality manager may"
	}
	var known []choice
	for _, p := range people {
		if p.Name != snap.Inspector {
			known = append(known, choice{Name: "name", Value: p.Name, Label: p.Name, Main: len(known) == 0})
		}
	}
	if len(known) > 0 {
		st.Ways = append(st.Ways, way{Action: Path + "/name", Choices: known})
	}
	named := way{Action: Path + "/name", Form: f, Button: show.Pick(len(people) == 0, "That is me: I inspect necks", "Somebody else"), Main: len(people) == 0}
	if len(people) == 0 {
		named.Also = []choice{{Name: "house", Value: string(batch.Builder), Label: "That is me: I build and set up instruments"}}
	}
	st.Ways = append(st.Ways, named)
	st.Ways = append(st.Ways, way{Link: "/sign-on/code", Words: "Several people, or other machines: people sign on. The first administrator begins with the code that the station printed where it was started"})
	return st, nil
}

func nameForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{{Name: "name", Label: "Name", Kind: "text", Allowed: "as it stands in reports", Needed: true}}}}}
}

func (s *server) gaugeStep(c *site.Request, _ *bench.Snapshot) (step, error) {
	ctx := c.Request.Context()
	st := step{Key: stepGauge, Title: "What you measure with", Words: "Leaves and a ruler are enough. A gauge that sends its readings is found by pressing its key."}
	gauges, err := show.InUse(ctx, s.opt.Record)
	if err != nil {
		return st, err
	}
	var names []string
	for _, g := range gauges {
		names = append(names, g.Name)
	}
	if len(names) > 0 {
		st.Done = tell.Upper(tell.List(names)) + "."
	}
	var choices []choice
	for i, w := range show.ByHand {
		choices = append(choices, choice{Name: "with", Value: w.Key, Label: w.Label, Main: i == 0})
	}
	st.Ways = []way{
		{Action: Path + "/gauges", Choices: choices},
		{Action: "/gauges/identify", Words: "A gauge on a port, or on an adapter: plug it in, choose its port, then press its key three times.", Form: s.portForm(), Button: "Find out what it sends"},
		{Link: "/gauges/new", Words: "Any other gauge is entered on its own page."},
	}
	return st, nil
}

// portForm names a port, of those seen or another.
func (s *server) portForm() *form.Form {
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{{Name: "port", Label: "Port", Kind: "text", Allowed: "e.g. /dev/ttyUSB0 or COM3", Needed: true}}}}}
	if s.opt.Ports == nil {
		return f
	}
	ports, err := s.opt.Ports()
	if err != nil || len(ports) == 0 {
		return f
	}
	fd := &f.Groups[0].Fields[0]
	fd.Value = ports[0].Name
	var names []string
	for _, p := range ports {
		names = append(names, p.Name)
	}
	fd.Allowed = "seen now: " + tell.List(names)
	return f
}

func (s *server) checkStep(c *site.Request, snap *bench.Snapshot) (step, error) {
	ctx := c.Request.Context()
	st := step{Key: stepCheck, Title: "Its check", Words: "A gauge that has a zero shows it on something flat before it may judge. Leaves and a ruler have none."}
	gauges, err := show.InUse(ctx, s.opt.Record)
	if err != nil || len(gauges) == 0 {
		return st, err
	}
	var due, away []string
	for _, g := range snap.Gauges {
		switch {
		case g.Due:
			due = append(due, g.Name)
		case g.Locked:
			away = append(away, tell.Upper(g.Words)+". "+g.ToDo)
		}
	}
	switch {
	case len(due) > 0:
		st.Words = fmt.Sprintf("The %s %s a check: zero on something flat. The bench says what to do.", strings.Join(due, " and the "), show.Pick(len(due) == 1, "needs", "need"))
		st.Ways = []way{{Action: "/bench/check-all", Button: "Check now", Main: true}}
	case len(away) > 0:
		st.Words = strings.Join(away, " ")
	default:
		st.Done = "All gauges well."
	}
	return st, nil
}

func (s *server) specStep(c *site.Request, _ *bench.Snapshot) (step, error) {
	ctx := c.Request.Context()
	st := step{Key: stepSpec, Title: "A specification", Words: "What is measured, and between which limits it conforms. The trade's usual figures for a kind of instrument, fitted to your gauges, are there to be changed."}
	specs, err := s.opt.Record.Specs(ctx)
	if err != nil {
		return st, err
	}
	if n := len(specs); n > 0 {
		newest := newestSpec(specs)
		st.Done = fmt.Sprintf("%s, revision %s.", newest.Name, newest.Revision)
	}
	st.Ways = []way{
		{Action: Path + "/spec", Form: c.Signing(specForm(), batch.ReleaseSpec), Button: "Use it", Main: true},
		{Link: "/specs", Words: "Every figure can be changed, and a file of your own taken in, on the page Specifications."},
	}
	return st, nil
}

func specForm() *form.Form {
	fd := form.Field{Name: "template", Label: "Kind of instrument", Kind: "select", Needed: true}
	for i, t := range instrument.Templates() {
		fd.Options = append(fd.Options, form.Option{Value: t.Name, Label: t.Title + ": " + t.For, On: i == 0})
	}
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{fd}}}}
}

// newestSpec is the one that was added last.
func newestSpec(specs []batch.SpecRevision) batch.SpecRevision {
	newest := specs[0]
	for _, sp := range specs {
		if sp.AddedAt.After(newest.AddedAt) {
			newest = sp
		}
	}
	return newest
}

func (s *server) neckStep(c *site.Request, snap *bench.Snapshot) (step, error) {
	ctx := c.Request.Context()
	st := step{Key: stepNeck, Title: "The first neck", Words: "Its serial number, or any name that tells it from others. The bench then asks for one thing after another."}
	specs, err := s.opt.Record.Specs(ctx)
	if err != nil || len(specs) == 0 {
		return st, err
	}
	open, err := openBatches(ctx, s.opt.Record)
	if err != nil {
		return st, err
	}
	if len(open) > 0 {
		st.Done = tell.Upper(tell.Counted(len(open), "batch is", "batches are")) + " open."
		if snap.Serial != "" {
			st.Done = snap.Serial + " is on the bench."
		}
	}
	st.Ways = []way{
		{Action: Path + "/neck", Form: neckForm(specs), Button: "Take it to the bench", Main: true},
		{Link: "/batches", Words: "A batch of several necks is opened on the page Batches."},
	}
	return st, nil
}

// instrumentStep is a builder's first instrument.
func (s *server) instrumentStep(c *site.Request, snap *bench.Snapshot) (step, error) {
	st := step{Key: stepInstrument, Title: "The first instrument", Words: "Its serial number is enough: what is usual for its kind is there to be changed."}
	known, err := s.opt.Record.Instruments(c.Request.Context(), "", 1)
	if err != nil {
		return st, err
	}
	if len(known) > 0 {
		st.Done = known[0].Serial + show.Pick(snap.Serial == known[0].Serial, " is on the bench.", " was here last.")
	}
	st.Ways = []way{{Link: "/instruments/new", Words: "New instrument", Main: true}}
	return st, nil
}

func neckForm(specs []batch.SpecRevision) *form.Form {
	fields := []form.Field{{Name: "serial", Label: "Serial number", Kind: "text", Allowed: "e.g. 2026-014", Needed: true}}
	if len(specs) > 1 {
		fd, newest := form.Field{Name: "spec", Label: "Specification", Kind: "select", Needed: true}, newestSpec(specs)
		for _, sp := range specs {
			fd.Options = append(fd.Options, form.Option{Value: sp.ID, Label: sp.Name + ", revision " + sp.Revision, On: sp.ID == newest.ID})
		}
		fields = append(fields, fd)
	}
	return &form.Form{Groups: []form.Group{{Fields: fields}}}
}

// answer leads back to the page, or shows it with what was wrong with a step's form.
func (s *server) answer(c *site.Request, action string, f *form.Form) error {
	if f.Ok() {
		return c.To(Path)
	}
	return s.show(c, c.Refused(f), map[string]*form.Form{action: f})
}
