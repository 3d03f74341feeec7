package demo

import (
	"context"
	"io"
	"io/fs"
	"path/filepath"
	"slices"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/export"
	"sagitta/testdata/demo"
)

// Scenarios reads the truth about the demo's batches, in the order of their file names.
func Scenarios() ([]*simulate.Scenario, error) { return scenariosOf(demo.Files) }

// scenariosOf is Scenarios for a folder like the demo's.
func scenariosOf(folder fs.FS) ([]*simulate.Scenario, error) {
	files, err := fs.Glob(folder, "*.truth.toml")
	if err != nil {
		return nil, err
	}
	var all []*simulate.Scenario
	for _, file := range files {
		text, err := fs.ReadFile(folder, file)
		if err != nil {
			return nil, err
		}
		sc, err := simulate.ParseScenario(file, text)
		if err != nil {
			return nil, err
		}
		all = append(all, sc)
	}
	return all, nil
}

// furnish fills the demo's record: people, gauges, specifications and batches. A record that has them already only
// learns where the simulated gauges are this time.
func (d *Station) furnish(ctx context.Context) error {
	people, err := d.Record.People(ctx)
	if err != nil {
		return err
	}
	if len(people) == 0 {
		for _, p := range []batch.Person{{Name: inspector, Role: batch.Inspector}, {Name: manager, Role: batch.QualityManager}, {Name: repairer, Role: batch.Repairer}} {
			if _, err := d.Record.AddPerson(ctx, manager, p.Name, p.Role); err != nil {
				return err
			}
		}
	}
	for _, g := range d.sim.Gauges() {
		if _, err := d.Record.SaveGauge(ctx, manager, entryOf(g)); err != nil {
			return err
		}
	}
	known, err := d.Record.Batches(ctx)
	if err != nil {
		return err
	}
	for _, sc := range d.scenarios {
		if slices.ContainsFunc(known, func(b batch.BatchRow) bool { return b.Number == sc.Batch }) {
			continue
		}
		text, err := fs.ReadFile(d.files, sc.Spec)
		if err != nil {
			return err
		}
		spec, err := d.Record.AddSpec(ctx, manager, "", sc.Spec, text)
		if err != nil {
			return err
		}
		b := batch.Batch{Number: sc.Batch, Spec: spec, Planned: sc.Necks, Note: sc.Note}
		if _, err := d.Record.OpenBatch(ctx, manager, b, sc.Serials()); err != nil {
			return err
		}
	}
	return nil
}

// entryOf is the record's entry of a simulated gauge.
func entryOf(g simulate.GaugeInfo) batch.Gauge {
	e := batch.Gauge{
		ID: g.ID, Name: g.Name, Path: g.Path, Decoder: g.Decoder, Channel: g.Channel, KeyChannel: g.KeyChannel, Capture: "key", Sense: g.Sense,
		ResolutionMM: g.ResolutionMM, CalibrationU: 0.002, RepeatabilityU: g.RepeatabilityU, ReferenceU: 0.002, TravelMM: 12.5,
		ZeroLimitMM: 0.02, CheckHours: 8, EachShift: true, FeetMM: g.FeetMM, PlungerMM: g.PlungerMM,
		Certificate: "Quillmere " + g.ID,
	}
	for _, nominal := range []float64{g.MasterMM, 2.5 * g.MasterMM} {
		if nominal > 0 {
			e.Masters = append(e.Masters, batch.Master{NominalMM: nominal, LimitMM: 0.02})
		}
	}
	if g.Streams {
		e.Capture = "stream"
	}
	for _, m := range g.Measures {
		e.Measures = append(e.Measures, batch.Kind(m))
	}
	return e
}

// writeTruth writes what is true of every neck, beside the record.
func (d *Station) writeTruth() error {
	return export.WriteFile(filepath.Join(d.dir, "truth.txt"), func(w io.Writer) error {
		for _, sc := range d.scenarios {
			if err := simulate.WriteTruth(w, sc); err != nil {
				return err
			}
		}
		return nil
	})
}
