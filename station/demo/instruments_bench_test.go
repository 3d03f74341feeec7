package demo

import (
	"flag"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/pelletier/go-toml/v2"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/station/app"
)

var necksOfEach = flag.Int("instruments", 1, "simulated necks of each template at the bench, 3 at most: strings too high towards the bass, too much relief, a high fret")

// atTheBench are the files of a demo that inspects necks of every template, each with another fault. Every other template is swept.
func atTheBench(t *testing.T) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	all, specs := instruments(t)
	for i, tpl := range all {
		text := tpl.Text
		if i%2 == 1 {
			text = strings.Replace(text, `profile = "each fret"`, `profile = "sweep"`, 1)
		}
		files[tpl.Name+".toml"] = &fstest.MapFile{Data: []byte(text)}
		sc := simulate.Scenario{
			Batch: fmt.Sprintf("QM-27%02d", i+1), Spec: tpl.Name + ".toml", Necks: *necksOfEach, Seed: uint64(2700 + i), Note: tpl.Title, Model: modelOf(specs[i]),
			Scatter: simulate.Scatter{ReliefMM: 0.01, SideMM: 0.005, CrownMM: 0.003, SlotMM: 0.005, SaddleMM: 0.02, TwistDeg: 0.02, FallAwayMM: 0.01, Cents: 0.5, RodShare: 0.05},
		}
		for neck := range sc.Necks {
			name := []string{"bass strings higher", "too much relief", "fret 5 high"}[(i/2+neck)%3]
			f := faults()[slices.IndexFunc(faults(), func(f faulty) bool { return f.name == name })]
			p := f.plant(specs[i], sc.Model)
			p.Neck, p.What, p.Expect = neck+1, f.name, "rework"
			if f.step == inspect.StepRod && specs[i].Neck.Rod == "none" {
				p.Expect = "repair"
			}
			sc.Planted = append(sc.Planted, p)
		}
		truth, err := toml.Marshal(sc)
		if err != nil {
			t.Fatal(err)
		}
		files[sc.Batch+".truth.toml"] = &fstest.MapFile{Data: truth}
	}
	return files
}

// TestEveryInstrumentAtTheBench inspects necks of every template through pseudo-terminals, each fret by each fret or in sweeps: the first
// verdicts are those that were planted, doing what is advised takes every neck through, and each has its workbook and its pages.
func TestEveryInstrumentAtTheBench(t *testing.T) {
	opt := app.Options{Dir: t.TempDir(), Listen: "127.0.0.1:0", Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}
	d, err := open(t.Context(), opt, 1, atTheBench(t))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	if err := d.Unattended(t.Context(), io.Discard, io.Discard); err != nil {
		t.Fatal(err)
	}
	go func() { _ = d.Serve(t.Context()) }()
	attempts := 0
	for _, sc := range d.scenarios {
		rows, err := sc.Truth()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			first := firstVerdict(t, d, row.Serial)
			if string(first.Disposition) != row.Expect {
				t.Errorf("%s, %s (%s): %s, want %s: %s", sc.Note, row.Serial, row.What, first.Disposition, row.Expect, failing(first.Result))
			}
			neck, err := d.Record.Neck(t.Context(), row.Serial)
			if err != nil {
				t.Fatal(err)
			}
			inspections, err := d.Record.Inspections(t.Context(), neck.ID)
			if err != nil {
				t.Fatal(err)
			}
			attempts += len(inspections)
			last, err := d.Record.Verdicts(t.Context(), inspections[len(inspections)-1].ID)
			if err != nil || len(last) == 0 || !batch.Through(last[len(last)-1].Disposition) {
				t.Errorf("%s, %s (%s) is not through after %d attempts: %v", sc.Note, row.Serial, row.What, len(inspections), err)
			}
			page(t, d, "necks/"+row.Serial)
		}
		if info, err := os.Stat(filepath.Join(opt.Dir, sc.Batch+".xlsx")); err != nil || info.Size() == 0 {
			t.Errorf("%s: no workbook: %v", sc.Note, err)
		}
		b, err := d.Record.Batch(t.Context(), sc.Batch)
		if err != nil {
			t.Fatal(err)
		}
		if said := page(t, d, "specs/"+b.Spec.ID); !strings.Contains(said, sc.Note) {
			t.Errorf("%s: its specification's page does not name it", sc.Note)
		}
		page(t, d, "batches/"+sc.Batch)
	}
	t.Logf("%d kinds of instrument, %d inspections", len(d.scenarios), attempts)
}

// page gets a page of the station.
func page(t *testing.T, d *Station, path string) string {
	t.Helper()
	answer, err := http.Get(d.URL() + path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK {
		t.Errorf("%s: %s %v %.200s", path, answer.Status, err, text)
	}
	return string(text)
}
