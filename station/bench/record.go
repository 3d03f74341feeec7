package bench

import (
	"context"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Record is what the bench needs of the record. Every Append returns only once the row is durable.
type Record interface {
	Shop
	Inspections
	Gauges
	Studies
}

// Shop is who works and what is inspected.
type Shop interface {
	People(ctx context.Context) ([]batch.Person, error)
	PeopleSignOn(ctx context.Context) (bool, error)
	House(ctx context.Context) (batch.House, error)
	Batch(ctx context.Context, number string) (batch.Batch, error)
	Batches(ctx context.Context) ([]batch.BatchRow, error)
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	AddNecks(ctx context.Context, by, batchID string, serials []string) ([]batch.Neck, error)
	NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error)
	OpenAlarms(ctx context.Context) ([]batch.Alarm, error)
	JudgedSince(ctx context.Context, from time.Time) (int, error)
}

// Inspections are a neck's attempts: readings, verdicts, rework.
type Inspections interface {
	StartInspection(ctx context.Context, in batch.Inspection) (batch.Inspection, error)
	SetInspectionState(ctx context.Context, by, inspectionID string, st batch.InspectionState, reason string) error
	SetClimate(ctx context.Context, by, inspectionID string, c inspect.Climate) error
	MeasureWhole(ctx context.Context, by, inspectionID string) error
	CarriedOver(ctx context.Context, inspectionID string) ([]inspect.Characteristic, error)
	SetHanded(ctx context.Context, by, inspectionID, handed string) error
	OpenInspections(ctx context.Context) ([]batch.Inspection, error)
	Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error)
	AppendReading(ctx context.Context, r batch.Reading) (batch.Reading, error)
	AppendReadings(ctx context.Context, readings []batch.Reading) ([]batch.Reading, error)
	TakeBack(ctx context.Context, by, inspectionID string, rows []batch.Reading) ([]batch.Reading, error)
	Readings(ctx context.Context, inspectionID string) ([]batch.Reading, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	DoubtedReadings(ctx context.Context, inspectionID string) ([]string, error)
	HeldBy(ctx context.Context, neckID string) (*batch.OutgoingFinding, error)
	AppendVerdict(ctx context.Context, v batch.Verdict) (batch.Verdict, error)
	LatestVerdict(ctx context.Context, inspectionID string) (*batch.Verdict, error)
	AppendRework(ctx context.Context, a batch.ReworkAction) (batch.ReworkAction, error)
	Rework(ctx context.Context, neckID string) ([]batch.ReworkAction, error)
	RodSteps(ctx context.Context, neckID string, attempt int) ([]inspect.RodStep, error)
	RodModel(ctx context.Context, specName, exceptNeckID string) ([]inspect.RodStep, error)
}

// Gauges are the gauges' entries, their checks and what happened to them.
type Gauges interface {
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error)
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	AppendGaugeCheck(ctx context.Context, c batch.GaugeCheck) (batch.GaugeCheck, error)
	EventsSinceCheck(ctx context.Context, gaugeID string) ([]batch.GaugeEvent, error)
	AppendGaugeEvent(ctx context.Context, e batch.GaugeEvent) (batch.GaugeEvent, error)
	LastSeen(ctx context.Context) (time.Time, error) // the record's newest entry: until when the gauges were watched
}

// Studies are gauge studies measured at the bench.
type Studies interface {
	Study(ctx context.Context, id string) (batch.GaugeStudy, error)
	StudyReadings(ctx context.Context, studyID string) ([]batch.StudyReading, error)
	AppendStudyReading(ctx context.Context, r batch.StudyReading) (batch.StudyReading, error)
	EndStudy(ctx context.Context, by, studyID string, state batch.StudyState, reason string) error
}
