package web

import (
	"context"
	"iter"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/export"
	"sagitta/station/web/alarms"
	benchpage "sagitta/station/web/bench"
	"sagitta/station/web/necks"
	"sagitta/station/web/outgoing"
	"sagitta/station/web/people"
	"sagitta/station/web/specs"
	"sagitta/station/web/studies"
	"sagitta/station/web/trend"
)

// Record is what the pages for reading and managing ask of the station's record.
type Record interface {
	export.Source
	alarms.Record
	benchpage.Record
	necks.Record
	outgoing.Record
	people.Record
	specs.Record
	studies.Record
	trend.Record

	OpenBatch(ctx context.Context, by string, b batch.Batch, serials []string) (batch.Batch, error)
	CloseBatch(ctx context.Context, by, number string) error
	AddNecks(ctx context.Context, by, batchID string, serials []string) ([]batch.Neck, error)

	Necks(ctx context.Context, batchID string) ([]batch.NeckRow, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)

	SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error)
	RetireGauge(ctx context.Context, by, gaugeID string) error
	Base(ctx context.Context, batchID string) (batch.ChartBase, error)
	FreezeBase(ctx context.Context, by, batchID string, first, last int, reason string) error

	Characteristics(ctx context.Context, s batch.Scope, name string, split batch.Split) ([]batch.CharacteristicRow, error)
	Series(ctx context.Context, f batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error]
	Elsewhere(ctx context.Context, batchID string, except batch.Named, since time.Time) (map[string]int, error)
	Breakdown(ctx context.Context, s batch.Scope, by batch.Dimension) ([]batch.Share, error)
	NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error)
	Loops(ctx context.Context, batchID string, newest int) (batch.Loops, error)
	ReworkOutcomes(ctx context.Context, batchID string, newest int) ([]batch.ReworkOutcome, error)

	Studies(ctx context.Context, gaugeID string) ([]batch.GaugeStudy, error)
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	GaugeEvents(ctx context.Context, gaugeID string) ([]batch.GaugeEvent, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	Certificates(ctx context.Context, gaugeID string) ([]batch.Certificate, error)
	CertificateFile(ctx context.Context, id string) (batch.Certificate, []byte, error)
	AddCertificate(ctx context.Context, by string, c batch.Certificate, file []byte) (batch.Certificate, error)
}

// Ports lists the serial ports that can be seen now.
type Ports func() ([]devices.PortInfo, error)
