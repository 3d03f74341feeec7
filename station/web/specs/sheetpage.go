package specs

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
	"sagitta/station/web/draw"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// What a form of a specification may be sent for.
const (
	actLook   = "look"   // show it again with what was typed
	actText   = "text"   // as text
	actReview = "review" // what changes, before it is saved
	actFit    = "fit"    // the routine fitted to the gauges there are
	actAdd    = "add "   // a row of a list
	actRemove = "remove "
	actCopy   = "copy "
)

// sheetPage is a specification as a form.
type sheetPage struct {
	From     string // id of the revision that it changes, "" for a new specification
	Template string // that it began from
	Unit     unit.Unit
	Sentence string
	Note     string // what was just done
	Text     string
	Sections []sheetSection
	Wrong    []form.Field
	Lasts    routineLasts
	Warnings []string
	OnNeck   template.HTML // the limits at their places
	Whole    []string      // limits without a place
	Golden   goldenPart
}

// routineLasts says how long the bench's routine is, and was.
type routineLasts struct {
	Now, Was string
	Without  []string // kinds of points that no gauge on file reads
	Fitted   string   // the profile that the gauges there are allow
}

// specAsForm shows a revision as a form. A frozen one is changed under the next revision.
func (s *server) specAsForm(c *site.Request) error {
	line, all, err := s.findSpec(c, c.Param("id"))
	if err != nil {
		return err
	}
	sh, err := openSheet(line.Text, c.Unit())
	if err != nil {
		return err
	}
	p := sheetPage{From: line.ID}
	if !line.FrozenAt.IsZero() {
		next := nextRevision(line, all)
		sh.typed["revision"] = next
		sh.read()
		p.Note = line.Name + ", revision " + line.Revision + ", is frozen: what is changed becomes revision " + next + "."
	}
	return s.showSheet(c, http.StatusOK, sh, p)
}

// sheetSent does what a form of a specification was sent for, and shows it again.
func (s *server) sheetSent(c *site.Request) error {
	act := c.PostForm("act")
	p := sheetPage{From: c.PostForm("from"), Template: c.PostForm("template")}
	sh, err := sentSheet(c.Request.PostForm, c.Unit())
	if err != nil {
		return s.showText(c, http.StatusUnprocessableEntity, p.From, c.PostForm("text"), err)
	}
	sh.final = act == actReview || act == actText
	opened := ""
	if list, is := strings.CutPrefix(act, actAdd); is && lists[list] {
		sh.addRow(list, "")
		opened, p.Note = list, "A "+rowWords[list]+" was added; fill it in."
	} else if row, is := strings.CutPrefix(act, actCopy); is && lists[pathOf(row)] {
		sh.addRow(pathOf(row), row)
		opened, p.Note = pathOf(row), "It stands there twice; change the second one."
	} else if row, is := strings.CutPrefix(act, actRemove); is && lists[pathOf(row)] {
		p.Note = sh.rowTitle(pathOf(row), row) + " was taken out."
		sh.removeRow(row)
		opened = pathOf(row)
	}
	sh.read()
	switch {
	case act == actFit:
		if p.Note, err = s.fit(c, sh); err != nil {
			return err
		}
		opened = "routine"
	case act == actText && sh.spec != nil:
		text, _ := sh.written()
		return s.showText(c, http.StatusOK, p.From, text, nil)
	case act == actReview && sh.spec != nil:
		return s.review(c, p.From, sh)
	case strings.HasPrefix(act, actGolden):
		if err := s.golden(c, sh, &p, act); err != nil {
			return err
		}
	}
	status := http.StatusOK
	if sh.spec == nil && (act == actText || act == actReview) {
		status = http.StatusUnprocessableEntity
	}
	p.opened(opened, sh)
	return s.showSheet(c, status, sh, p)
}

// opened remembers the section that was worked in.
func (p *sheetPage) opened(section string, sh *sheet) {
	top, _, _ := strings.Cut(section, ".")
	sh.at = top
}

// fit fits the routine to the gauges on file, and says what it did.
func (s *server) fit(c *site.Request, sh *sheet) (string, error) {
	gauges, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return "", err
	}
	if sh.spec == nil {
		return "What is wrong comes first: then the routine can be fitted.", nil
	}
	fitted := *sh.spec
	left, had := show.Fit(&fitted, gauges)
	r := fitted.Routine
	sh.typed["has.routine"], sh.typed["routine.profile"], sh.typed["routine.pitch"] = yes, r.Profile, r.Pitch
	sh.typed["routine.strings"] = gauged(r.Strings)
	rows := sh.meant("limit")
	for _, i := range left {
		sh.removeRow("limit." + rows[i])
	}
	sh.read()
	note := "The routine now fits the gauges on file: profile " + r.Profile + ", pitch " + r.Pitch + "."
	if len(left) > 0 {
		note += " Left out, because no gauge measures it well enough: " + strings.Join(show.LeftOut(left, had), ", ") + "."
	}
	return note, nil
}

// gauged is the list of strings as its field has it.
func gauged(l inspect.StringList) string {
	switch {
	case l.Each:
		return "each"
	case l.Numbers == nil:
		return ""
	case len(l.Numbers) == 0:
		return noneOf
	}
	return strings.Trim(strings.ReplaceAll(fmt.Sprint(l.Numbers), " ", ", "), "[]")
}

// showSheet shows the form with what it makes of the routine.
func (s *server) showSheet(c *site.Request, status int, sh *sheet, p sheetPage) error {
	gauges, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	var notes map[string]string
	if t := templateOf(p.Template); t != nil {
		notes = t.Notes
	}
	sh.gauges = gauges
	p.Text, p.Unit = sh.text, sh.lengths
	if p.Golden.Serial.Name == "" {
		p.Golden = goldenFields(c)
	}
	p.Sections = sh.form(sh.at, notes)
	p.Lasts = lasts(sh, gauges)
	drawn := sh.shown().WithDefaults()
	p.OnNeck, p.Whole = draw.Limits(drawn, sh.lengths), tell.WholeNeck(drawn, sh.lengths)
	p.Warnings = append(show.Unmeasurable(sh.shown()), show.CoarseWarnings(sh.shown().WithDefaults(), gauges, sh.lengths)...)
	for _, sec := range p.Sections {
		p.Wrong = append(p.Wrong, sec.Wrong...)
	}
	p.Sentence = "A new specification. Nothing is saved until you have seen what it says and given your name."
	title := "A new specification"
	if p.From != "" {
		line, _, err := s.findSpec(c, p.From)
		if err != nil {
			return err
		}
		title = line.Name + ", revision " + line.Revision
		p.Sentence = "Changing " + title + ". Nothing is saved until you have seen what changes and said why."
	}
	if c.FromModule() {
		return c.ShowPart("sheet", p)
	}
	return c.Show(status, "specform", title, p)
}

// lasts says what the routine of a sheet comes to.
func lasts(sh *sheet, gauges []batch.Gauge) routineLasts {
	now := sh.shown()
	l := routineLasts{Now: tell.RoutineLasts(routine.Lasts(now, gauges)), Was: tell.RoutineLasts(routine.Lasts(sh.base, gauges))}
	without := routine.Without(routine.Points(now, gauges))
	for _, k := range []batch.Kind{batch.Crown, batch.BeamReading, batch.NutHeight, batch.ActionHeight, batch.Pitch} {
		if n := without[k]; n > 0 {
			l.Without = append(l.Without, tell.Count(n, "point")+" of "+string(k))
		}
	}
	fitted := *now
	left, had := show.Fit(&fitted, gauges)
	profile, pitch := fitted.Routine.Profile, fitted.Routine.Pitch
	if r := now.WithDefaults().Routine; r.Profile != profile || r.Pitch != pitch || len(now.Unmeasurable()) > 0 {
		l.Fitted = "profile " + profile + ", pitch " + pitch
		if len(left) > 0 {
			l.Fitted += "; leaves out limits of " + strings.Join(show.LeftOut(left, had), ", ")
		}
	}
	return l
}

// showText shows a specification as text, with what is wrong with it.
func (s *server) showText(c *site.Request, status int, from, text string, wrong error) error {
	f, err := s.specForm(c, text)
	if err != nil {
		return err
	}
	if wrong != nil {
		f.Field("text").Fail("%s", faultLines(wrong))
	}
	return s.showEdit(c, status, from, f)
}
