package recordtest

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/testdata/demo"
)

// Record is a new record, with its path, in a folder of the test's own; it is closed at the test's end. now is as in record.Options.
func Record(t testing.TB, now func() time.Time) (db *record.DB, path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "record.db")
	db = Must(record.Open(path, record.Options{Station: "bench 1", Now: now}))(t)
	t.Cleanup(func() {
		if err := db.Close(); err != nil && !errors.Is(err, os.ErrClosed) {
			t.Error(err)
		}
	})
	return db, path
}

// The gauges of a bench, by their IDs.
const (
	Carriage = "gauge-carriage" // an indicator that sends all the time and has a data key
	Height   = "gauge-height"   // sends when its key is pressed
	Beam     = "gauge-beam"
)

// Gauges enters the gauges of a bench, and others, each with a 1 mm master.
func Gauges(t testing.TB, db *record.DB, others ...batch.Gauge) {
	t.Helper()
	for _, g := range append([]batch.Gauge{
		{ID: Carriage, Name: "carriage indicator", Measures: []batch.Kind{batch.Crown}, Capture: "stream", KeyChannel: "K", TravelMM: 12.5},
		{ID: Height, Name: "height gauge", Measures: []batch.Kind{batch.ActionHeight, batch.NutHeight}, Capture: "key"},
		{ID: Beam, Name: "beam on two feet", Measures: []batch.Kind{batch.BeamReading}, Capture: "key", FeetMM: [2]float64{36.2, 403}, PlungerMM: 214},
	}, others...) {
		g.Sense, g.ResolutionMM, g.RepeatabilityU, g.CalibrationU = 1, 0.001, 0.002, 0.002
		g.Path, g.Decoder, g.Masters, g.ZeroLimitMM, g.CheckHours = "/dev/none", "channel and value", []batch.Master{{NominalMM: 1, LimitMM: 0.02}}, 0.02, 8
		Must(db.SaveGauge(context.Background(), "", g))(t)
	}
}

// ThreeNecks opens a batch of three necks that one of the demo's specifications, by its file, judges.
func ThreeNecks(t testing.TB, db *record.DB, number, file string) batch.Batch {
	t.Helper()
	spec := Must(db.AddSpec(context.Background(), "", "", file, Must(demo.Files.ReadFile(file))(t)))(t)
	return Must(db.OpenBatch(context.Background(), "", batch.Batch{Number: number, Spec: spec, Planned: 3}, []string{number + "-0001", number + "-0002", number + "-0003"}))(t)
}

// Clear clears a neck of every doubt that it is in.
func Clear(db *record.DB, by, neckID, reason string) error {
	ctx := context.Background()
	all, err := db.Doubts(ctx, batch.DoubtFilter{NeckID: neckID, Standing: true})
	if err != nil {
		return err
	}
	g := batch.NeckDoubts{NeckID: neckID}
	for i := range all {
		g.Doubts = append(g.Doubts, all[i].ID)
	}
	return db.ClearDoubts(ctx, by, reason, []batch.NeckDoubts{g})
}

// ByEye enters gauges without a line and opens a batch of three acoustic necks whose relief is found in the way that the specification's
// profile says.
func ByEye(t testing.TB, db *record.DB, number, profile string, kinds ...batch.GaugeKind) batch.Batch {
	t.Helper()
	for _, k := range kinds {
		Must(db.SaveGauge(context.Background(), "", batch.Ordinary(k, unit.Millimetre)))(t)
	}
	text := strings.NewReplacer("QM Flattop 645", "QM Flattop 645, "+profile, `profile = "beam"`, `profile = "`+profile+`"`).Replace(string(Must(demo.Files.ReadFile("qm-flattop-645.toml"))(t)))
	spec := Must(db.AddSpec(context.Background(), "", "", profile+".toml", []byte(text)))(t)
	return Must(db.OpenBatch(context.Background(), "", batch.Batch{Number: number, Spec: spec, Planned: 3}, []string{number + "-0001", number + "-0002", number + "-0003"}))(t)
}

// Pass has a person inspect necks, which pass.
func Pass(t testing.TB, db *record.DB, inspector string, serials ...string) {
	t.Helper()
	for _, serial := range serials {
		neck := Must(db.Neck(context.Background(), serial))(t)
		in := Must(db.StartInspection(context.Background(), batch.Inspection{NeckID: neck.ID, Inspector: inspector, Posture: "playing"}))(t)
		Must(db.AppendVerdict(context.Background(), batch.Verdict{InspectionID: in.ID, Result: Result(serial, inspect.Pass, 0.3)}))(t)
	}
}
