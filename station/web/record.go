package web

import (
	"context"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/web/alarms"
	"sagitta/station/web/batches"
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
	alarms.Record
	batches.Record
	benchpage.Record
	necks.Record
	outgoing.Record
	people.Record
	specs.Record
	studies.Record
	trend.Record

	Necks(ctx context.Context, batchID string) ([]batch.NeckRow, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)

	SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error)
	RetireGauge(ctx context.Context, by, gaugeID string) error

	Studies(ctx context.Context, gaugeID string) ([]batch.GaugeStudy, error)
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	GaugeEvents(ctx context.Context, gaugeID string) ([]batch.GaugeEvent, error)
	Certificates(ctx context.Context, gaugeID string) ([]batch.Certificate, error)
	CertificateFile(ctx context.Context, id string) (batch.Certificate, []byte, error)
	AddCertificate(ctx context.Context, by string, c batch.Certificate, file []byte) (batch.Certificate, error)
}

// Ports lists the serial ports that can be seen now.
type Ports func() ([]devices.PortInfo, error)
