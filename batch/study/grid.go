package study

import (
	"fmt"
	"math"
)

// grid is a balanced crossed study: every appraiser has every part at every trial. Labels stand in the order of their
// first appearance.
type grid struct {
	parts, appraisers, trials []string
	v                         []float64 // by part, appraiser, trial
	largest                   float64   // size of the largest value
}

// cell is the readings of one part by one appraiser.
func (g *grid) cell(part, appraiser int) []float64 {
	r := len(g.trials)
	at := (part*len(g.appraisers) + appraiser) * r
	return g.v[at : at+r]
}

// labels numbers texts in the order of their first appearance.
type labels struct {
	names []string
	index map[string]int
}

func (l *labels) add(name string) int {
	if at, known := l.index[name]; known {
		return at
	}
	if l.index == nil {
		l.index = map[string]int{}
	}
	l.index[name] = len(l.names)
	l.names = append(l.names, name)
	return len(l.names) - 1
}

// design is what a kind of study asks for, and its word for what is measured.
type design struct {
	name, part string
	trials     int // at the least
}

var (
	crossedStudy   = design{"a crossed study", "part", 2}
	attributeStudy = design{"an attribute study", "item", 1}
)

// newGrid puts measurements in their cells. It refuses values that are no numbers, empty labels, a cell measured twice
// and a cell that is missing (named), fewer than two parts and fewer trials than the design needs.
func newGrid(measurements []Measurement, d design) (*grid, error) {
	var parts, appraisers, trials labels
	type place struct{ part, appraiser, trial int }
	row := make(map[place]int, len(measurements))
	g := &grid{}
	for i, m := range measurements {
		if err := checkFinite(i, "value", m.Value); err != nil {
			return nil, err
		}
		for _, label := range [...]struct{ field, text string }{{d.part, m.Part}, {"appraiser", m.Appraiser}, {"trial", m.Trial}} {
			if label.text == "" {
				return nil, RowError{i, label.field, "is empty; needed: a name or a number"}
			}
		}
		at := place{parts.add(m.Part), appraisers.add(m.Appraiser), trials.add(m.Trial)}
		if _, taken := row[at]; taken {
			return nil, RowError{i, "trial", fmt.Sprintf("%s %s, appraiser %s, trial %s is there a second time; allowed: once",
				d.part, m.Part, m.Appraiser, m.Trial)}
		}
		row[at] = i
		g.largest = max(g.largest, math.Abs(m.Value))
	}
	g.parts, g.appraisers, g.trials = parts.names, appraisers.names, trials.names
	if len(g.parts) < 2 || len(g.trials) < d.trials {
		return nil, fmt.Errorf("%s needs at least 2 %ss and %d trials; found %d and %d", d.name, d.part, d.trials,
			len(g.parts), len(g.trials))
	}
	if len(row) < len(g.parts)*len(g.appraisers)*len(g.trials) {
		return nil, g.missing(d.part, func(p, a, t int) bool { _, there := row[place{p, a, t}]; return there }, len(row))
	}
	g.v = make([]float64, len(measurements))
	for at, i := range row {
		g.v[(at.part*len(g.appraisers)+at.appraiser)*len(g.trials)+at.trial] = measurements[i].Value
	}
	return g, nil
}

// missing names the first cell that is not there.
func (g *grid) missing(noun string, there func(part, appraiser, trial int) bool, found int) error {
	for p, part := range g.parts {
		for a, appraiser := range g.appraisers {
			for t, trial := range g.trials {
				if !there(p, a, t) {
					return fmt.Errorf("%s %s, appraiser %s, trial %s is missing: %d of %d are there; needed: every %s by every appraiser at every trial",
						noun, part, appraiser, trial, found, len(g.parts)*len(g.appraisers)*len(g.trials), noun)
				}
			}
		}
	}
	return nil
}
