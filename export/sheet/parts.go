package sheet

import (
	"slices"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// heightFret is the fret over which the strings' heights are told: 12 where they were measured there, else the lowest that was.
func (g *gathered) heightFret() int {
	fret := 0
	g.find(func(c *inspect.Characteristic) bool {
		if c.Name == inspect.Action && c.HeldFret == 0 && (fret == 0 || c.Fret == 12 || fret != 12 && c.Fret < fret) {
			fret = c.Fret
		}
		return false
	})
	return fret
}

// ofString is a string's value of a kind.
func (g *gathered) ofString(name string, number, fret int) *inspect.Characteristic {
	return g.find(func(c *inspect.Characteristic) bool {
		return c.Name == name && c.String == number && c.HeldFret == 0 && (fret == 0 || c.Fret == fret)
	})
}

// both writes a length in mm, with what is uncertain of it, and in inches.
func (g *gathered) both(c *inspect.Characteristic) string {
	if c == nil {
		return ""
	}
	return g.written(c, unit.Millimetre) + g.uncertain(c) + " (" + g.written(c, unit.Inch) + ")"
}

// strings is the table of all strings, from bass to treble.
func (g *gathered) strings() *Part {
	w, fret := &g.Words, g.heightFret()
	fan := g.spec.Fan()
	t := &Table{Head: []string{w.String, w.Gauge + ", mm (in)", w.Tension + ", N (lbf)", tell.SheetPlace(w.Height, "fret", strconv.Itoa(fret)) + ", mm (in)",
		w.Nut + ", mm (in)", w.Pitch + ", cents", tell.SheetPlace(w.Intonation, "fret", "12") + ", cents"}}
	for _, s := range tell.BassToTreble(g.spec.Strings) {
		row := make([]string, len(t.Head))
		row[0] = strconv.Itoa(s.Number) + "  " + s.Name
		row[1] = unit.Millimetre.Number(s.DiameterMM, 2, false) + " (" + unit.Inch.Number(s.DiameterMM, 3, false) + ")"
		line := fan.Line(s.YNutMM, s.YSaddleMM)
		mass, _ := s.Mass()
		row[2] = tell.Force(inspect.Tension(mass, line.Scale(), s.PitchHz))
		if fret > 0 {
			row[3] = g.both(g.ofString(inspect.Action, s.Number, fret))
		}
		row[4] = g.both(g.ofString(inspect.NutHeight, s.Number, 0))
		for i, name := range []string{inspect.Pitch, inspect.Intonation} {
			if c := g.ofString(name, s.Number, 0); c != nil {
				row[5+i] = g.written(c, unit.Millimetre)
			}
		}
		t.Rows = append(t.Rows, row)
	}
	t.leaveOutEmpty()
	pull, u := g.spec.PullOf()
	title := w.Strings
	if g.set != "" {
		title += ": " + g.set
	}
	return &Part{Title: title, Wide: true, Table: t, Small: []string{w.Tension + ", " + w.Together + ": " + tell.Pull(pull, u) + "."}}
}

// leaveOutEmpty drops the columns in which nothing stands.
func (t *Table) leaveOutEmpty() {
	for i := len(t.Head) - 1; i > 0; i-- {
		if slices.ContainsFunc(t.Rows, func(row []string) bool { return row[i] != "" }) {
			continue
		}
		t.Head = slices.Delete(t.Head, i, i+1)
		for r := range t.Rows {
			t.Rows[r] = slices.Delete(t.Rows[r], i, i+1)
		}
	}
}

// relief is relief by side, now and before.
func (g *gathered) relief() *Part {
	p := &Part{Title: g.Words.Relief}
	for _, track := range g.spec.TracksOf() {
		c := g.reliefOf(track.Name)
		if c == nil {
			continue
		}
		p.Pairs = append(p.Pairs, Pair{g.Words.Side(track.Name), g.written(c, unit.Millimetre) + g.uncertain(c) + " mm, " + g.written(c, unit.Inch) + " in"})
		p.Small = []string{g.over(c)}
	}
	if len(p.Pairs) == 0 {
		return nil
	}
	return p
}

func (g *gathered) reliefOf(track string) *inspect.Characteristic {
	return g.find(func(c *inspect.Characteristic) bool { return c.Name == inspect.Relief && c.Track == track })
}

// rod is the truss rod: how it works and how far it was turned.
func (g *gathered) rod() *Part {
	if g.spec.Neck.Rod == "none" {
		return nil
	}
	w := &g.Words
	p := &Part{Title: w.Rod, Pairs: []Pair{{w.Kind, tell.Rod(g.spec.Neck.Rod)}}}
	if g.RodTool != "" {
		p.Pairs = append(p.Pairs, Pair{w.Tool, g.RodTool})
	}
	turned, repaired := 0.0, false
	for i := range g.work {
		turned += g.work[i].SignedTurns()
		repaired = repaired || g.work[i].What == inspect.StepRepairer
	}
	p.Pairs = append(p.Pairs, Pair{w.Turned, w.RodTurned(g.turnedBefore + turned)})
	if left := g.spec.Neck.RodTurnsLeft; left != nil && !repaired && *left-turned >= 0 {
		p.Pairs = append(p.Pairs, Pair{w.Left, inspect.TurnsWords(*left - turned)})
	}
	return p
}

func (g *gathered) climate() *Part {
	if g.now == nil {
		return nil
	}
	p := &Part{Title: g.Words.Climate}
	if v := temperature(g.now); v != "" {
		p.Pairs = append(p.Pairs, Pair{g.Words.Temperature, v})
	}
	if v := humidity(g.now); v != "" {
		p.Pairs = append(p.Pairs, Pair{g.Words.Humidity, v})
	}
	if len(p.Pairs) == 0 {
		return nil
	}
	return p
}

func temperature(st *state) string {
	if v := st.Climate.TemperatureC; v != nil {
		return inspect.Number(*v, 1, false) + " °C"
	}
	return ""
}

func humidity(st *state) string {
	if v := st.Climate.HumidityPercent; v != nil {
		return inspect.Number(*v, 0, false) + " % RH"
	}
	return ""
}

// mostWork is how many steps of work a page has room for: the newest.
const mostWork = 8

func (g *gathered) done() *Part {
	if len(g.work) == 0 {
		return nil
	}
	p := &Part{Title: g.Words.Work}
	for _, a := range g.work[max(len(g.work)-mostWork, 0):] {
		p.Lines = append(p.Lines, tell.SheetWork(a))
	}
	if left := len(g.work) - mostWork; left > 0 {
		p.Small = []string{tell.SheetPlace(g.Words.WorkBefore, "steps", strconv.Itoa(left))}
	}
	return p
}

func (g *gathered) advice() *Part { return &Part{Title: g.Words.Advice, Lines: []string{g.Words.Keep}} }

func (g *gathered) signature() *Part {
	return &Part{Wide: true, Sign: []string{g.Words.Date, g.Words.Signature}}
}

// drawn is a shape of the neck and when it was measured.
type drawn struct {
	at     time.Time
	tracks []inspect.TrackProfile
}

// profiles are the shapes of the neck that may be printed: the first that was measured in this visit and, where it is another, that of now;
// where it was measured once in this visit, that of the visit before and this one.
func (g *gathered) profiles() (before, now *drawn) {
	var first, last *state
	for i := range g.states {
		st := &g.states[i]
		if len(g.shapes(st)) == 0 {
			continue
		}
		if first == nil {
			first = st
		}
		last = st
	}
	if first == nil {
		return nil, nil
	}
	before, now = &drawn{first.at, g.shapes(first)}, &drawn{last.at, g.shapes(last)}
	if last != g.now && slices.ContainsFunc(g.work, func(a batch.ReworkAction) bool {
		return a.At.After(last.at) && a.At.Before(g.now.at) && a.What != inspect.StepPitch
	}) && g.reliefCarried() == 0 {
		return before, nil // the neck was worked on since, and has another shape now
	}
	if first == last {
		before = nil
		if g.earlier != nil {
			_, before = g.earlier.profiles()
		}
	}
	return before, now
}

// reliefCarried is the attempt that relief was carried over from, 0 where it was not.
func (g *gathered) reliefCarried() int {
	if c := g.find(func(c *inspect.Characteristic) bool { return c.Name == inspect.Relief && c.CarriedFrom != nil }); c != nil {
		return c.CarriedFrom.Attempt
	}
	return 0
}

// shapes are the profiles of an inspection whose relief is not in doubt.
func (g *gathered) shapes(st *state) []inspect.TrackProfile {
	var all []inspect.TrackProfile
	for _, p := range st.result.Profile {
		sure := slices.ContainsFunc(st.result.Characteristics, func(c inspect.Characteristic) bool {
			return c.Name == inspect.Relief && c.Track == p.Track && c.Value != nil && !g.doubtful(st, c)
		})
		known := 0
		for _, v := range p.ReliefMM {
			if v != nil {
				known++
			}
		}
		if sure && known > 2 {
			all = append(all, p)
		}
	}
	return all
}
