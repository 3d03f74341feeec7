package bench

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/url"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/sweep"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/draw"
	"sagitta/station/web/show"
)

// benchView is the bench page's data: a snapshot put in words, numbers and drawings.
type benchView struct {
	*bench.Snapshot
	Unit    unit.Unit
	Spec    *inspect.Spec
	Board   template.HTML
	Profile template.HTML

	Asked      string // the point asked for, in words
	AskedOf    string // its gauge, or how to enter it
	Handed     string // "left", or "" for right
	Declare    bool   // it is confirmed, not measured
	Typed      bool
	TypedHint  string        // how a typed value is written
	TypedMore  string        // the rest of that, which a small screen leaves to the page of help
	ByHand     template.HTML // how it is held, where it is measured by eye
	Taps       []tapButton
	Sweeping   *sweepView
	LastPass   *sweptView
	Reading    string // the live reading, its sign always shown
	Number     *number
	Near       string // part of the board's drawing around the point asked for, where the whole is too small: x, y and width in its units
	Tall       int    // height of board and profile together in the drawings' units, so that both keep one scale
	Progress   string
	ProgressOf string // what its numbers are of, "" where they say so

	Troubles     []trouble // of gauges, then alarms
	MoreTroubles string    // how many beside the first, "" for none
	Well         []string  // the other gauges

	Rows        []benchRow // characteristics, worst margin first
	Hidden      int        // conforming values at single frets that are not listed
	Front       []benchRow // relief, then the worst margins
	Unlisted    int        // rows that are not in Front
	Ordered     []benchRow // one for each characteristic, its worst, in the specification's order; relief first, each side
	Word        string     // the verdict in one word
	Why         string
	Takt        int    // s that a neck may take, 0 where nobody set it
	AfterTurn   string // what a turn of the rod has asked for and what not, "" where none does
	Carried     string // that the attempt carries the rest over, "" where it carries nothing
	Handbook    string // the same in the handbook's names, "" where they are those
	Steps       []show.StepView
	StepPicture template.HTML // of the first step

	Me      string // who is signed on in this window, "" for nobody
	Others  string // windows of the same bench that are open too, "" for none
	LastKey string // in which of them the last key was pressed
	Run     string // of the station

	Batches []batch.BatchRow // to choose from, where no batch is open
	People  []batch.Person
	Waits   []show.WaitGroup
	Notes   []batch.ShiftNote // left for whoever is at the bench now, the newest first
	Keys    []key

	now time.Time
}

// benchRow is one characteristic at the side.
type benchRow struct {
	Of                           string // its name in the catalogue
	Name, Short                  string // the handbook's, with its datum; as whoever holds the neck would say it
	Value, U, Unit, Limits, Zone string
	Bar                          template.HTML
	Doubt                        bool   // it rests on readings in doubt
	Carried                      string // where it is from, where it was carried over
	From                         string // when that was, in few words
	Nearest                      bool   // of all values that conform this is the nearest to a limit
}

// What of the notes for the next shift stands on the bench while it waits for a neck.
const (
	mostNotes = 2
	noteHolds = 24 * time.Hour // the shift after that has others
)

// HelpPath is the page that explains what is asked for, else the list of all.
func (v *benchView) HelpPath() string {
	switch {
	case v.Check != nil:
		return show.HelpPath(show.HelpOnCheck)
	case v.Sweeping != nil:
		return show.HelpPath(show.HelpOnSweep)
	case v.Next >= 0 && v.Next < len(v.Points):
		return show.HelpPath(show.HelpOnReading(v.Points[v.Next].Point.Kind))
	}
	return "/help"
}

// benchView makes the page's data of a snapshot.
func (s *server) benchView(ctx context.Context, snap *bench.Snapshot, lengths unit.Unit, me string) (*benchView, error) {
	v := &benchView{Snapshot: snap, Run: s.run, Unit: lengths, Keys: keysOf(snap), Me: me, now: s.opt.Now()}
	if !v.Mine() {
		v.Keys = handKeys(v.Keys)
	}
	v.troubles()
	var err error
	if snap.Stage == bench.NoBatch {
		if v.Batches, err = s.opt.Record.Batches(ctx); err != nil {
			return nil, err
		}
		v.Batches = slices.DeleteFunc(v.Batches, func(b batch.BatchRow) bool { return !b.ClosedAt.IsZero() })
	}
	if snap.SignsOn || snap.Inspector == "" || snap.Stage == bench.Idle || snap.Stage == bench.PersonDecides || snap.Stage == bench.Decided {
		if v.People, err = s.opt.Record.People(ctx); err != nil {
			return nil, err
		}
		v.People = slices.DeleteFunc(v.People, func(p batch.Person) bool { return !p.May(batch.Measure) })
	}
	if snap.Stage == bench.Idle {
		if v.Notes, err = s.opt.Record.Notes(ctx, mostNotes); err != nil {
			return nil, err
		}
		v.Notes = slices.DeleteFunc(v.Notes, func(n batch.ShiftNote) bool { return v.now.Sub(n.At) > noteHolds })
	}
	v.Waits = s.waits(snap)
	if snap.Check != nil && snap.Live.Has && snap.Live.GaugeID == snap.Check.GaugeID {
		v.Reading = reading(snap.Live.MM, lengths)
	}
	if snap.Study != nil && snap.Live.Has && snap.Live.GaugeID == snap.Study.GaugeID {
		v.Reading = reading(snap.Live.MM, lengths)
	}
	if snap.Batch == nil {
		v.Number = v.front()
		return v, nil
	}
	v.Spec = snap.Batch.Spec.Spec.WithDefaults()
	if snap.Inspection != nil {
		v.Handed = snap.Inspection.Handed
	}
	if snap.Inspection != nil && snap.Check == nil && snap.Study == nil {
		v.Board = draw.Board(v.Spec, snap.Points, snap.Next, lengths, v.Handed)
		v.Profile = draw.Profile(v.Spec, snap.Readings, snap.Result, lengths)
		v.Near, v.Tall = draw.Near(v.Spec, snap.Points, snap.Next), draw.Tall(v.Spec)
	}
	if takt := v.Spec.Routine.TaktS; takt != nil {
		v.Takt = int(math.Round(*takt))
	}
	v.AfterTurn = afterTurn(snap)
	v.Carried = tell.RestCarried(snap.Carried, v.now)
	v.live()
	v.characteristics()
	v.verdict()
	v.Number = v.front()
	return v, nil
}

// live fills what is asked for and the live reading.
func (v *benchView) live() {
	v.Progress = fmt.Sprintf("%d of %d points", v.Done, v.Of)
	if len(v.Following) > 0 {
		v.ProgressOf = ", then the strings"
	}
	if v.Round > 1 {
		v.Progress, v.ProgressOf = fmt.Sprintf("round %d of 3", v.Round), " of what is undecided"
	}
	if v.Next < 0 {
		return
	}
	p := v.Points[v.Next]
	v.Asked = tell.Upper(p.Words)
	v.Declare = p.Point.Kind == batch.PitchDeclared
	v.askedOf(p)
	v.swept()
	if v.Check == nil && v.Live.Has && v.Live.GaugeID == p.GaugeID {
		v.Reading = reading(v.Live.MM, v.Unit)
	}
}

// reading writes the live number with its sign, in a width that does not change.
func reading(mm float64, lengths unit.Unit) string {
	sign, n := "+", mm
	if n < 0 {
		sign, n = "−", -n
	}
	if lengths == unit.Inch {
		return fmt.Sprintf("%s%.4f", sign, unit.Inch.From(n))
	}
	return fmt.Sprintf("%s%.3f", sign, n)
}

// row puts one characteristic in words and a bar; largest is the greatest |value| among the rows of its name.
func (v *benchView) row(c inspect.Characteristic, largest float64) benchRow {
	in := c.Unit
	if in == "mm" {
		in = v.Unit.String()
	}
	r := benchRow{Of: c.Name, Name: inspect.Words(v.Spec, c), Short: tell.Worker(c), Zone: string(c.Zone), Carried: tell.CarriedFrom(c, v.now), From: tell.StillTrue(c, v.now)}
	shown := show.Rounded(v.Spec, &c, v.Unit)
	if c.Value != nil {
		r.Value = shown.Value(*c.Value, inspect.KindOf(c.Name).Signed)
		u := 0.0
		if c.U != nil {
			u = 2 * *c.U
			if u > 0 {
				r.U = "± " + shown.U(*c.U)
			}
		}
		r.Unit = in
		r.Bar = draw.ToleranceBar(*c.Value, u, c.Lower, c.Target, c.Upper, largest, false)
	}
	if iv := c.IntervalMM; iv != nil {
		r.Value, r.U, r.Unit = tell.LeafInterval(*iv, v.Unit), "", in
	}
	r.Limits = tell.Between(c.Lower, c.Upper, shown.Limit)
	return r
}

// waits is what the bench lists of what waits: while no neck is on it all necks, else those that are parked. Gauges stand in its strip.
func (s *server) waits(snap *bench.Snapshot) []show.WaitGroup {
	scope := ""
	if snap.Batch != nil {
		scope = "?batch=" + url.QueryEscape(snap.Batch.Number)
	}
	return slices.DeleteFunc(show.Waiting(&snap.Waiting, snap.Batch, scope, s.opt.Now()), func(g show.WaitGroup) bool {
		return !g.Necks || snap.Stage != bench.Idle && g.State != "parked"
	})
}

// verdict fills the word, the sentence and the steps.
func (v *benchView) verdict() {
	if v.Verdict == nil || v.Result == nil || v.Stage == bench.Measuring { // measuring: a point is chosen to be measured again
		return
	}
	v.Word = string(v.Verdict.Disposition)
	v.Why, v.Handbook = show.WrongWords(v.Spec, v.Result, v.Unit, v.now), show.WhyWords(v.Spec, v.Result, v.Unit, v.now)
	if v.Handbook == v.Why {
		v.Handbook = ""
	}
	if v.Stage == bench.PersonDecides && v.Round == 3 { // no round is left
		v.Why = strings.Replace(v.Why, "; measure again", ", after three rounds too", 1)
	}
	if v.Verdict.DecidedBy != "" {
		v.Why = "Decided by " + v.Verdict.DecidedBy + ": " + v.Verdict.Reason
	}
	for _, a := range v.Result.Advice {
		v.Steps = append(v.Steps, show.StepOf(v.Spec, a, v.Unit))
	}
	if len(v.Result.Advice) > 0 {
		v.StepPicture = draw.Step(v.Result.Advice[0])
	}
}

// checksDue says which gauges need a check, "" when none does.
func checksDue(gauges []bench.GaugeLine) string {
	var names []string
	for _, g := range gauges {
		if g.Due {
			names = append(names, g.Name)
		}
	}
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return "the " + names[0] + " needs a check"
	default:
		return "the " + strings.Join(names[:n-1], ", the ") + " and the " + names[n-1] + " need checks"
	}
}

// checkKey is the word on the key that begins the checks that are due.
func checkKey(gauges []bench.GaugeLine) string {
	due := 0
	for _, g := range gauges {
		if g.Due {
			due++
		}
	}
	return show.Pick(due > 1, "Check them, one after another", "Check it")
}

// templateFuncs are what the bench page's parts call.
func templateFuncs() template.FuncMap {
	return template.FuncMap{
		"soundTable": soundTable,
		"sounds":     func() []sound { return language },
		"checksDue":  checksDue,
		"checkKey":   checkKey,
		"others":     others,
		"inFront":    func(text string) string { front, _ := cutNotice(text); return front },
		"behind":     func(text string) string { _, rest := cutNotice(text); return rest },
		"sixteenths": func() []int { return []int{1, 2, 3, 4} },
		"digits":     func() []int { return []int{1, 2, 3, 4, 5, 6, 7, 8, 9} },
		"sixteenth":  func(n int) string { return inspect.TurnsWords(float64(n) / 16) },
		"is16":       func(turns *float64, n int) bool { return turns != nil && math.Round(*turns*16) == float64(n) },
		"deref": func(v *float64) float64 {
			if v == nil {
				return 0
			}
			return *v
		},
		"sweptState": func(state string) string {
			switch state {
			case string(sweep.Good):
				return "conforming"
			case string(sweep.Doubtful):
				return "undecided"
			}
			return "not measured"
		},
		"sinceUnix":   func(t time.Time) int64 { return t.Unix() },
		"reworkWords": tell.ReworkStep,
		"advisedWork": func(steps []inspect.Advice) inspect.Advice { // the first; measuring again is none
			for _, step := range steps {
				if step.What != inspect.StepMeasure {
					return step
				}
			}
			return inspect.Advice{}
		},
		"decisions": func() []inspect.Disposition {
			return []inspect.Disposition{inspect.Pass, inspect.Rework, inspect.Repair, inspect.Scrap, inspect.Concession}
		},
		"reworks": func() []string { // the repairer's last: it is not done at the bench
			works := inspect.Works()
			return append(works[1:], works[0])
		},
	}
}
