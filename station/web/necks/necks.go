// Package necks is the pages of single necks: the search, a neck with its attempts, how a value came about, a neck's story, and
// the necks to call back.
package necks

import (
	"context"
	"embed"
	"html/template"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/export/label"
	"sagitta/export/sheet"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	show.SignatureRecord
	label.Record // of the sheet too
	SearchNecks(ctx context.Context, part string, limit int) ([]batch.NeckRow, error)
	NeckStory(ctx context.Context, serial string) (batch.NeckStory, error)
	BatchAlarms(ctx context.Context, batchID string) ([]batch.Alarm, error)
	HeldBy(ctx context.Context, neckID string) (*batch.OutgoingFinding, error)
	DrawnIn(ctx context.Context, neckID string) ([]batch.DrawnIn, error)

	ClearDoubts(ctx context.Context, by, reason string, group []batch.NeckDoubts) error
	DoubtReach(ctx context.Context, over batch.DoubtRange) (batch.Marked, error)
	CastDoubt(ctx context.Context, by, reason string, over batch.DoubtRange, shown batch.Marked) (batch.Marked, error)
	Instrument(ctx context.Context, serial string) (batch.Instrument, error)
	Inspected(ctx context.Context, inspector string) (bool, error)

	Gauges(ctx context.Context) ([]batch.Gauge, error)
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	Certificates(ctx context.Context, gaugeID string) ([]batch.Certificate, error)
}

// Bench is told of a neck that was cleared of doubt.
type Bench interface {
	ReloadDoubt(ctx context.Context) error
}

// Options are what the pages show and act on.
type Options struct {
	Record Record
	Bench  Bench  // nil: the station has none
	Folder string // of the record, in which the sheet's template lies
	Now    func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Necks", files, template.FuncMap{
		"hold": func(f *batch.OutgoingFinding) string { return tell.Hold(*f) },
	})
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/necks", s.necks)
	g.GET("/necks/:serial", s.neck)
	g.GET("/necks/:serial/story", s.story)
	g.GET("/necks/:serial/story.txt", s.storyFile)
	g.GET("/necks/:serial/sheet.pdf", s.sheetFile("pdf", "application/pdf", sheet.PDF))
	g.GET("/necks/:serial/sheet.html", s.sheetFile("html", "text/html; charset=utf-8", sheet.HTML))
	g.GET("/labels.pdf", s.labels)
	g.GET("/necks/:serial/explain", s.explain)
	g.POST("/necks/:serial/clear-doubt", s.clearDoubt)
	g.GET("/callback", s.callbackList)
	g.GET("/callback.csv", s.callbackFile)
	g.POST("/callback/clear", s.clearGroup)
	g.GET("/doubt", s.castNew)
	g.POST("/doubt/count", s.castCount)
	g.POST("/doubt", s.castDoubt)
	return nil
}
