// Package outgoing is the pages of outgoing audits: the plan of a sample from the necks that may ship, what was found on it, the signed result.
package outgoing

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"slices"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	show.SignatureRecord
	Batch(ctx context.Context, number string) (batch.Batch, error)
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error)
	Verdicts(ctx context.Context, inspectionID string) ([]batch.Verdict, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)

	OutgoingAudit(ctx context.Context, id string) (batch.OutgoingAudit, error)
	ModelAudits(ctx context.Context, model string) ([]batch.OutgoingAudit, error)
	DrawOutgoing(ctx context.Context, a batch.OutgoingAudit) (batch.OutgoingAudit, error)
	AppendOutgoingFindings(ctx context.Context, findings ...batch.OutgoingFinding) ([]batch.OutgoingFinding, error)
	SignOutgoing(ctx context.Context, by, id string, mayReduce, unsteady bool, note string) (batch.OutgoingAudit, error)
	GiveUpOutgoing(ctx context.Context, by, id, reason string) (batch.OutgoingAudit, error)
	LeftOfLot(ctx context.Context, batchID string) ([]string, error)
	ReleaseLot(ctx context.Context, by, auditID, done string) (batch.OutgoingAudit, error)
}

// Bench is told of necks that were found nonconforming.
type Bench interface {
	ReloadDoubt(ctx context.Context) error
}

// Options are what the pages read and act on.
type Options struct {
	Record Record
	Bench  Bench // nil: the station has none
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Batches", files, template.FuncMap{
		"auditShape":   show.OutgoingShape,
		"findingShape": func(conforms bool) string { return show.Pick(conforms, "pass", "rework") },
	})
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/batches/:number/audit", func(c *site.Request) error { return s.showPlan(c, http.StatusOK, nil) })
	g.POST("/batches/:number/audit", s.drawAudit)
	g.GET("/audits/:audit", s.outgoing)
	g.POST("/audits/:audit/findings", s.saveFindings)
	g.POST("/audits/:audit/sign", s.signAudit)
	g.POST("/audits/:audit/give-up", s.giveUpAudit)
	g.POST("/audits/:audit/release", s.releaseLot)
	return nil
}

// planPage plans an audit of a batch: what is chosen, what the switching rules propose, and the plan that follows.
type planPage struct {
	Batch    batch.Batch
	Layers   []show.Layer
	Sentence string
	Rejected *batch.OutgoingAudit // whose rejected lot may not be drawn from yet; nil where it may
	Why      string               // of the severity
	Choose   *form.Form           // AQL, level, severity
	Plan     *planWords           // nil where there is none
	Draw     *form.Form           // who draws; nil while nothing can be drawn
	Audits   []show.AuditLine     // of this batch, newest first
	Model    []show.AuditLine     // of the model's other batches, newest first
	Asked    planQuestion         // what the plan is for
}

// planQuestion is what a plan is asked for.
type planQuestion struct {
	AQL       float64
	Level     string
	Severity  sampling.Severity
	Corrected bool
}

// planWords is a plan with what it is worth.
type planWords struct {
	sampling.Plan
	Size     int // necks drawn
	Sentence string
	Worth    string
}

// chooseForm offers what a plan is found by; the model's newest audit says what is chosen beforehand.
func chooseForm(model []batch.OutgoingAudit) *form.Form {
	aql := form.Field{Name: "aql", Label: "Acceptable quality level", Kind: "select", Allowed: "percent nonconforming", Value: show.Plain(batch.UsualAQL), Needed: true}
	level := form.Field{Name: "level", Label: "Inspection level", Kind: "select", Allowed: "II unless agreed otherwise", Value: batch.UsualLevel, Needed: true}
	if n := len(model); n > 0 {
		aql.Value, level.Value = show.Plain(model[n-1].AQL), model[n-1].Level
	}
	for _, v := range sampling.AQLs {
		if v <= sampling.MostPercent {
			aql.Options = append(aql.Options, form.Option{Value: show.Plain(v), Label: show.Plain(v), On: false})
		}
	}
	for _, l := range sampling.Levels {
		level.Options = append(level.Options, form.Option{Value: l, Label: l, On: false})
	}
	severity := form.Field{Name: "severity", Label: "Severity", Kind: "select", Allowed: "as the rules ask, or stricter"}
	corrected := form.Field{Name: "corrected", Label: "After lots rejected in a row", Kind: "check", Options: []form.Option{{Value: "yes", Label: "The cause of the rejections was put right", On: false}}}
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{aql, level, severity, corrected}}}}
}

// severities lists what may be chosen where the rules ask for one; a lot shown again after its rejection is not inspected
// reduced (MIL-STD-105E: normal or tightened, as the responsible authority says).
func severities(asked sampling.Severity, again bool) []form.Option {
	all := []sampling.Severity{sampling.Reduced, sampling.Normal, sampling.Tightened}
	if again && asked == sampling.Reduced {
		asked = sampling.Normal
	}
	var options []form.Option
	for _, v := range all[max(slices.Index(all, asked), 0):] {
		label := string(v)
		if v == asked {
			label += ", as the rules ask"
		}
		options = append(options, form.Option{Value: string(v), Label: label, On: false})
	}
	return options
}

// showPlan shows the page that plans an audit; draw is the form that was refused, nil for a new one.
func (s *server) showPlan(c *site.Request, status int, draw *form.Form) error {
	ctx := c.Request.Context()
	b, err := s.opt.Record.Batch(ctx, c.Param("number"))
	if err != nil {
		return err
	}
	model, err := s.opt.Record.ModelAudits(ctx, b.Spec.Name)
	if err != nil {
		return err
	}
	counts, err := s.opt.Record.Counts(ctx, b.ID)
	if err != nil {
		return err
	}
	lot := counts.Ready()
	p := planPage{Batch: b, Choose: chooseForm(model)}
	if p.Layers, err = s.layers(ctx, b.ID); err != nil {
		return err
	}
	for _, a := range model {
		if a.BatchID == b.ID {
			p.Audits = append(p.Audits, show.AuditLines([]batch.OutgoingAudit{a})...)
		} else {
			p.Model = append(p.Model, show.AuditLines([]batch.OutgoingAudit{a})...)
		}
	}
	slices.Reverse(p.Audits)
	slices.Reverse(p.Model)
	open := slices.IndexFunc(model, func(a batch.OutgoingAudit) bool { return a.State == batch.OutgoingOpen })
	p.ask(c, model, counts.Lot() == batch.OutgoingRejected)
	switch {
	case open >= 0 && model[open].BatchID == b.ID:
		p.Sentence = "An audit of this batch is open: " + tell.Lower(tell.Outgoing(model[open])) + " Go on with it below."
	case open >= 0:
		p.Sentence = fmt.Sprintf("The audit of %s, of the same model, is open: its result decides how severe this one is. Sign it or give it up first.", model[open].BatchNumber)
	case !counts.MayDraw():
		p.Rejected = counts.Audit
		p.Sentence = tell.Lot(counts)
	case lot < 2:
		p.Sentence = fmt.Sprintf("%s of this batch may ship; a sample needs a lot of 2 or more.", tell.Counted(lot, "neck", "necks"))
	case p.Asked.Severity == sampling.Discontinued:
		p.Sentence = "Inspection by sampling is discontinued: check every neck, and put the cause right first."
	default:
		p.Sentence = fmt.Sprintf("%d necks of this batch %s: they are the lot.", lot, show.Pick(counts.Lot().Stops(), "wait for another audit", "may ship"))
		if err := p.find(lot); err != nil {
			return err
		}
		if p.Draw = draw; draw == nil && p.Plan != nil {
			if p.Draw, err = s.drawForm(c); err != nil {
				return err
			}
		}
	}
	return c.Show(status, "outgoing", "Outgoing audit of "+b.Number, p)
}

// layers are those of an audit's batch.
func (s *server) layers(ctx context.Context, batchID string) ([]show.Layer, error) {
	doubts, err := s.opt.Record.Doubts(ctx, batch.DoubtFilter{BatchID: batchID})
	return show.BatchLayers(len(doubts) > 0), err
}

// ask takes over what was chosen and says what the switching rules ask for.
func (p *planPage) ask(c *site.Request, model []batch.OutgoingAudit, again bool) {
	f := p.Choose
	for i := range f.Groups[0].Fields {
		fd := &f.Groups[0].Fields[i]
		if v, given := pickValue(c, fd.Name); given {
			fd.Set(v)
		} else {
			fd.Set(fd.Value)
		}
	}
	p.Asked = planQuestion{AQL: f.Number("aql", 0, sampling.MostPercent), Level: f.Choice("level"), Corrected: len(f.Field("corrected").Chosen()) > 0}
	f.Choice("aql")
	before := model
	if p.Asked.Corrected {
		before = append(slices.Clone(model), batch.OutgoingAudit{AQL: p.Asked.AQL, Corrected: true, State: batch.OutgoingOpen})
	}
	st, err := batch.Switching(before, p.Asked.AQL)
	if err != nil {
		f.Refuse(err)
		return
	}
	p.Why = tell.Standing(st)
	if st.Next != sampling.Discontinued && !p.Asked.Corrected {
		f.Groups[0].Fields = slices.DeleteFunc(f.Groups[0].Fields, func(fd form.Field) bool { return fd.Name == "corrected" })
	}
	if st.Next == sampling.Discontinued {
		f.Groups[0].Fields = slices.DeleteFunc(f.Groups[0].Fields, func(fd form.Field) bool { return fd.Name == "severity" })
		p.Asked.Severity = sampling.Discontinued
		return
	}
	if again {
		p.Why += " This lot was rejected before: shown again, it does not count for the severity of the next."
	}
	fd := f.Field("severity")
	fd.Options = severities(st.Next, again)
	if !slices.ContainsFunc(fd.Options, func(o form.Option) bool { return o.Value == fd.Value }) {
		fd.Value = fd.Options[0].Value
	}
	fd.Set(fd.Value)
	p.Asked.Severity = sampling.Severity(fd.Value)
}

// pickValue is what a page's address or form says about a field.
func pickValue(c *site.Request, name string) (string, bool) {
	if v, given := c.GetPostForm(name); given {
		return v, true
	}
	return c.GetQuery(name)
}

// find looks the plan up; the fields are known to hold what is offered.
func (p *planPage) find(lot int) error {
	if !p.Choose.Ok() {
		return nil
	}
	plan, err := sampling.Lookup(lot, p.Asked.AQL, p.Asked.Level, p.Asked.Severity)
	if err != nil {
		return err
	}
	p.Plan = &planWords{Plan: plan, Size: min(plan.N, lot), Sentence: tell.Plan(plan, p.Asked.AQL, lot, "neck")}
	if plan.CheckAll {
		p.Plan.Worth = fmt.Sprintf("The plan's sample of %d is not smaller than the lot: every neck is looked at.", plan.N)
		return nil
	}
	seldom, err := plan.QualityAt(0.1)
	if err != nil {
		return err
	}
	often, err := plan.QualityAt(0.95)
	if err != nil {
		return err
	}
	p.Plan.Worth = fmt.Sprintf("What it is worth: of lots with %.2g %% nonconforming it accepts 95 in 100, of lots with %.2g %% still 10 in 100.", 100*often, 100*seldom)
	return nil
}

func (s *server) drawForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.Audit)
	by.Label = "Drawn by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{by}}}}, err
}

// drawAudit draws the sample that the page showed the plan of.
func (s *server) drawAudit(c *site.Request) error {
	ctx := c.Request.Context()
	b, err := s.opt.Record.Batch(ctx, c.Param("number"))
	if err != nil {
		return err
	}
	f, err := s.drawForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by := f.Choice("by")
	aql, err := show.ParseNumber(c.PostForm("aql"))
	if err != nil {
		f.Error = "The quality level is missing. Choose the plan again."
	}
	if f.Ok() {
		a, err := s.opt.Record.DrawOutgoing(ctx, batch.OutgoingAudit{By: by, BatchID: b.ID, AQL: aql, Level: c.PostForm("level"),
			Severity: sampling.Severity(c.PostForm("severity")), Corrected: c.PostForm("corrected") == "yes"})
		if err == nil {
			return c.To(site.AuditPath(a))
		}
		f.Refuse(err)
	}
	return s.showPlan(c, c.Refused(f), f)
}
