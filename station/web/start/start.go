// Package start is the page on which a station begins: what is missing before a neck can be judged, in order, each step done where it
// stands. It is where the bench leads while no batch is open.
package start

import (
	"context"
	"embed"
	"net/http"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var pages embed.FS

// Path is where the page is found.
const Path = "/start"

const housePath = Path + "/house"

// Record is what the page asks of the station's record.
type Record interface {
	show.GaugeRecord
	People(ctx context.Context) ([]batch.Person, error)
	AddPerson(ctx context.Context, by, name string, role batch.Role) (batch.Person, error)
	Specs(ctx context.Context) ([]batch.SpecRevision, error)
	AddSpec(ctx context.Context, by, reason, file string, text []byte) (batch.SpecRevision, error)
	Batches(ctx context.Context) ([]batch.BatchRow, error)
	OpenBatch(ctx context.Context, by string, b batch.Batch, serials []string) (batch.Batch, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	Instruments(ctx context.Context, part string, limit int) ([]batch.InstrumentRow, error)
	PromisesDue(ctx context.Context, by batch.Day) ([]batch.Promise, error)
	SetHouse(ctx context.Context, by string, h batch.House) error
}

// Bench is where the first neck is measured.
type Bench interface {
	Snapshot() *bench.Snapshot
	SetInspector(ctx context.Context, name string) error
	ReloadShop(ctx context.Context) error
	OpenBatch(ctx context.Context, number string) error
	Entry(ctx context.Context, text, unit string) error
}

// Options are what the page shows and acts on.
type Options struct {
	Record        Record
	Bench         Bench
	Ports         func() ([]devices.PortInfo, error) // that can be seen now; nil: none
	GaugesChanged func(ctx context.Context) error    // told when a gauge was entered
	Now           func() time.Time
}

type server struct{ opt Options }

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Bench", pages, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET(Path, func(c *site.Request) error { return s.show(c, http.StatusOK, nil) })
	g.POST(Path+"/name", s.takeName)
	g.POST(housePath, s.takeHouse)
	g.POST(Path+"/gauges", s.takeGauges)
	g.POST(Path+"/spec", s.takeSpec)
	g.POST(Path+"/neck", s.takeNeck)
	return nil
}

// Leads says whether the bench's page leads here: nothing is on the bench, and no batch is open that could come there.
func Leads(ctx context.Context, rec Record, snap *bench.Snapshot) (bool, error) {
	if snap.Stage != bench.NoBatch || snap.Check != nil || snap.Study != nil {
		return false, nil
	}
	open, err := openBatches(ctx, rec)
	return len(open) == 0, err
}

func openBatches(ctx context.Context, rec Record) (open []batch.BatchRow, err error) {
	all, err := rec.Batches(ctx)
	for _, b := range all {
		if b.ClosedAt.IsZero() {
			open = append(open, b)
		}
	}
	return open, err
}
