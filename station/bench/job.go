package bench

import (
	"context"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
)

// maxRounds is how often an undecided point is measured before a person decides: up to three readings are averaged.
const maxRounds = 3

// job is the neck on the bench. Everything but next can be rebuilt from the record: that is how an interrupted
// inspection is resumed where it was.
type job struct {
	spec       *inspect.Spec
	inspection batch.Inspection
	points     []PointLine
	readings   []batch.Reading   // all, in order, superseded ones included
	steps      []inspect.RodStep // this neck's turns of the rod, judged before this attempt
	turned     float64           // net turns of the rod before this attempt, alone or with other work, positive tightened
	turn       *inspect.RodStep  // the turn that this attempt judges, nil when none does; what it did is not known yet
	model      inspect.RodModel
	round      int
	asked      map[string]bool // keys asked for in this round
	chosen     string          // key asked for out of turn, "" when none
	result     *inspect.Result // of the readings so far
	measured   *inspect.Readings
	verdict    *batch.Verdict
	rework     []batch.ReworkAction // since the verdict
	swept      *Swept               // newest pass of the carriage since the bench took the neck up
	doubted    map[string]bool      // IDs of readings in doubt
	holds      *batch.OutgoingFinding
}

// standing returns the newest reading of each point and round that stands.
func standing(readings []batch.Reading) map[string]map[int]*batch.Reading {
	byPoint := map[string]map[int]*batch.Reading{}
	for _, r := range batch.Standing(readings) {
		key := Key(r.Point)
		if byPoint[key] == nil {
			byPoint[key] = map[int]*batch.Reading{}
		}
		byPoint[key][r.Round] = &r
	}
	return byPoint
}

// upTo returns the readings of the rounds up to n.
func upTo(readings []batch.Reading, n int) []batch.Reading {
	var some []batch.Reading
	for _, r := range readings {
		if r.Round <= n {
			some = append(some, r)
		}
	}
	return some
}

// evaluate judges the readings given; a routine with nothing measured yet gives nil.
func (j *job) evaluate(readings []batch.Reading) (*inspect.Readings, *inspect.Result, error) {
	in := batch.Assemble(j.spec, j.inspection, readings, j.steps)
	in.RodTurned = &j.turned
	res, err := inspect.Evaluate(j.spec, in, inspect.Options{Rod: j.model})
	if err != nil || j.turn == nil {
		return in, res, err
	}
	mean, u := inspect.MeanRelief(res)
	if mean == nil {
		return in, res, nil
	}
	// What the turn did is part of this neck's history now: it teaches the advice, and may stop it.
	step, fall := *j.turn, math.Hypot(*j.turn.UMM, u)
	step.ReliefAfterMM, step.UMM = *mean, &fall
	in.RodSteps = append(slices.Clone(j.steps), step)
	res, err = inspect.Evaluate(j.spec, in, inspect.Options{Rod: j.model})
	return in, res, err
}

// replay works out from the readings alone which round the routine is in, which points it asks for and whether it is
// complete. An undecided result opens another round for the points it rests on, up to maxRounds.
func (j *job) replay() error {
	j.round = 1
	j.asked = map[string]bool{}
	for _, p := range j.points {
		j.asked[p.Key] = true
	}
	have := standing(j.readings)
	for i := range j.points {
		p := &j.points[i]
		p.Taken, p.Skipped, p.Value, p.InDoubt = false, false, 0, false
		n := 0
		for _, r := range have[p.Key] {
			p.InDoubt = p.InDoubt || j.doubted[r.ID]
			if r.Withdrawn {
				p.Skipped = true
				continue
			}
			p.Value += r.Value
			n++
		}
		if n > 0 {
			p.Value /= float64(n)
			p.Taken, p.Skipped = true, false
		}
	}
	var err error
	for {
		if j.waiting() >= 0 {
			break
		}
		var res *inspect.Result
		if _, res, err = j.evaluate(upTo(j.readings, j.round)); err != nil {
			return err
		}
		again := j.undecided(res)
		if res.Disposition != inspect.Remeasure || j.round == maxRounds || len(again) == 0 {
			break
		}
		j.round++
		j.asked = again
	}
	j.measured, j.result, err = j.evaluate(j.readings)
	return err
}

// pending returns the index of the first point that this round asks for and has not got, -1 when it is complete.
func (j *job) pending(have map[string]map[int]*batch.Reading) int {
	for i, p := range j.points {
		if j.asked[p.Key] && have[p.Key][j.round] == nil {
			return i
		}
	}
	return -1
}

// undecided returns the points that rest under an undecided characteristic and can be read again.
func (j *job) undecided(res *inspect.Result) map[string]bool {
	keys := map[string]bool{}
	for _, c := range res.Characteristics {
		if c.Zone != inspect.Undecided {
			continue
		}
		for _, ref := range inspect.Involved(j.spec, c) {
			keys[Key(batch.PointOf(ref))] = true
		}
	}
	again := map[string]bool{}
	have := standing(j.readings)
	for _, p := range j.points {
		if !keys[p.Key] || p.Point.Kind == batch.PitchDeclared {
			continue
		}
		for _, r := range have[p.Key] {
			if !r.Withdrawn {
				again[p.Key] = true
			}
		}
	}
	return again
}

// next is the index of the point asked for, -1 when none is.
func (j *job) next() int {
	if j.chosen != "" {
		for i, p := range j.points {
			if p.Key == j.chosen {
				return i
			}
		}
	}
	if j.verdict != nil {
		return -1
	}
	return j.waiting()
}

// colour gives every point the state of the characteristics that rest on it alone.
func (j *job) colour() {
	zones := map[string]inspect.Zone{}
	if j.result != nil {
		for _, c := range j.result.Characteristics {
			key := ownPoint(c)
			if key != "" && c.Zone.Rank() > zones[key].Rank() {
				zones[key] = c.Zone
			}
		}
	}
	for i := range j.points {
		j.points[i].Zone = inspect.NoLimit
		if z, ok := zones[j.points[i].Key]; ok {
			j.points[i].Zone = z
		}
	}
}

// ownPoint is the key of the one point that decides a characteristic, "" where several do.
func ownPoint(c inspect.Characteristic) string {
	switch c.Name {
	case "rocker", "level_deviation":
		return Key(batch.Point{Kind: batch.Crown, Track: c.Track, Fret: c.Fret})
	case "action":
		return Key(batch.Point{Kind: batch.ActionHeight, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret})
	case "nut_height":
		return Key(batch.Point{Kind: batch.NutHeight, String: c.String})
	case "pitch":
		return Key(batch.Point{Kind: batch.Pitch, String: c.String})
	case "relief":
		if c.Method == "beam" {
			return Key(batch.Point{Kind: batch.BeamReading, Track: c.Track, Fret: c.Fret})
		}
	}
	return ""
}

// load rebuilds the job of an inspection from the record.
func (b *Bench) load(ctx context.Context, in batch.Inspection) (*job, error) {
	bt := b.batch
	if bt == nil || bt.ID != in.BatchID {
		found, err := b.rec.Batch(ctx, in.BatchNumber)
		if err != nil {
			return nil, err
		}
		bt = &found
	}
	j := &job{spec: bt.Spec.Spec.WithDefaults(), inspection: in}
	j.points = Points(j.spec, b.gauges)
	var err error
	if j.readings, err = b.rec.Readings(ctx, in.ID); err != nil {
		return nil, err
	}
	if j.verdict, err = b.rec.LatestVerdict(ctx, in.ID); err != nil {
		return nil, err
	}
	if n := len(j.readings); j.verdict != nil && n > 0 && j.readings[n-1].Seq > j.verdict.LastSeq {
		j.verdict = nil // readings came, or were taken back, after it
	}
	if j.verdict != nil && !in.Counts(j.verdict.Disposition) {
		j.verdict = nil // opened again to take a reading back, which then did not happen: it is concluded anew
	}
	if j.steps, err = b.rec.RodSteps(ctx, in.NeckID, in.Attempt); err != nil {
		return nil, err
	}
	if j.turn, j.turned, err = b.turnBefore(ctx, in); err != nil {
		return nil, err
	}
	pairs, err := b.rec.RodModel(ctx, bt.Spec.Name, in.NeckID)
	if err != nil {
		return nil, err
	}
	j.model = inspect.LearnRod(pairs)
	if err := b.readDoubt(ctx, j); err != nil {
		return nil, err
	}
	if err := j.replay(); err != nil {
		return nil, err
	}
	if b.job != nil && b.job.inspection.NeckID != in.NeckID {
		b.remember()
	}
	b.batch, b.job = bt, j
	if j.verdict == nil && j.waiting() < 0 && len(j.readings) > 0 {
		err = b.conclude(ctx)
	}
	return j, err
}

// turnBefore returns the turn of the rod that an inspection judges: the only work, pitch apart, recorded against the
// verdict before it. Its UMM is that of the relief before. Nil when there is none. net is the sum of all turns recorded
// against earlier verdicts, positive tightened.
func (b *Bench) turnBefore(ctx context.Context, in batch.Inspection) (turn *inspect.RodStep, net float64, err error) {
	attempts, err := b.rec.Inspections(ctx, in.NeckID)
	if err != nil {
		return nil, 0, err
	}
	before, earlier := "", map[string]bool{}
	for _, a := range attempts {
		if a.Attempt >= in.Attempt {
			continue
		}
		earlier[a.ID] = true
		if a.State == batch.Finished {
			before = a.ID
		}
	}
	done, err := b.rec.Rework(ctx, in.NeckID)
	if err != nil {
		return nil, 0, err
	}
	alone := true
	for _, a := range done {
		if a.What == "truss rod" && earlier[a.InspectionID] {
			if a.Direction == "loosen" {
				net -= a.Turns
			} else {
				net += a.Turns
			}
		}
		if a.InspectionID != before || a.What == "pitch" {
			continue
		}
		alone = alone && turn == nil && a.What == "truss rod" && a.ReliefBefore != nil
		if alone {
			turn = &inspect.RodStep{Turns: a.Turns, Direction: a.Direction, ReliefBeforeMM: *a.ReliefBefore, UMM: &a.ReliefBeforeU}
		}
	}
	if !alone {
		turn = nil
	}
	return turn, net, nil
}

// conclude records the verdict on a complete routine.
func (b *Bench) conclude(ctx context.Context) error {
	j := b.job
	v, err := b.rec.AppendVerdict(ctx, batch.Verdict{
		InspectionID: j.inspection.ID, Result: j.result, Disposition: j.result.Disposition,
	})
	if err != nil {
		return err
	}
	j.verdict = &v
	j.chosen = ""
	if v.Disposition != inspect.Remeasure {
		j.inspection.State = batch.Finished
	}
	return b.recount(ctx)
}
