package sheet

import (
	"slices"
	"strconv"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// short is the set-up in a few lines, the most telling first. No line is a number alone: a scanner that types them at the bench enters no reading.
func (g *gathered) short(serial string) []string {
	n, w := &g.spec.Neck, &g.Words
	what := []string{g.model()}
	if n.Kind != "" && g.visit.Number == 0 {
		what = append(what, n.Kind)
	}
	if g.now != nil {
		what = append(what, tell.Day(g.now.at))
	}
	lines := []string{strings.Join(what, ", ")}
	add := func(name, is string) {
		if is != "" {
			lines = append(lines, name+": "+is)
		}
	}
	add(w.Relief, g.shortRelief())
	add(g.shortHeights())
	if work := len(g.work); g.now != nil && work > 0 && g.work[work-1].At.After(g.now.at) {
		lines = append(lines, w.Since)
	}
	gauges := make([]string, len(g.spec.Strings))
	for i, s := range tell.BassToTreble(g.spec.Strings) {
		gauges[i] = s.Name + " " + unit.Inch.Number(s.DiameterMM, 3, false)
	}
	add(w.Strings, strings.Join(gauges, " ")+" in")
	if g.now != nil {
		air := slices.DeleteFunc([]string{temperature(g.now), humidity(g.now)}, func(v string) bool { return v == "" })
		if len(air) > 0 {
			lines = append(lines, strings.Join(air, ", "))
		}
	}
	if g.Heading != "" {
		lines = append(lines, g.Heading)
	}
	if g.Address != "" {
		lines = append(lines, tell.SheetPlace(g.Address, "serial", serial))
	}
	return lines
}

// shortRelief is relief by side with its datum pair, once where all sides have the same.
func (g *gathered) shortRelief() string {
	var sides []string
	figures := map[string]bool{}
	var one *inspect.Characteristic
	for _, track := range g.spec.TracksOf() {
		if c := g.reliefOf(track.Name); c != nil {
			one = c
			figures[g.written(c, unit.Millimetre)] = true
			sides = append(sides, g.Words.Side(track.Name)+" "+g.written(c, unit.Millimetre))
		}
	}
	if one == nil {
		return ""
	}
	is := strings.Join(sides, ", ")
	if len(figures) == 1 && len(sides) > 1 && len(sides) == g.reliefs() {
		is = g.written(one, unit.Millimetre)
	}
	return is + " mm " + g.over(one)
}

// reliefs is on how many sides relief was measured, in doubt or not.
func (g *gathered) reliefs() (n int) {
	for _, c := range g.now.result.Characteristics {
		if c.Name == inspect.Relief && (c.Value != nil || c.IntervalMM != nil) {
			n++
		}
	}
	return n
}

// over says between which frets relief is told.
func (g *gathered) over(c *inspect.Characteristic) string {
	d := g.spec.Datum
	if c.Datum != nil {
		d.FirstFret, d.SecondFret = c.Datum[0], c.Datum[1]
	}
	return tell.SheetPlace(g.Words.Over, "fret", strconv.Itoa(d.ReliefFret), "from", strconv.Itoa(d.FirstFret), "to", strconv.Itoa(d.SecondFret))
}

// shortHeights are the strings' heights, from bass to treble, by their names where not all were measured.
func (g *gathered) shortHeights() (name, is string) {
	fret := g.heightFret()
	if fret == 0 {
		return "", ""
	}
	var named, bare []string
	for _, s := range tell.BassToTreble(g.spec.Strings) {
		if c := g.ofString(inspect.Action, s.Number, fret); c != nil {
			bare = append(bare, g.written(c, unit.Millimetre))
			named = append(named, s.Name+" "+g.written(c, unit.Millimetre))
		}
	}
	if len(bare) == len(g.spec.Strings) {
		named = bare
	}
	if len(named) == 0 {
		return "", ""
	}
	return tell.SheetPlace(g.Words.Height, "fret", strconv.Itoa(fret)), strings.Join(named, " ") + " mm"
}
