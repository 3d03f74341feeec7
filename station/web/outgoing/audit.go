package outgoing

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// outgoingPage is one audit: the necks to fetch, what was found, its result.
type outgoingPage struct {
	Audit      batch.OutgoingAudit
	Signatures []string
	Layers     []show.Layer
	Batch      string // sentence: how its batch stands
	Sentence   string
	ToDo       string
	Open       bool
	Rows       []findingRow
	By         form.Field // who looked
	Wrong      int        // rows that need another look
	Left       *lotLeft   // what the rejected lot waits for, nil where it does not stand rejected
	Sign       *form.Form // nil until every neck has been looked at
	GiveUp     *form.Form
	Next       string // sentences: how severe the next lot is, once it has ended
	Plan       string // sentence
	Error      string
}

// findingRow is one drawn neck, with what is chosen for it.
type findingRow struct {
	batch.OutgoingNeck
	Newer  *newerInspection // made after the draw, nil for none
	Choice string           // conforming, nonconforming, inspection, or "" while it has not been looked at
	Note   string
	Error  string
}

// newerInspection is an inspection after the draw whose verdict says whether the neck conforms.
type newerInspection struct {
	batch.Inspection
	Disposition inspect.Disposition
	Conforms    bool
}

// The choices of a row.
const (
	chosenConforming    = "conforming"
	chosenNonconforming = "nonconforming"
	chosenInspection    = "inspection"
)

// longestNote is how many characters a note may have.
const longestNote = 500

func (s *server) outgoing(c *site.Request) error {
	return s.showOutgoing(c, http.StatusOK, outgoingForms{})
}

// outgoingForms are what was typed on an audit's page and refused; nil ones are made anew.
type outgoingForms struct {
	rows         []findingRow
	by           *form.Field
	sign, giveUp *form.Form
	release      *form.Form
	problem      string
}

// findingRows are an audit's necks with what was found on them.
func (s *server) findingRows(c *site.Request, a batch.OutgoingAudit) ([]findingRow, error) {
	rows := make([]findingRow, len(a.Necks))
	for i, n := range a.Necks {
		rows[i].OutgoingNeck = n
		if f := n.Finding; f != nil {
			rows[i].Choice, rows[i].Note = show.Pick(f.Conforms, chosenConforming, chosenNonconforming), f.Note
			if f.InspectionID != "" {
				rows[i].Choice = chosenInspection
			}
		}
		var err error
		if rows[i].Newer, err = s.newer(c, n.NeckID, a); err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// newer is a neck's newest inspection after an audit's draw, where its verdict says whether the neck conforms. An inspection
// that was opened again or is in doubt says nothing.
func (s *server) newer(c *site.Request, neckID string, a batch.OutgoingAudit) (*newerInspection, error) {
	all, err := s.opt.Record.Inspections(c.Request.Context(), neckID)
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(all, func(x, y batch.Inspection) int { return y.StartedAt.Compare(x.StartedAt) })
	if len(all) == 0 || !all[0].StartedAt.After(a.At) {
		return nil, nil
	}
	verdicts, err := s.opt.Record.Verdicts(c.Request.Context(), all[0].ID)
	if err != nil || len(verdicts) == 0 {
		return nil, err
	}
	n := &newerInspection{Inspection: all[0], Disposition: verdicts[len(verdicts)-1].Disposition}
	if !n.Counts(n.Disposition) {
		return nil, nil
	}
	switch n.Disposition {
	case inspect.Pass:
		n.Conforms = true
	case inspect.Rework, inspect.Repair, inspect.Scrap:
	default:
		return nil, nil
	}
	doubts, err := s.opt.Record.Doubts(c.Request.Context(), batch.DoubtFilter{NeckID: neckID, Standing: true})
	if err != nil || slices.ContainsFunc(doubts, func(d batch.Doubt) bool { return d.InspectionID == n.ID }) {
		return nil, err
	}
	return n, nil
}

func (s *server) showOutgoing(c *site.Request, status int, typed outgoingForms) error {
	ctx := c.Request.Context()
	a, err := s.opt.Record.OutgoingAudit(ctx, c.Param("audit"))
	if err != nil {
		return err
	}
	counts, err := s.opt.Record.Counts(ctx, a.BatchID)
	if err != nil {
		return err
	}
	p := outgoingPage{Audit: a, Batch: tell.Batch(counts), Sentence: tell.Outgoing(a), ToDo: tell.OutgoingToDo(a, counts), Open: a.State == batch.OutgoingOpen, Rows: typed.rows, Sign: typed.sign, GiveUp: typed.giveUp,
		Plan: tell.Plan(a.Plan, a.AQL, a.LotSize, "neck"), Error: typed.problem}
	if p.Signatures, err = show.SignaturesOf(ctx, s.opt.Record, a.BatchNumber, a.Sealed); err != nil {
		return err
	}
	if p.Layers, err = s.layers(ctx, a.BatchID); err != nil {
		return err
	}
	if p.Rows == nil || !p.Open {
		if p.Rows, err = s.findingRows(c, a); err != nil {
			return err
		}
	}
	for _, r := range p.Rows {
		if r.Error != "" {
			p.Wrong++
		}
	}
	if p.Left, err = s.left(c, a, counts, typed.release); err != nil {
		return err
	}
	switch {
	case p.Open:
		err = s.auditForms(c, &p, typed.by)
	case a.State != batch.OutgoingGivenUp:
		p.Next, err = s.nextLot(ctx, a)
	}
	if err != nil {
		return err
	}
	return c.Show(status, "outgoingaudit", "Outgoing audit of "+a.BatchNumber, p)
}

// auditForms gives the page of an open audit the forms that were not typed into; by is the field that was.
func (s *server) auditForms(c *site.Request, p *outgoingPage, by *form.Field) (err error) {
	if p.By, err = s.lookedBy(c); err != nil {
		return err
	}
	if by != nil {
		p.By = *by
	}
	if p.Sign == nil && p.Audit.Found == p.Audit.Size() {
		if p.Sign, err = s.signForm(c); err != nil {
			return err
		}
	}
	if p.GiveUp == nil {
		p.GiveUp, err = s.giveUpAuditForm(c)
	}
	return err
}

// nextLot says how the next lot of an audit's model is inspected, and why.
func (s *server) nextLot(ctx context.Context, a batch.OutgoingAudit) (string, error) {
	model, err := s.opt.Record.ModelAudits(ctx, a.Model)
	if err != nil {
		return "", err
	}
	st, err := batch.Switching(model, a.AQL)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("The next lot of %s at AQL %s: %s. %s", a.Model, show.Plain(a.AQL), tell.Severity(st.Next), tell.Standing(st)), nil
}

// lookedBy asks who looked at the necks.
func (s *server) lookedBy(c *site.Request) (form.Field, error) {
	by, err := c.ByField(batch.Measure)
	by.Label = "Looked at by"
	return by, err
}

// signForm asks what the record cannot know about the lot's production, and who signs.
func (s *server) signForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.SignAudit)
	by.Label = "Signed by"
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "production", Label: "For the severity of the next lot", Kind: "check", Options: []form.Option{
			{Value: "unsteady", Label: "Production was not steady", On: false},
			{Value: "may-reduce", Label: "Reduced inspection may follow: the limit number (MIL-STD-105E, Table VIII) is met, production is steady, and it is wanted", On: false},
		}},
		{Name: "note", Label: "Note", Kind: "text", Allowed: "may stay empty"}, by,
	}}}}
	return f.Apart("sign"), err
}

func (s *server) giveUpAuditForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.Audit)
	by.Label = "Given up by"
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{{Name: "reason", Label: "Reason", Kind: "text", Allowed: "in a few words", Needed: true}, by}}}}
	return f.Apart("give-up"), err
}

// saveFindings keeps what was ticked and has changed. Nothing is kept while something is wrong.
func (s *server) saveFindings(c *site.Request) error {
	a, err := s.opt.Record.OutgoingAudit(c.Request.Context(), c.Param("audit"))
	if err != nil {
		return err
	}
	typed := outgoingForms{}
	if typed.rows, err = s.findingRows(c, a); err != nil {
		return err
	}
	by, err := s.lookedBy(c)
	if err != nil {
		return err
	}
	ask := &form.Form{Groups: []form.Group{{Fields: []form.Field{by}}}}
	ask.Fill(c)
	who := ask.Choice("by")
	typed.by = ask.Field("by")
	good := ask.Ok()
	var findings []batch.OutgoingFinding
	for i := range typed.rows {
		r := &typed.rows[i]
		choice, given := c.GetPostForm("found-" + r.NeckID)
		if !given {
			continue
		}
		f := r.take(choice, strings.TrimSpace(c.PostForm("note-"+r.NeckID)))
		good = good && r.Error == ""
		if f != nil {
			f.By, f.AuditID = who, a.ID
			findings = append(findings, *f)
		}
	}
	if good && len(findings) == 0 {
		good, typed.problem = false, "Nothing new is ticked. Tick what was found on the necks looked at."
	}
	if !good {
		return s.showOutgoing(c, http.StatusUnprocessableEntity, typed)
	}
	if _, err := s.opt.Record.AppendOutgoingFindings(c.Request.Context(), findings...); err != nil {
		if batch.KindOf(err) == batch.Conflict { // another has ended the audit
			return s.showOutgoing(c, c.StatusOf(err), outgoingForms{problem: form.Sentence(err) + " Nothing of it was kept; the list shows what is on record."})
		}
		typed.problem = form.Sentence(err)
		return s.showOutgoing(c, c.StatusOf(err), typed)
	}
	if s.opt.Bench != nil {
		if err := s.opt.Bench.ReloadDoubt(c.Request.Context()); err != nil {
			return err
		}
	}
	return c.To(site.AuditPath(a) + "#necks")
}

// take takes over what was ticked on a row and returns the finding that it makes, nil where nothing changed or something is
// wrong.
func (r *findingRow) take(choice, note string) *batch.OutgoingFinding {
	before, noted := r.Choice, r.Note
	r.Choice, r.Note = choice, note
	f := &batch.OutgoingFinding{NeckID: r.NeckID, Conforms: choice == chosenConforming, Note: note}
	switch {
	case len([]rune(note)) > longestNote:
		r.Error = fmt.Sprintf("%d characters; at most %d are allowed.", len([]rune(note)), longestNote)
	case choice == chosenInspection && r.Newer == nil:
		r.Error = "No inspection after the draw says whether it conforms."
	case choice == chosenInspection:
		f.Conforms, f.InspectionID = r.Newer.Conforms, r.Newer.ID
		if r.Finding != nil && r.Finding.InspectionID == f.InspectionID && r.Finding.Conforms == f.Conforms && noted == note {
			return nil
		}
		return f
	case choice == chosenNonconforming && note == "":
		r.Error = "A note is missing: say what does not conform."
	case choice != chosenConforming && choice != chosenNonconforming:
		r.Error = fmt.Sprintf("%q is not offered; tick one of the list.", choice)
	case choice != before || note != noted:
		return f
	}
	return nil
}

// signAudit ends an audit with its result.
func (s *server) signAudit(c *site.Request) error {
	a, err := s.opt.Record.OutgoingAudit(c.Request.Context(), c.Param("audit"))
	if err != nil {
		return err
	}
	f, err := s.signForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, note, ticked := f.Choice("by"), f.Text("note", longestNote), f.Field("production").Chosen()
	mayReduce, unsteady := slices.Contains(ticked, "may-reduce"), slices.Contains(ticked, "unsteady")
	if mayReduce && unsteady {
		f.Field("production").Fail("Both are ticked. Reduced inspection needs a steady production.")
	}
	if f.Ok() {
		if _, err := s.opt.Record.SignOutgoing(c.Request.Context(), by, a.ID, mayReduce, unsteady, note); err == nil {
			return c.To(site.AuditPath(a))
		} else {
			f.Refuse(err)
		}
	}
	return s.showOutgoing(c, c.Refused(f), outgoingForms{sign: f})
}

// giveUpAudit ends an audit without a result.
func (s *server) giveUpAudit(c *site.Request) error {
	f, err := s.giveUpAuditForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, reason := f.Choice("by"), f.Text("reason", longestNote)
	if f.Ok() {
		a, err := s.opt.Record.GiveUpOutgoing(c.Request.Context(), by, c.Param("audit"), reason)
		if err == nil {
			return c.To(site.AuditPath(a))
		}
		f.Refuse(err)
	}
	return s.showOutgoing(c, c.Refused(f), outgoingForms{giveUp: f})
}
