// Package instruments is the pages of single instruments over their life: the list, a new one in one screen, and each with its owner, its
// visits and what is known of it. An instrument is known by its serial number.
package instruments

import (
	"context"
	"embed"
	"time"

	"sagitta/batch"
	"sagitta/batch/life"
	"sagitta/batch/record"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var pages embed.FS

// Path is where the list is found.
const Path = "/instruments"

// Record is what the pages ask of the station's record.
type Record interface {
	show.GaugeRecord
	life.Record
	AirDays(ctx context.Context) ([]batch.AirDay, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	EnterInstrument(ctx context.Context, by string, i batch.Instrument) error
	FitStrings(ctx context.Context, by string, set batch.StringSet) error
	Instrument(ctx context.Context, serial string) (batch.Instrument, error)
	Instruments(ctx context.Context, part string, limit int) ([]batch.InstrumentRow, error)
	SetOwner(ctx context.Context, by, serial string, o batch.Owner) error
	Owners(ctx context.Context, serial string) ([]batch.Owner, error)
	OpenVisit(ctx context.Context, by string, v record.NewVisit) (batch.Visit, error)
	EndVisit(ctx context.Context, by, serial, result string) error
	noteRecord
	promiseRecord
	photographRecord
}

// Bench is where an instrument is measured.
type Bench interface {
	Snapshot() *bench.Snapshot
	SetInspector(ctx context.Context, name string) error
	SetClimate(ctx context.Context, c inspect.Climate) error
	OpenBatch(ctx context.Context, number string) error
	Entry(ctx context.Context, text, unit string) error
}

// Options are what the pages show and act on.
type Options struct {
	Record        Record
	Bench         Bench                           // nil: the station has none
	Folder        string                          // of the record, with its photographs
	GaugesChanged func(ctx context.Context) error // told when a gauge was entered
	Now           func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Instruments", pages, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET(Path, s.list)
	g.GET(Path+"/new", s.newInstrument)
	g.POST(Path+"/new", s.takeNew)
	g.GET(Path+"/:serial", s.instrument)
	g.GET(Path+"/:serial/life", s.life)
	g.POST(Path+"/:serial/owner", s.takeOwner)
	g.POST(Path+"/:serial/bench", s.toBench)
	g.POST(Path+"/:serial/end", s.endVisit)
	g.GET(Path+"/:serial/visit", s.newVisit)
	g.POST(Path+"/:serial/visit", s.takeVisit)
	g.POST(Path+"/:serial/strings", s.takeStrings)
	g.GET("/necks/:serial/instrument", s.keepNeck)
	g.POST("/necks/:serial/instrument", s.takeNeck)
	g.POST(Path+"/:serial/notes", s.takeNote)
	g.POST(Path+"/:serial/promises", s.takePromise)
	g.POST(Path+"/:serial/promises/:promise", s.endPromise)
	s.mountPhotographs(g)
	return nil
}
