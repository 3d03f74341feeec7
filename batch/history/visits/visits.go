// Package visits invents the life of one instrument: four years of visits with what was planted in it, written into a record.
package visits

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/record"
	"sagitta/inspect"
)

// Serial is the invented instrument's serial number.
const Serial = "QM-FT-0107"

// Instrument is an invented instrument that comes to the shop for four years, in every season, with what was planted in it.
type Instrument struct {
	PerPercent float64 // mm of relief for each % RH of damper air
	PerN       float64 // mm of relief for each newton that its strings pull more

	stays  []stay
	random *rand.Rand
	spec   *inspect.Spec
	level  float64 // mm of relief in air of 47 % RH with the strings that it had at first, by the work done so far
	pulled float64 // N, of those
}

type climate struct{ temperature, humidity float64 }

// stay is a planned visit.
type stay struct {
	at     time.Time
	air    climate
	wishes string
	steps  []step // done one after another, each measured after
	result string
}

// step is a piece of work.
type step struct {
	what      string
	turns     float64 // of the rod, negative loosened
	strings   string  // the set that comes on
	nutString int
}

const (
	lifeYears   = 4
	lifeVisits  = 16
	perTurnMM   = 0.45  // relief that a turn of its rod takes away
	visitSpread = 0.012 // mm, of wood that has not caught up with the air
	beamU       = 0.006 // mm, of a beam read by eye to a hundredth
	light       = "acoustic, .012 to .053"
	heavy       = "acoustic, .013 to .056"
)

// New plans its life until end. The same seed gives the same life.
func New(end time.Time, seed uint64) (*Instrument, error) {
	all := instrument.Templates()
	at := slices.IndexFunc(all, func(t instrument.Template) bool { return t.Name == "steel-acoustic" })
	spec, err := files.ReadSpec(all[at].Name+".toml", []byte(all[at].Text))
	if err != nil {
		return nil, err
	}
	spec.Routine.Profile = "beam"
	spec.Pluck = nil
	told := []string{inspect.Relief, inspect.Action, inspect.NutHeight}
	spec.Limits = slices.DeleteFunc(spec.Limits, func(l inspect.Limit) bool { return !slices.Contains(told, l.Characteristic) })
	i := &Instrument{random: rand.New(rand.NewPCG(seed, 41)), spec: spec}
	i.PerPercent = math.Round(1e4*(0.0035+0.0015*i.random.Float64())) / 1e4
	if i.random.IntN(2) == 0 {
		i.PerPercent = -i.PerPercent
	}
	i.PerN = math.Round(1e5*(0.0008+0.0003*i.random.Float64())) / 1e5
	first := end.AddDate(-lifeYears, 0, 3)
	for v := range lifeVisits {
		at := first.AddDate(0, 3*v, i.random.IntN(20))
		s := stay{at: time.Date(at.Year(), at.Month(), at.Day(), 10, 15, 0, 0, at.Location())}
		season := math.Sin(2 * math.Pi * (float64(at.YearDay()) - 110) / 365) // damp in summer, dry in winter
		s.air = climate{temperature: math.Round(10*(21+1.5*season)) / 10, humidity: math.Round(47 + 11*season + 3*i.random.NormFloat64())}
		i.stays = append(i.stays, s)
	}
	i.plan(0, "easy on the hand, chords mostly", "plays as wished", step{what: inspect.StepRod, turns: 0.25})
	i.plan(3, "a burr at string 1, fret 9", "", step{what: inspect.StepNut, nutString: 1})
	i.plan(5, "louder, heavier strings", "heavier set on", step{what: inspect.WorkStrings, strings: heavy}, step{what: inspect.StepRod, turns: 0.125})
	i.plan(8, "", "", step{what: inspect.StepRod, turns: -0.0625})
	i.plan(10, "back to the lighter set", "lighter set on", step{what: inspect.WorkStrings, strings: light}, step{what: inspect.StepRod, turns: -0.125})
	i.plan(13, "buzz in the summer", "", step{what: inspect.StepPitch})
	return i, nil
}

func (i *Instrument) plan(visit int, wishes, result string, steps ...step) {
	i.stays[visit].wishes, i.stays[visit].result, i.stays[visit].steps = wishes, result, steps
}

// Began is when its first visit began.
func (i *Instrument) Began() time.Time { return i.stays[0].at }

// Truth says in sentences what was planted.
func (i *Instrument) Truth() []string {
	return []string{
		fmt.Sprintf("%s: relief moves by %+.4f mm for each %% of relative humidity, and by %+.5f mm for each newton that its strings pull more.", Serial, i.PerPercent, i.PerN),
		fmt.Sprintf("A turn of its rod takes away %.2f mm; its visits spread by %.3f mm beside that, and a measurement by %.3f mm.", perTurnMM, visitSpread, beamU),
	}
}

// Relief is its true relief at the end of what was written, mm, the mean of both sides, in some air.
func (i *Instrument) Relief(humidity float64) float64 {
	return i.level + i.PerPercent*(humidity-47) + i.PerN*(i.pull()-i.pulled)
}

func (i *Instrument) pull() float64 {
	pull, _ := i.spec.PullOf()
	return pull
}

// Write keeps its life in a record. clock is what the record takes for the present; by may do everything.
func (i *Instrument) Write(ctx context.Context, db *record.DB, by string, clock *time.Time) error {
	w := &lifeWriter{Instrument: i, ctx: ctx, db: db, by: by, clock: clock, nut: map[int]float64{}}
	i.level = 0.24
	if err := w.restring(light); err != nil {
		return err
	}
	w.pulled = w.pull()
	for _, s := range i.stays {
		*clock = s.at
		if err := w.visit(s); err != nil {
			return err
		}
	}
	return nil
}

// lifeWriter is the instrument as it is at the moment.
type lifeWriter struct {
	*Instrument
	ctx    context.Context
	db     *record.DB
	by     string
	clock  *time.Time
	set    string
	nut    map[int]float64
	spread float64 // of the visit
	on     batch.Visit
}

// restring puts a set's strings into the specification.
func (w *lifeWriter) restring(name string) error {
	sets := instrument.Sets()
	at := slices.IndexFunc(sets, func(s instrument.Set) bool { return s.Name == name })
	strung, ok := instrument.Restrung(sets[at], w.spec.Strings)
	if !ok {
		return fmt.Errorf("the set %q does not fit an instrument of %d strings", name, len(w.spec.Strings))
	}
	w.spec.Strings = strung
	w.set = name
	return nil
}

// visit keeps one visit.
func (w *lifeWriter) visit(s stay) (err error) {
	w.spread = visitSpread * w.random.NormFloat64()
	if w.on, err = w.db.OpenVisit(w.ctx, w.by, record.NewVisit{Serial: Serial, Kind: "steel-acoustic", MakerNumber: "107", Wishes: s.wishes, Strings: w.set, Spec: w.spec}); err != nil {
		return err
	}
	if w.on.Number == 1 {
		if err := w.db.SetOwner(w.ctx, w.by, Serial, batch.Owner{Name: "Hollis Brandreth", Contact: "invented"}); err != nil {
			return err
		}
	}
	last, err := w.measure(s.air)
	if err != nil {
		return err
	}
	for _, step := range s.steps {
		if err := w.work(step, last); err != nil {
			return err
		}
		if last, err = w.measure(s.air); err != nil {
			return err
		}
	}
	w.wait(10 * time.Minute)
	return w.db.EndVisit(w.ctx, w.by, Serial, s.result)
}

func (w *lifeWriter) wait(d time.Duration) { *w.clock = w.clock.Add(d) }

// work keeps a step and does it to the instrument.
func (w *lifeWriter) work(s step, after batch.Inspection) error {
	w.wait(25 * time.Minute)
	a := batch.ReworkAction{NeckID: w.on.Neck.ID, InspectionID: after.ID, At: *w.clock, By: w.by, What: s.what, String: s.nutString}
	switch s.what {
	case inspect.StepRod:
		a.Turns, a.Direction = math.Abs(s.turns), "tighten"
		if s.turns < 0 {
			a.Direction = "loosen"
		}
		w.level -= perTurnMM * s.turns
	case inspect.StepNut:
		w.nut[s.nutString] -= 0.03
	}
	if _, err := w.db.AppendRework(w.ctx, a); err != nil {
		return err
	}
	if s.strings == "" {
		return nil
	}
	if err := w.restring(s.strings); err != nil {
		return err
	}
	return w.db.FitStrings(w.ctx, w.by, batch.StringSet{Serial: Serial, Fitted: batch.DayOf(*w.clock), Name: w.set, Strings: w.spec.Strings})
}

// measure keeps one inspection with its readings and its verdict: a beam on each side with its feet on the datum frets, heights with a ruler.
func (w *lifeWriter) measure(air climate) (batch.Inspection, error) {
	w.wait(5 * time.Minute)
	in, err := w.db.StartInspection(w.ctx, batch.Inspection{NeckID: w.on.Neck.ID, Inspector: w.by, Posture: "playing",
		Climate: inspect.Climate{TemperatureC: &air.temperature, HumidityPercent: &air.humidity}})
	if err != nil {
		return in, err
	}
	spec := w.on.Batch.Spec.Spec
	rows, err := w.db.AppendReadings(w.ctx, w.readings(spec, in, air))
	if err != nil {
		return in, err
	}
	res, err := inspect.Evaluate(spec, batch.Assemble(spec, in, rows, nil), inspect.Options{})
	if err != nil {
		return in, err
	}
	w.wait(4 * time.Minute)
	_, err = w.db.AppendVerdict(w.ctx, batch.Verdict{InspectionID: in.ID, Result: res, Disposition: res.Disposition})
	return in, err
}

func (w *lifeWriter) readings(spec *inspect.Spec, in batch.Inspection, air climate) []batch.Reading {
	relief := w.Relief(air.humidity) + w.spread
	hundredth := func(v float64) float64 { return math.Round(100*v) / 100 }
	rows := []batch.Reading{{Point: batch.Point{Kind: batch.PitchDeclared}, Value: 1}}
	for _, side := range []struct {
		track string
		more  float64
	}{{"bass", 0.02}, {"treble", -0.02}} {
		t := spec.Fan().Track(spec, side.track)
		at := func(fret int) float64 { return t.At(fret) - t.Nut }
		d := spec.Datum
		rows = append(rows, batch.Reading{Point: batch.Point{Kind: batch.BeamReading, Track: side.track}, Value: hundredth(relief + side.more + beamU*w.random.NormFloat64()), U: beamU,
			FeetMM: [2]float64{at(d.FirstFret), at(d.SecondFret)}, PlungerMM: at(d.ReliefFret)})
	}
	for n := range spec.Strings {
		across := float64(n) / float64(len(spec.Strings)-1)
		height := 1.8 + 0.6*across + 1.9*(relief-0.2) // about what relief does to action over fret 12 (handbook, section 5)
		nut := 0.33 + 0.12*across + w.nut[n+1]
		rows = append(rows,
			batch.Reading{Point: batch.Point{Kind: batch.ActionHeight, String: n + 1, Fret: 12}, Value: hundredth(height + 0.02*w.random.NormFloat64()), U: batch.RulerU},
			batch.Reading{Point: batch.Point{Kind: batch.NutHeight, String: n + 1}, Value: hundredth(nut + 0.01*w.random.NormFloat64()), U: 0.01})
	}
	for i := range rows {
		rows[i].InspectionID, rows[i].By, rows[i].At = in.ID, w.by, *w.clock
	}
	return rows
}
