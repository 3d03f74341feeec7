package sheet

import (
	"context"
	"slices"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Record is what a sheet asks of the record.
type Record interface {
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	Batch(ctx context.Context, number string) (batch.Batch, error)
	Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error)
	Readings(ctx context.Context, inspectionID string) ([]batch.Reading, error)
	Verdicts(ctx context.Context, inspectionID string) ([]batch.Verdict, error)
	Rework(ctx context.Context, neckID string) ([]batch.ReworkAction, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	NewestCheckpoint(ctx context.Context) (*anchor.Checkpoint, error)
	Instrument(ctx context.Context, serial string) (batch.Instrument, error) // batch.Absent where none is entered
	Visits(ctx context.Context, serial string) ([]batch.Visit, error)        // and a factory's inspections, oldest first
	StringSets(ctx context.Context, serial string) ([]batch.StringSet, error)
	Photographs(ctx context.Context, serial string) ([]batch.Photograph, error)
}

// Sheet is what is printed, whatever it is printed as.
type Sheet struct {
	*Template
	Serial string
	Date   time.Time          // of what was measured last, else of the instrument's registration
	Facts  []Pair             // of the instrument, that nobody measured
	Parts  []Part             // in the template's order; what the record does not have is not among them
	Short  []string           // the set-up in a few lines, for a label
	Anchor *anchor.Checkpoint // the record's newest, in small print; nil where none is signed
}

// Pair is a name with what it is.
type Pair struct{ Name, Is string }

// Part is a block of the sheet.
type Part struct {
	Title string
	Wide  bool // over the whole page
	Draw  func(width float64) *Drawing
	Table *Table
	Photo *Photo
	Pairs []Pair
	Lines []string
	Small []string // remarks
	Sign  []string // lines to be written on, by their names
}

// Photo is a picture with its size in pixels.
type Photo struct {
	JPEG       []byte
	Wide, High int
}

// Table has a head and rows; the first column is a name, the others are numbers.
type Table struct {
	Head []string
	Rows [][]string
}

// state is an inspection with what counts of it.
type state struct {
	batch.Inspection
	at     time.Time
	result *inspect.Result // nil: nothing was measured
}

// gathered is everything of the record that the sheet is made of.
type gathered struct {
	*Template
	spec   *inspect.Spec
	states []state // with values, oldest first
	now    *state  // the newest of them, nil without one
	work   []batch.ReworkAction
	doubts []batch.Doubt
	hidden bool // something was left out because it is in doubt

	instrument   batch.Instrument
	visit        batch.Visit // the zero value of a factory's neck
	set          string      // the name of its strings, "" where nobody said
	photo        *Photo
	turnedBefore float64   // of the rod, in visits before, positive tightened
	earlier      *gathered // the newest visit before, or a factory's inspection, in which the neck was measured; nil for none
}

// Of makes the sheet of a serial number. Only what counts is on it: nothing that was taken back, that is in doubt, or that an inspection that was given up measured.
func Of(ctx context.Context, rec Record, t *Template, serial string) (*Sheet, error) {
	neck, err := rec.Neck(ctx, serial)
	if err != nil {
		return nil, err
	}
	b, err := rec.Batch(ctx, neck.BatchNumber)
	if err != nil {
		return nil, err
	}
	g, err := gather(ctx, rec, t, neck.ID, b)
	if err != nil {
		return nil, err
	}
	if err := g.lived(ctx, rec, neck); err != nil {
		return nil, err
	}
	s := &Sheet{Template: t, Serial: neck.Serial, Date: neck.RegisteredAt}
	if g.now != nil {
		s.Date = g.now.at
	}
	s.Facts = g.facts(s.Date)
	parts := map[string]func() *Part{"neck": g.neck, "strings": g.strings, "relief": g.relief, "heights": g.heights, "rod": g.rod,
		"climate": g.climate, "wishes": g.wishes, "work": g.done, "photograph": g.photograph, "advice": g.advice, "signature": g.signature}
	remarks := -1
	for _, name := range t.Blocks {
		if p := parts[name](); p != nil {
			if name == blockStrings || name == blockRelief {
				remarks = len(s.Parts)
			}
			s.Parts = append(s.Parts, *p)
		}
	}
	if remarks >= 0 {
		s.Parts[remarks].Small = append(s.Parts[remarks].Small, g.remarks()...)
	}
	s.Short = g.short(s.Serial)
	s.Anchor, err = rec.NewestCheckpoint(ctx)
	return s, err
}

// gather reads what a neck of a batch is told by: its inspections, its work, and what of it is in doubt.
func gather(ctx context.Context, rec Record, t *Template, neckID string, b batch.Batch) (g *gathered, err error) {
	g = &gathered{Template: t, spec: b.Spec.Spec.WithDefaults()}
	if err := g.measured(ctx, rec, neckID); err != nil {
		return nil, err
	}
	if g.work, err = rec.Rework(ctx, neckID); err != nil {
		return nil, err
	}
	g.doubts, err = rec.Doubts(ctx, batch.DoubtFilter{NeckID: neckID, Standing: true})
	return g, err
}

// measured reads the inspections that count. One without a verdict that stands is worked out from the readings that stand.
func (g *gathered) measured(ctx context.Context, rec Record, neckID string) error {
	all, err := rec.Inspections(ctx, neckID)
	if err != nil {
		return err
	}
	slices.SortFunc(all, func(a, b batch.Inspection) int { return a.Attempt - b.Attempt })
	for _, in := range all {
		if in.State == batch.Abandoned {
			continue
		}
		verdicts, err := rec.Verdicts(ctx, in.ID)
		if err != nil {
			return err
		}
		slices.SortStableFunc(verdicts, func(a, b batch.Verdict) int { return a.At.Compare(b.At) })
		st := state{Inspection: in, at: in.StartedAt}
		if n := len(verdicts); n > 0 && in.Counts(verdicts[n-1].Disposition) && verdicts[n-1].Result != nil {
			st.at, st.result = verdicts[n-1].At, verdicts[n-1].Result
		} else {
			readings, err := rec.Readings(ctx, in.ID)
			if err != nil {
				return err
			}
			if st.result, err = inspect.Evaluate(g.spec, batch.Assemble(g.spec, in, readings, nil), inspect.Options{}); err != nil {
				return err
			}
		}
		if slices.ContainsFunc(st.result.Characteristics, func(c inspect.Characteristic) bool { return c.Value != nil }) {
			g.states = append(g.states, st)
		}
	}
	if n := len(g.states); n > 0 {
		g.now = &g.states[n-1]
	}
	return nil
}

// doubtful says that a value of an inspection is in doubt.
func (g *gathered) doubtful(st *state, c inspect.Characteristic) bool {
	attempt := st.Attempt
	if c.CarriedFrom != nil {
		attempt = c.CarriedFrom.Attempt
	}
	return slices.ContainsFunc(g.doubts, func(d batch.Doubt) bool {
		return d.Attempt == attempt && (len(d.Points) == 0 || batch.RestsOn(g.spec, c, d.Points))
	})
}

// find is a measured value of now that may be printed, nil where there is none.
func (g *gathered) find(pick func(c *inspect.Characteristic) bool) *inspect.Characteristic {
	if g.now == nil {
		return nil
	}
	for i := range g.now.result.Characteristics {
		c := &g.now.result.Characteristics[i]
		if c.Value == nil && c.IntervalMM == nil || !pick(c) {
			continue
		}
		if !g.doubtful(g.now, *c) {
			return c
		}
		g.hidden = true
	}
	return nil
}

// written is a value in a unit to the step of its readings, without its unit.
func (g *gathered) written(c *inspect.Characteristic, in unit.Unit) string {
	if c == nil {
		return ""
	}
	if c.IntervalMM != nil && (c.IntervalMM[0] != nil || c.IntervalMM[1] != nil) {
		return tell.LeafInterval(*c.IntervalMM, in)
	}
	return g.rounded(c, in).Value(*c.Value, inspect.KindOf(c.Name).Signed)
}

// rounded leaves the limits out, how near they are being nothing to a player, and writes no finer than a hand sets a neck up.
func (g *gathered) rounded(c *inspect.Characteristic, in unit.Unit) inspect.Rounding {
	free := *c
	free.Lower, free.Target, free.Upper = nil, nil, nil
	r := free.Rounded(g.spec.Uncertainty.ResolutionMM, in.MM())
	switch {
	case c.Unit != "mm":
	case in == unit.Inch:
		r.Digits = min(r.Digits, 3)
	default:
		r.Digits = min(r.Digits, 2)
	}
	return r
}

// uncertain is the expanded uncertainty of a value in mm, "" where it has none.
func (g *gathered) uncertain(c *inspect.Characteristic) string {
	if c == nil || c.U == nil || *c.U == 0 || c.IntervalMM != nil {
		return ""
	}
	digits := 2
	if 2**c.U < 0.0095 {
		digits = 3
	}
	return " ± " + inspect.Number(2**c.U, digits, false)
}

// facts are what the instrument is.
func (g *gathered) facts(at time.Time) []Pair {
	n := &g.spec.Neck
	scale := tell.Both(n.Scale())
	if n.MultiScale() {
		scale = tell.Both(n.ScaleBassMM) + " / " + tell.Both(n.ScaleTrebleMM)
	}
	what := Pair{g.Words.Model, g.model()}
	if g.visit.Number > 0 {
		what.Name = g.Words.Instrument
	}
	if g.now != nil && g.now.Handed == "left" {
		what.Is += ", " + g.Words.LeftHanded
	}
	var facts []Pair
	if owner := g.instrument.Owner.Name; owner != "" {
		facts = append(facts, Pair{g.Words.Owner, owner})
	}
	facts = append(facts, what)
	if number := g.instrument.MakerNumber; number != "" {
		facts = append(facts, Pair{g.Words.Number, number})
	}
	facts = append(facts, Pair{g.Words.Scale, scale}, Pair{g.Words.Frets, strconv.Itoa(n.Frets)})
	if n.NutRadiusMM > 0 {
		radius := tell.Both(n.NutRadiusMM)
		if n.LastFretRadiusMM != n.NutRadiusMM && n.LastFretRadiusMM > 0 {
			radius += " – " + tell.Both(n.LastFretRadiusMM)
		}
		facts = append(facts, Pair{g.Words.Radius, radius})
	}
	if g.now != nil {
		facts = append(facts, Pair{g.Words.Measured, tell.Day(at)})
	}
	return facts
}

// remarks say what is to be known of the figures.
func (g *gathered) remarks() []string {
	if g.now == nil {
		return nil
	}
	words := []string{g.Words.Uncertain}
	if n := len(g.work); n > 0 && g.work[n-1].At.After(g.now.at) {
		words = append(words, g.Words.Since)
	}
	var carried []string
	var at time.Time
	for i := range g.now.result.Characteristics {
		c := &g.now.result.Characteristics[i]
		if name := inspect.Name(c.Name); c.CarriedFrom != nil && c.Value != nil && !slices.Contains(carried, name) && printed(c.Name) && !g.doubtful(g.now, *c) {
			carried, at = append(carried, name), c.CarriedFrom.At
		}
	}
	if len(carried) > 0 {
		words = append(words, tell.SheetPlace(g.Words.Earlier, "what", tell.List(carried), "date", tell.Day(at)))
	}
	if g.hidden {
		words = append(words, g.Words.Doubtful)
	}
	return words
}

// Blocks under which remarks on values stand.
const (
	blockStrings = "strings"
	blockRelief  = inspect.Relief // called as what it shows
)

// printed are the characteristics that a sheet has.
func printed(name string) bool {
	return inspect.KindOf(name).ForPlayer
}
