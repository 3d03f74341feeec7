// Package faults holds the proof that a record outlives what happens to the machine under it: power cuts, a disk that fails or
// is full, a station that is killed, bits that turn over. It has tests only. A child process does all kinds of work on a record
// and says what it was told is recorded; the tests hold what is found afterwards against that.
package faults

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/sampling"
	"sagitta/inspect"
	"sagitta/station/copies"
)

// How a child is told what to do.
const (
	childRecord = "FAULTS_CHILD"  // the record that it works on
	childRounds = "FAULTS_ROUNDS" // how many batches it takes through their whole life; none: it only opens and closes the record
	childCopy   = "FAULTS_COPY"   // instead, the copy that it brings back in the record's place
	childDays   = "FAULTS_DAYS"   // instead, for how many days it keeps copies of the record
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childRecord); path != "" {
		w := &worker{path: path, out: os.Stdout, ctx: context.Background()}
		rounds, err := strconv.Atoi(os.Getenv(childRounds))
		days, _ := strconv.Atoi(os.Getenv(childDays)) // none
		switch {
		case err != nil:
		case os.Getenv(childCopy) != "":
			w.restore(os.Getenv(childCopy))
		case days > 0:
			err = w.keep(days)
		default:
			err = w.run(rounds)
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// worker takes batches through their life and says on out, a line each: "state TABLES ACT" with what the record holds after it
// was opened and after each act that was acknowledged, "refused ACT: error", and "closed".
type worker struct {
	path  string
	out   io.Writer
	ctx   context.Context
	db    *record.DB
	round int
	told  bool // an act was refused
}

// act is one thing that is done to a record in one transaction.
type act struct {
	name string
	do   func() error
}

func (w *worker) run(rounds int) error {
	db, err := record.Open(w.path, record.Options{Station: "bench 1"})
	if err != nil {
		w.say("refused opening: %v", err)
		return nil
	}
	w.db = db
	if err := w.state("open"); err != nil {
		return errors.Join(err, db.Close())
	}
	batches, err := db.Batches(w.ctx)
	w.round = len(batches)
	for range rounds {
		if err != nil || w.told && rounds == 1 {
			break
		}
		w.round++
		err = w.batch()
	}
	if err != nil {
		w.say("refused reading: %v", err)
	}
	if err := db.Close(); err != nil {
		w.say("refused closing: %v", err)
		return nil
	}
	w.say("closed")
	return nil
}

func (w *worker) say(format string, args ...any) {
	_, _ = fmt.Fprintf(w.out, format+"\n", args...) // one write: the line is there or not
}

func (w *worker) state(name string) error {
	s, err := stateOf(w.path)
	if err != nil {
		w.say("refused reading after %s: %v", name, err)
		return nil
	}
	w.say("state %s %s", s, name)
	return nil
}

// batch carries a batch from its opening to its closing. What was refused is tried once more, and what rests on it is refused too.
func (w *worker) batch() error {
	for _, a := range w.acts() {
		for again := range 2 {
			err := a.do()
			if err == nil {
				if err := w.state(a.name); err != nil {
					return err
				}
				break
			}
			w.told = true
			w.say("refused %s, time %d: %v", a.name, again+1, err)
		}
	}
	return nil
}

// keep keeps what an act returned where the next ones find it.
func keep[T any](to *T, v T, err error) error {
	if err == nil {
		*to = v
	}
	return err
}

const (
	manager   = recordtest.Manager
	inspector = recordtest.Inspector
)

// acts are all kinds of work on a new batch, in order.
func (w *worker) acts() []act {
	ctx, db, name := w.ctx, w.db, func(n int) string { return fmt.Sprintf("QF-%04d-%04d", w.round, n) }
	number := fmt.Sprintf("QF-%04d", w.round)
	var (
		gauge   batch.Gauge
		spec    batch.SpecRevision
		b       batch.Batch
		necks   [3]batch.Neck
		ins     [4]batch.Inspection
		last    batch.Reading
		audit   batch.OutgoingAudit
		study   batch.GaugeStudy
		alarmed string
	)
	find := func(n int) func() error {
		return func() (err error) { necks[n], err = db.Neck(ctx, name(n+1)); return err }
	}
	start := func(n, of int) func() error {
		return func() error {
			if err := find(of)(); err != nil {
				return err
			}
			i, err := db.StartInspection(ctx, batch.Inspection{NeckID: necks[of].ID, Inspector: inspector, Posture: "playing"})
			return keep(&ins[n], i, err)
		}
	}
	crown := func(n, fret int, mm float64) batch.Reading {
		return batch.Reading{InspectionID: ins[n].ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: fret}, Value: mm, U: 0.005,
			By: inspector, GaugeID: gauge.ID, Raw: []byte("+0.012mm\r\n"), Sent: "+0.012", Unit: "mm", Decoded: mm}
	}
	read := func(n, fret int, mm float64) func() error {
		return func() error {
			r, err := db.AppendReading(ctx, crown(n, fret, mm))
			return keep(&last, r, err)
		}
	}
	sweep := func(n int) func() error {
		return func() error {
			var all []batch.Reading
			for fret := 1; fret <= 22; fret++ {
				r := crown(n, fret, 0.01*float64(fret))
				r.Raw = make([]byte, 300)
				all = append(all, r)
			}
			_, err := db.AppendReadings(ctx, all)
			return err
		}
	}
	verdict := func(n int, d inspect.Disposition, relief float64) func() error {
		return func() error {
			_, err := db.AppendVerdict(ctx, batch.Verdict{InspectionID: ins[n].ID, Result: recordtest.Result(ins[n].Serial, d, relief), Disposition: d})
			return err
		}
	}
	check := func(good bool) func() error {
		return func() error {
			_, err := db.AppendGaugeCheck(ctx, batch.GaugeCheck{GaugeID: gauge.ID, By: manager, Good: good, Why: "zero moved by +0.030 mm", After: batch.CheckDue})
			return err
		}
	}
	return []act{
		{"gauge", func() error {
			g, err := db.SaveGauge(ctx, manager, batch.Gauge{Name: "indicator " + number, Sense: 1, Measures: []batch.Kind{batch.Crown}})
			return keep(&gauge, g, err)
		}},
		{"specification", func() error {
			s, err := db.AddSpec(ctx, manager, "", number+".toml", []byte(strings.Replace(recordtest.Spec, "QM Bolt", number, 1))) // of an own model, so that no audit of it is open
			return keep(&spec, s, err)
		}},
		{"batch", func() error {
			o, err := db.OpenBatch(ctx, manager, batch.Batch{Number: number, Spec: spec, Planned: 3}, []string{name(1), name(2), name(3)})
			return keep(&b, o, err)
		}},
		{"passed check", check(true)},
		{"start", start(0, 0)},
		{"reading", read(0, 1, 0.02)}, {"reading", read(0, 2, 0.03)}, {"reading", read(0, 3, 0.04)},
		{"climate", func() error {
			return db.SetClimate(ctx, inspector, ins[0].ID, inspect.Climate{TemperatureC: new(20.5), HumidityPercent: new(45.0)})
		}},
		{"verdict", verdict(0, inspect.Rework, 0.5)},
		{"taking back", func() error {
			_, err := db.TakeBack(ctx, inspector, ins[0].ID, []batch.Reading{{InspectionID: ins[0].ID, Point: last.Point, Round: last.Round, By: inspector,
				Withdrawn: true, Supersedes: last.ID, Reason: "taken back"}})
			return err
		}},
		{"reading", read(0, 3, 0.05)},
		{"verdict", verdict(0, inspect.Rework, 0.5)},
		{"rework", func() error {
			_, err := db.AppendRework(ctx, batch.ReworkAction{NeckID: necks[0].ID, InspectionID: ins[0].ID, By: inspector, What: "truss rod", Turns: 0.25, Direction: "tighten"})
			return err
		}},
		{"log into the file", func() error { return db.Settle(ctx) }},
		{"second attempt", start(1, 0)},
		{"sweep", sweep(1)},
		{"verdict", verdict(1, inspect.Pass, 0.3)},
		{"start", start(2, 1)},
		{"reading", read(2, 1, 0.02)},
		{"verdict", verdict(2, inspect.Pass, 0.3)},
		{"failed check", check(false)},
		{"answer to doubt", func() error {
			var group []batch.NeckDoubts
			for _, n := range []int{0, 1} {
				if err := find(n)(); err != nil {
					return err
				}
				all, err := db.Doubts(ctx, batch.DoubtFilter{NeckID: necks[n].ID, Standing: true})
				if err != nil {
					return err
				}
				g := batch.NeckDoubts{NeckID: necks[n].ID}
				for i := range all {
					g.Doubts = append(g.Doubts, all[i].ID)
				}
				if len(all) > 0 {
					group = append(group, g)
				}
			}
			return db.ClearDoubts(ctx, manager, "seen by eye", group)
		}},
		{"alarm", func() error {
			_, err := db.RaiseAlarm(ctx, batch.Alarm{Kind: batch.SignalAlarm, Subject: "relief " + number, BatchID: b.ID, About: "relief", Serial: name(1), Seen: 2, Words: "relief moved.", LookAt: "the rods."})
			if err != nil {
				return err
			}
			all, err := db.BatchAlarms(ctx, b.ID)
			if err == nil && len(all) > 0 {
				alarmed = all[0].ID
			}
			return err
		}},
		{"acknowledgement", func() error { return db.AcknowledgeAlarm(ctx, manager, alarmed, "seen") }},
		{"study", func() error {
			s, err := db.StartStudy(ctx, manager, gauge.ID, batch.StudyPlan{Kind: batch.TypeOneStudy, About: "crown", Appraisers: []string{inspector}, Trials: 25, References: []float64{1}, ToleranceMM: 0.2})
			return keep(&study, s, err)
		}},
		{"end of the study", func() error { return db.EndStudy(ctx, manager, study.ID, batch.StudyGivenUp, "interrupted") }},
		{"certificate", func() error {
			_, err := db.AddCertificate(ctx, manager, batch.Certificate{GaugeID: gauge.ID, Number: number, Laboratory: "Harrow Lane", Issued: time.Date(2026, 10, 1, 0, 0, 0, 0, time.Local),
				Due: time.Date(2027, 10, 1, 0, 0, 0, 0, time.Local), U: 0.001, Found: batch.CalibrationState{Word: batch.WithinLimits}, Left: batch.CalibrationState{Word: batch.WithinLimits}}, nil)
			return err
		}},
		{"start", start(3, 2)},
		{"import", func() error {
			_, err := db.AppendStories(ctx, manager, batch.Import{BatchID: b.ID, Origin: batch.Imported, Source: "old.csv", SHA256: number}, w.stories(40))
			return err
		}},
		{"verdict", verdict(3, inspect.Pass, 0.3)},
		{"draw", func() error {
			a, err := db.DrawOutgoing(ctx, batch.OutgoingAudit{By: manager, BatchID: b.ID, AQL: 10, Level: "II", Severity: sampling.Normal})
			return keep(&audit, a, err)
		}},
		{"findings", func() error {
			var all []batch.OutgoingFinding
			for _, n := range audit.Necks {
				all = append(all, batch.OutgoingFinding{By: manager, AuditID: audit.ID, NeckID: n.NeckID, Conforms: true})
			}
			_, err := db.AppendOutgoingFindings(ctx, all...)
			return err
		}},
		{"signed audit", func() error {
			_, err := db.SignOutgoing(ctx, manager, audit.ID, false, false, "")
			return err
		}},
		{"note", func() error { _, err := db.AddNote(ctx, manager, "batch "+number+" is done"); return err }},
		{"backup", func() error { return db.Backup(ctx, filepath.Join(filepath.Dir(w.path), "copy-"+number+".db")) }},
		{"archive", func() error {
			_, err := copies.Write(ctx, db, filepath.Join(filepath.Dir(w.path), "copy-"+number+".zip"), copies.Making{Dir: filepath.Dir(w.path), Station: "bench 1", Program: "faults", Now: time.Now})
			return err
		}},
		{"closing of the batch", func() error { return db.CloseBatch(ctx, manager, number) }},
	}
}

// stories are necks that another system inspected.
func (w *worker) stories(n int) iter.Seq2[batch.Story, error] {
	return func(yield func(batch.Story, error) bool) {
		for i := range n {
			at := time.Date(2025, 3, 1, 8, i, 0, 0, time.UTC)
			serial := fmt.Sprintf("QF-%04d-%04d", w.round, 100+i)
			v := batch.Verdict{At: at, Result: recordtest.Result(serial, inspect.Pass, 0.3), Disposition: inspect.Pass}
			if !yield(batch.Story{Serial: serial, Attempts: []batch.StoryAttempt{{Inspector: inspector, StartedAt: at, Posture: "playing", Verdicts: []batch.Verdict{v}}}}, nil) {
				return
			}
		}
	}
}

// newRecord is a record with people in a folder of the test's own, closed.
func newRecord(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "record.db")
	db := recordtest.Must(record.Open(path, record.Options{Station: "bench 1"}))(t)
	for name, role := range map[string]batch.Role{manager: batch.QualityManager, inspector: batch.Inspector} {
		recordtest.Must(db.AddPerson(t.Context(), manager, name, role))(t)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}
