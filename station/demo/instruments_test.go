package demo

import (
	"cmp"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/devices/simulate"
	"sagitta/inspect"
)

// instruments returns every template with its specification.
func instruments(t *testing.T) (all []instrument.Template, specs []*inspect.Spec) {
	t.Helper()
	all = instrument.Templates()
	for _, tpl := range all {
		spec, err := files.ReadSpec(tpl.Name+".toml", []byte(tpl.Text))
		if err != nil {
			t.Fatal(err)
		}
		specs = append(specs, spec)
	}
	return all, specs
}

// modelOf is the neck that a specification aims at: every value at its target, else in the middle of its limits.
func modelOf(spec *inspect.Spec) simulate.Model {
	aim := func(c inspect.Characteristic) float64 {
		lower, target, upper := spec.LimitFor(c).Bounds()
		if target != nil {
			return *target
		}
		return (*lower + *upper) / 2
	}
	n := &spec.Neck
	m := simulate.Model{
		Name: spec.Name, ScaleMM: n.Scale(), ScaleBassMM: n.ScaleBassMM, ScaleTrebleMM: n.ScaleTrebleMM, PerpendicularFret: n.Perpendicular(), Frets: n.Frets, JointFret: n.JointFret, ReliefFret: spec.Datum.ReliefFret,
		NutRadiusMM: n.NutRadiusMM, LastFretRadiusMM: n.LastFretRadiusMM, Rod: n.Rod,
		ReliefMM: aim(inspect.Characteristic{Name: inspect.Relief, Track: "bass"}), FallAwayMM: 0.1,
	}
	if n.MultiScale() {
		m.ScaleMM = 0
	} else {
		m.PerpendicularFret = 0
	}
	if n.Rod != "none" {
		m.RodMMPerTurn, m.RodEngagedTurns, m.RodSlackTurns, m.RodTravelTurns, m.RodLoosenTurns = 0.46, 2, 0.3, 3, 3
		if n.Kind == inspect.BassGuitar {
			m.RodMMPerTurn = 0.22 // stiff: 0.055 mm with a quarter turn
		}
	}
	for _, s := range spec.Strings {
		m.Strings = append(m.Strings, simulate.ModelString{
			Number: s.Number, YNutMM: s.YNutMM, YSaddleMM: s.YSaddleMM,
			NutHeightMM: aim(inspect.Characteristic{Name: inspect.NutHeight, String: s.Number}),
			ActionMM:    aim(inspect.Characteristic{Name: inspect.Action, String: s.Number, Fret: 12}),
		})
	}
	return m
}

// simulated is one neck of a model, with what was planted in it.
func simulated(t *testing.T, m simulate.Model, plant simulate.Planted) *simulate.Neck {
	t.Helper()
	plant.Neck, plant.What, plant.Expect = 1, "planted", "rework"
	sc := simulate.Scenario{Batch: "QM-2699", Spec: "template", Necks: 1, Seed: 7, Model: m, Planted: []simulate.Planted{plant}}
	n, err := sc.Make(1)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// truth is what gauges without error would read on a simulated neck.
func truth(t *testing.T, spec *inspect.Spec, n *simulate.Neck) *inspect.Readings {
	t.Helper()
	must := func(v float64, err error) float64 {
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	r := &inspect.Readings{Serial: n.Serial, Posture: "playing", PitchDeclared: true}
	for _, known := range spec.TracksOf() {
		if known.Name == "centre" {
			continue
		}
		track := inspect.TrackReading{Track: known.Name, YNutMM: known.YNutMM, YSaddleMM: known.YSaddleMM}
		for fret := 1; fret <= n.Frets; fret++ {
			z := n.CrownOn(simulate.Track{YNutMM: known.YNutMM, YSaddleMM: known.YSaddleMM}, fret)
			track.ZMM = append(track.ZMM, &z)
		}
		r.Profile = append(r.Profile, track)
	}
	for _, s := range spec.Strings {
		r.Action = append(r.Action, inspect.HeightReading{String: s.Number, Fret: 12, HeightMM: must(n.Action(s.Number, 12, 0))})
		r.NutHeight = append(r.NutHeight, inspect.HeightReading{String: s.Number, HeightMM: must(n.NutHeight(s.Number))})
	}
	return r
}

// faulty is what is planted in a neck of each kind, and what the first step of its advice must be.
type faulty struct {
	name  string
	plant func(spec *inspect.Spec, m simulate.Model) simulate.Planted
	step  string
}

func faults() []faulty {
	// strings so much beyond their action's limits, mm from the treble side to the bass side, and where they were over fret 1
	beyond := func(spec *inspect.Spec, treble, bass float64) (p simulate.Planted) {
		for i, s := range spec.Strings {
			lower, target, upper := spec.LimitFor(inspect.Characteristic{Name: inspect.Action, String: s.Number, Fret: 12}).Bounds()
			by := treble + (bass-treble)*float64(i)/float64(len(spec.Strings)-1)
			limit := *upper
			if by < 0 {
				limit = *lower
			}
			saddle := 2 * (limit - *target + by)
			over1 := 1 - math.Exp2(-1.0/12)
			p.Strings = append(p.Strings, simulate.PlantedString{Number: s.Number, SaddleMM: saddle, SlotMM: -saddle * over1 / (1 - over1)})
		}
		return p
	}
	return []faulty{
		{"too much relief", func(spec *inspect.Spec, m simulate.Model) simulate.Planted {
			_, _, upper := spec.LimitFor(inspect.Characteristic{Name: inspect.Relief, Track: "bass"}).Bounds()
			relief := *upper + 0.05
			return simulate.Planted{ReliefMM: &relief}
		}, inspect.StepRod},
		{"back-bow", func(*inspect.Spec, simulate.Model) simulate.Planted {
			relief := -0.06
			return simulate.Planted{ReliefMM: &relief}
		}, inspect.StepRod},
		{"all strings high", func(spec *inspect.Spec, _ simulate.Model) simulate.Planted { return beyond(spec, 0.1, 0.1) }, inspect.StepAction},
		{"bass strings higher", func(spec *inspect.Spec, _ simulate.Model) simulate.Planted { return beyond(spec, 0.05, 0.6) }, inspect.StepAction},
		{"all strings low", func(spec *inspect.Spec, _ simulate.Model) simulate.Planted { return beyond(spec, -0.05, -0.1) }, inspect.StepAction},
		{"string 2 high at the nut", func(_ *inspect.Spec, m simulate.Model) simulate.Planted {
			return simulate.Planted{Strings: []simulate.PlantedString{{Number: 2, SlotMM: 0.24}}}
		}, inspect.StepNut},
		{"fret 5 high", func(*inspect.Spec, simulate.Model) simulate.Planted {
			return simulate.Planted{Crowns: []simulate.PlantedCrown{{Fret: 5, BassMM: 0.09, TrebleMM: 0.09}}}
		}, inspect.StepLevel},
		{"hump", func(*inspect.Spec, simulate.Model) simulate.Planted { return simulate.Planted{HumpMM: 0.2} }, inspect.StepRepairer},
		{"twist", func(*inspect.Spec, simulate.Model) simulate.Planted {
			twist := 0.9
			return simulate.Planted{TwistDeg: &twist}
		}, inspect.StepRepairer},
	}
}

// TestEveryInstrumentAimsTrue: a neck that has every value of its template at its target passes, and no string of it buzzes.
func TestEveryInstrumentAimsTrue(t *testing.T) {
	all, specs := instruments(t)
	for i, tpl := range all {
		res, err := inspect.Evaluate(specs[i], truth(t, specs[i], simulated(t, modelOf(specs[i]), simulate.Planted{})), inspect.Options{})
		if err != nil {
			t.Fatalf("%s: %v", tpl.Name, err)
		}
		margin := math.Inf(1)
		for _, c := range res.Characteristics {
			if c.Name == inspect.ClearanceMargin {
				margin = min(margin, *c.Value)
			}
		}
		t.Logf("%s: %s, least clearance when plucked %.3f mm", tpl.Name, res.Disposition, margin)
		if !res.Conforms {
			t.Errorf("%s: %s: %s", tpl.Name, res.Disposition, res.Why)
		}
	}
}

// TestAdviceOfEveryInstrument: what is planted in a neck of each kind is told in the words of that instrument (testdata/advice-by-kind.txt;
// written anew with SAGITTA_UPDATE=1), and doing the first step to the simulated neck takes it where the step said, within its interval.
func TestAdviceOfEveryInstrument(t *testing.T) {
	var table strings.Builder
	all, specs := instruments(t)
	zero := *specs[0] // a zero fret instead of a nut, and a bridge that floats
	zero.Neck.ZeroFret, zero.Neck.Bridge = true, inspect.FloatingBridge
	all, specs = append(all, instrument.Template{Name: "zero-fret", Title: all[0].Title + ", with a zero fret and a floating bridge"}), append(specs, &zero)
	checked := map[string]int{}
	for i, tpl := range all {
		spec := specs[i]
		for _, f := range faults() {
			fmt.Fprintf(&table, "%s, %s\n", tpl.Title, f.name)
			n := simulated(t, modelOf(spec), f.plant(spec, modelOf(spec)))
			res, err := inspect.Evaluate(spec, truth(t, spec, n), inspect.Options{})
			if err != nil {
				t.Fatal(err)
			}
			fmt.Fprintf(&table, "  %s: %s\n", res.Disposition, res.Why)
			for _, a := range res.Advice {
				fmt.Fprintf(&table, "  %d. %s\n     %s.\n", a.Order, inspect.AdviceWords(spec, a), a.Why)
			}
			want := f.step
			if want == inspect.StepRod && spec.Neck.Rod == "none" {
				want = inspect.StepRepairer
			}
			if len(res.Advice) == 0 || res.Advice[0].What != want {
				t.Errorf("%s, %s: %s: the first step is not %s", tpl.Name, f.name, res.Why, want)
				continue
			}
			checked[res.Advice[0].What] += done(t, spec, n, res.Advice[0], tpl.Name+", "+f.name)
		}
	}
	t.Logf("predictions that came true, by step: %v", checked)
	const golden = "testdata/advice-by-kind.txt"
	if os.Getenv("SAGITTA_UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(table.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if table.String() != string(want) {
		t.Errorf("the advice is not that of %s: write it anew with SAGITTA_UPDATE=1 and read what changed", golden)
	}
}

// done does a step to a simulated neck and holds what it said against what the neck then is; how many values it held.
func done(t *testing.T, spec *inspect.Spec, n *simulate.Neck, a inspect.Advice, where string) (checked int) {
	t.Helper()
	act := batch.ReworkAction{What: a.What, Direction: a.Direction}
	if a.Turns != nil {
		act.Turns = *a.Turns
	}
	if err := rework(n, act, a); err != nil {
		t.Fatalf("%s: %v", where, err)
	}
	after, err := inspect.Evaluate(spec, truth(t, spec, n), inspect.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if relief, _ := inspect.MeanRelief(after); a.PredictedReliefMM != nil && (*relief < a.IntervalMM[0] || *relief > a.IntervalMM[1]) {
		t.Errorf("%s: mean relief %.3f, predicted %.3f (%.3f to %.3f)", where, *relief, *a.PredictedReliefMM, a.IntervalMM[0], a.IntervalMM[1])
	}
	if len(a.Predicted) == 0 {
		t.Errorf("%s: nothing predicted", where)
	}
	for _, p := range a.Predicted {
		for _, c := range after.Characteristics {
			if c.Name != p.Name || c.Track != p.Track || c.String != p.String || c.HeldFret != p.HeldFret || inspect.KindOf(c.Name).Fret && cmp.Or(c.Fret, 12) != cmp.Or(p.Fret, 12) {
				continue
			}
			if a.What == inspect.StepRepairer { // what the repair has to reach; how is the repairer's
				if p.ZoneBefore == inspect.Nonconforming && p.Zone == inspect.Conforming {
					checked++
					if c.Zone != inspect.Conforming {
						t.Errorf("%s: %s is %.3f after the repair, to be reached was %.3f", where, inspect.Words(spec, c), *c.Value, p.Value)
					}
				}
				continue
			}
			checked++
			if *c.Value < p.Interval[0] || *c.Value > p.Interval[1] {
				t.Errorf("%s: %s is %.3f, predicted %.3f (%.3f to %.3f)", where, inspect.Words(spec, c), *c.Value, p.Value, p.Interval[0], p.Interval[1])
			}
		}
	}
	return checked
}
