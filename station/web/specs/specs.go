// Package specs is the pages of specifications: every revision in words, taken in, edited, compared and sent as its file.
package specs

import (
	"context"
	"embed"
	"fmt"
	"net/http"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var pages embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	show.SignatureRecord
	Specs(ctx context.Context) ([]batch.SpecRevision, error)
	Spec(ctx context.Context, id string) (batch.SpecRevision, error)
	AddSpec(ctx context.Context, by, reason, file string, text []byte) (batch.SpecRevision, error)
	Batches(ctx context.Context) ([]batch.BatchRow, error)
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error)
	CountingVerdict(ctx context.Context, inspectionID string) (*batch.Verdict, error)
}

// Options are what the pages show and act on.
type Options struct {
	Record Record
	Now    func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Specifications", pages, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/specs", s.specs)
	g.POST("/specs", s.addSpec)
	g.GET("/specs/compare", s.compareSpecs)
	g.GET("/specs/new", s.newSpec)
	g.POST("/specs/form", s.sheetSent)
	g.GET("/specs/:id", s.spec)
	g.GET("/specs/:id/edit", s.editSpec)
	g.GET("/specs/:id/form", s.specAsForm)
	g.GET("/specs/:id/file.toml", s.exportSpec)
	return nil
}

// specsPage lists the specification revisions.
type specsPage struct {
	Sentence string
	Specs    []specLine
	Form     *form.Form
	Compare  []form.Option
	Keys     []specKey
	Warnings []string // of limits that are never measured
}

// specLine is one revision with the batches that are judged by it.
type specLine struct {
	batch.SpecRevision
	UsedBy []string
	Limits int
}

// specLines reads the revisions and who uses them, newest first.
func (s *server) specLines(c *site.Request) ([]specLine, error) {
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return nil, err
	}
	batches, err := s.opt.Record.Batches(c.Request.Context())
	if err != nil {
		return nil, err
	}
	lines := make([]specLine, len(specs))
	for i, sp := range specs {
		lines[i] = specLine{SpecRevision: sp, Limits: len(sp.Spec.Limits)}
		for _, b := range batches {
			if b.Spec.ID == sp.ID {
				lines[i].UsedBy = append(lines[i].UsedBy, b.Number)
			}
		}
	}
	slices.SortStableFunc(lines, func(a, b specLine) int { return b.AddedAt.Compare(a.AddedAt) })
	return lines, nil
}

func (s *server) specs(c *site.Request) error {
	f, err := s.specForm(c, show.Pick(c.Query("example") == "yes", exampleSpec, ""))
	if err != nil {
		return err
	}
	return s.showSpecs(c, http.StatusOK, f)
}

func (s *server) showSpecs(c *site.Request, status int, f *form.Form) error {
	lines, err := s.specLines(c)
	if err != nil {
		return err
	}
	p := specsPage{Specs: lines, Form: f, Keys: specKeys()}
	frozen := 0
	for _, l := range lines {
		if !l.FrozenAt.IsZero() {
			frozen++
		}
		p.Compare = append(p.Compare, form.Option{Value: l.ID, Label: l.Name + ", revision " + l.Revision, On: false})
		p.Warnings = append(p.Warnings, show.UnmeasurableOf([]batch.SpecRevision{l.SpecRevision})...)
	}
	switch len(lines) {
	case 0:
		p.Sentence = "No specification is on file yet. Import one below: a batch is judged against it."
	default:
		p.Sentence = fmt.Sprintf("%s on file; %s by a batch.", tell.Counted(len(lines), "revision is", "revisions are"), tell.Counted(frozen, "is frozen", "are frozen"))
	}
	return c.Show(status, "specs", "Specifications", p)
}
