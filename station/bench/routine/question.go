package routine

import (
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/laying"
)

// taken is a crown of one laying.
type taken struct {
	batch.LaidCrown
	said bool // that it is so
}

// pair is a crown that is asked about, and the one before it.
type pair struct {
	crown, beside batch.Point
	mm            float64                 // by which the crown is off
	was, again    map[batch.Point]float64 // heights
	rounds        map[batch.Point]int
	sure          bool // both are as before: it is for a person to say
	moved         bool
}

// question goes through the crowns of the laying looked at in the order taken and looks after each whether one of the last five is
// far from what the others say (laying.Question); true while one is asked about, or the pair shows that something moved.
func (l *layings) question() bool {
	var all []taken
	var open *pair
	for _, r := range l.history() {
		at := slices.IndexFunc(all, func(t taken) bool { return t.Point == r.Point })
		c := taken{LaidCrown: batch.LaidCrown{Point: r.Point, Row: r, Height: r.Value, URepeat: batch.URepeat(l.Spec, r)}, said: r.Reason == batch.SaidToBeSo}
		switch {
		case at < 0:
			all = append(all, c)
		case r.Supersedes == "" && r.Round > 1: // another round
			continue
		default:
			all[at] = c
		}
		if open != nil {
			open.take(c, l.u)
			if open.moved {
				l.end(End{Withdraw: l.afterPair(all, open), Moved: true, Why: tell.PairMoved(open.crown, open.beside)})
				return true
			}
			if open.was != nil {
				continue
			}
		}
		open = l.look(all)
	}
	if open == nil {
		return false
	}
	if l.of != l.Attempt.Laying { // it lies otherwise now
		l.end(End{Withdraw: l.afterPair(all, open), Why: tell.NotAskedAgain(open.crown, open.mm, l.EndedBy)})
		return true
	}
	for _, p := range []batch.Point{open.beside, open.crown} {
		if _, in := open.again[p]; !in || open.sure && p == open.crown {
			round := open.rounds[p]
			if open.sure {
				l.ask(Key(p), round, ToBeSure, tell.AskSure(p, open.mm))
			} else {
				l.ask(Key(p), round, ToAsk, tell.AskAgain(open.crown, p, open.mm))
			}
		}
	}
	return true
}

// history are the rows of crowns of the laying looked at that were not taken back, those replaced included. What a row replaced that
// was taken back itself is gone with it.
func (l *layings) history() (rows []batch.Reading) {
	back := map[string]bool{}
	for _, r := range slices.Backward(l.Readings) {
		if r.Supersedes != "" && r.Laying == l.of && (r.Withdrawn || back[r.ID]) {
			back[r.Supersedes] = true
		}
	}
	for _, r := range l.Readings {
		if r.Point.Kind == batch.Crown && r.Laying == l.of && !r.Withdrawn && !back[r.ID] && l.Index(Key(r.Point)) >= 0 {
			rows = append(rows, r)
		}
	}
	return rows
}

// look opens a question where there is one.
func (l *layings) look(all []taken) *pair {
	var crowns []batch.LaidCrown // but those that are said to be so
	u := 0.0
	for _, t := range all {
		u = max(u, t.URepeat)
		if !t.said {
			crowns = append(crowns, t.LaidCrown)
		}
	}
	developed := batch.Developed(l.Spec, crowns)
	look, err := laying.Question(l.neck, developed, u)
	if err != nil || !look.Asked {
		return nil // a geometry that nothing can be said of
	}
	beside := look.About - 1
	if look.About == 0 {
		beside = 1
	}
	p := &pair{crown: crowns[look.About].Point, beside: crowns[beside].Point, was: map[batch.Point]float64{}, again: map[batch.Point]float64{}, rounds: map[batch.Point]int{}}
	for _, i := range []int{look.About, beside} {
		p.was[crowns[i].Point], p.rounds[crowns[i].Point] = crowns[i].Height, crowns[i].Row.Round
	}
	p.mm = look.Last[look.About-(len(crowns)-len(look.Last))].Deviation
	return p
}

// take takes a crown that was measured; the question is closed when its heights before are gone.
func (p *pair) take(c taken, u float64) {
	if c.Point != p.crown && c.Point != p.beside {
		return
	}
	if c.said && c.Point == p.crown {
		p.was = nil
		return
	}
	if p.sure { // measured again instead of an answer
		p.was, p.again, p.sure = p.again, map[batch.Point]float64{}, false
	}
	p.again[c.Point] = c.Height
	if len(p.again) < 2 {
		return
	}
	switch laying.Judge(p.was[p.crown], p.again[p.crown], p.was[p.beside], p.again[p.beside], max(u, c.URepeat)) {
	case laying.Plunger:
		p.was = nil
	case laying.ItIsSo:
		p.sure = true
	case laying.Moved:
		p.moved = true
	}
}

// afterPair are the standing rows of all that was taken since the crown beside the one asked about was, and its own.
func (l *layings) afterPair(all []taken, p *pair) []batch.Reading {
	since := map[batch.Point]bool{p.beside: true}
	at := slices.IndexFunc(all, func(t taken) bool { return t.Point == p.crown })
	for _, t := range all[at:] {
		since[t.Point] = true
	}
	return l.since(func(r batch.Reading) bool { return since[r.Point] })
}
