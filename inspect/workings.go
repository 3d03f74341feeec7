package inspect

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"sagitta/inspect/fit"
	"sagitta/inspect/zone"
)

// Working is one quantity on the way from the readings to a characteristic.
type Working struct {
	Name  string // "chord over fret 7", "bend curve at fret 9"
	Value float64
	Unit  string // "" for a number without one
}

// workings collects quantities.
type workings []Working

func (w *workings) add(unit string, v float64, name string, parts ...any) {
	if !math.IsNaN(v) {
		*w = append(*w, Working{fmt.Sprintf(name, parts...), v, unit})
	}
}

// Workings returns the readings that a characteristic is computed from and the intermediate values, in the order of its
// formula (see Explain). Errors: Evaluate's, and an error when the readings do not give the characteristic.
func Workings(s *Spec, r *Readings, wanted Characteristic) ([]Working, error) {
	given := *s
	given.fillDatum()
	res, err := Evaluate(&given, r, Options{SkipUncertainty: true})
	if err != nil {
		return nil, err
	}
	at := slices.IndexFunc(res.Characteristics, func(c Characteristic) bool {
		return c.key() == wanted.key() && (c.Value != nil || c.IntervalMM != nil)
	})
	if at < 0 {
		return nil, noValue(s, wanted)
	}
	c := res.Characteristics[at]
	n, err := newNeck(&given, r, true)
	if err != nil {
		return nil, err
	}
	var w workings
	t := n.track(c.Track)
	switch c.Name {
	case relief:
		n.workRelief(&w, &c)
	case reliefMax:
		if t != nil {
			t.workChord(&w, c.Fret)
		}
	case sideDifference:
		if n.low != nil {
			w.add("mm", n.low.relief(n.low.z, n.k), "relief, %s", Side(n.low.name))
			w.add("mm", n.high.relief(n.high.z, n.k), "relief, %s", Side(n.high.name))
		}
	case straightness, flatness, levelZone:
		err = n.workZone(&w, t, c.Name)
	case levelDeviation, rocker, hump, fallAway:
		if t != nil {
			t.workFret(&w, &c)
		}
	case twist:
		n.workTwist(&w)
	case boardRadius:
		for _, t := range n.tracks {
			if t.measured(c.Fret) {
				w.add("mm", t.y[c.Fret-1], "place across the board, %s", Side(t.name))
				w.add("mm", t.z[c.Fret-1], "crown, %s", Side(t.name))
			}
		}
		w.add("mm", n.radius[c.Fret-1], "nominal radius there (0 is flat)")
	case action, nutHeight:
		w.add("mm", *c.Value, "height as read")
	case clearance, margin:
		n.workClearance(&w, &c)
	default:
		n.workFrequencies(&w, &c)
	}
	return w, err
}

// crownName names a crown of a track.
func (t *track) crownName(fret int) string {
	return "crown of fret " + strconv.Itoa(fret) + ", " + Side(t.name)
}

// workChord adds what a relief at a fret is made of.
func (t *track) workChord(w *workings, fret int) {
	xa, xk, xb := t.x[t.a-1], t.x[fret-1], t.x[t.b-1]
	for _, f := range [3]int{t.a, fret, t.b} {
		w.add("mm", t.x[f-1], "x of fret %d", f)
	}
	for _, f := range [3]int{t.a, fret, t.b} {
		w.add("mm", t.z[f-1], "%s", t.crownName(f))
	}
	w.add("mm", t.z[t.a-1]+(t.z[t.b-1]-t.z[t.a-1])*(xk-xa)/(xb-xa), "chord over fret %d", fret)
}

// workRelief adds what a relief is made of by the method that gave it.
func (n *neck) workRelief(w *workings, c *Characteristic) {
	switch c.Method {
	case "profile":
		n.track(c.Track).workChord(w, n.k)
	case "beam":
		for i := range n.readings.Beam {
			b := &n.readings.Beam[i]
			if b.Track != c.Track {
				continue
			}
			w.add("mm", b.FeetMM[0], "first foot at")
			w.add("mm", b.PlungerMM, "plunger at")
			w.add("mm", b.FeetMM[1], "second foot at")
			w.add("mm", b.ReadingMM, "reading")
			w.add("", beamFactor(n.spec, b), "factor (x_k - x_a)(x_b - x_k)/((m - p)(q - m))")
		}
	case "leaves":
		if p := c.IntervalMM[0]; p != nil {
			w.add("mm", *p, "thickest leaf that passes")
		}
		if s := c.IntervalMM[1]; s != nil {
			w.add("mm", *s, "thinnest leaf that stops")
		}
	}
}

// workZone adds the contacts that prove a minimum zone, with their multipliers, and what is beside it.
func (n *neck) workZone(w *workings, t *track, name string) error {
	tracks, last := n.tracks, len(n.x)
	if t != nil {
		tracks = []*track{t}
	}
	if name == levelZone {
		last = n.b
	}
	var x, y, z []float64
	var names []string
	for _, t := range tracks {
		for i := range last {
			if math.IsNaN(t.z[i]) {
				continue
			}
			x, y, z = append(x, t.x[i]), append(y, t.y[i]), append(z, t.z[i]+t.sagitta[i])
			if name == straightness {
				z[len(z)-1] = t.z[i]
			}
			names = append(names, t.crownName(i+1))
		}
	}
	var m zone.Minimum
	var ls fit.Parameters
	var err error
	var functions []string
	switch name {
	case straightness:
		m, ls, err = zone.Straightness(x, z)
		functions = []string{"1", "x"}
	case flatness:
		m, ls, err = zone.Flatness(x, y, z)
		functions = []string{"1", "x", "y"}
	default:
		for i := range x {
			x[i] /= n.spec.Neck.ScaleMM
		}
		m, err = zone.Level(x, y, z)
		functions = []string{"1", "u", "y", "u^2", "u^3", "u y"}
	}
	if err != nil {
		return err
	}
	w.add("", float64(len(z)), "crowns in it")
	for i, c := range m.Coefficients {
		w.add("", c, "coefficient of %s, middle of the zone", functions[i])
	}
	if name != levelZone {
		w.add("mm", ls.T, "about the least-squares reference: peak to valley, t")
		w.add("mm", ls.P, "peak, p")
		w.add("mm", ls.V, "valley, v")
		w.add("mm", ls.Q, "root mean square, q")
	}
	for _, k := range m.Contacts {
		where := "above"
		if k.Side < 0 {
			where = "below"
		}
		w.add("", k.Multiplier, "touched from %s by the %s, multiplier", where, names[k.Index])
	}
	return nil
}

// workFret adds what level deviation, rocker, hump and fall-away are made of.
func (t *track) workFret(w *workings, c *Characteristic) {
	scale := t.spec.Neck.ScaleMM
	if t.bend != nil {
		for i, v := range t.bend.C {
			w.add("mm", v, "bend curve, coefficient of u^%d", i)
		}
		w.add("", float64(t.bend.Within), "crowns within the threshold of 0.010 mm")
	}
	switch c.Name {
	case levelDeviation:
		w.add("mm", t.z[c.Fret-1], "%s", t.crownName(c.Fret))
		w.add("mm", t.bend.At(t.x[c.Fret-1]/scale), "bend curve at fret %d", c.Fret)
	case rocker:
		for f := c.Fret - 1; f <= c.Fret+1; f++ {
			w.add("mm", t.z[f-1], "%s", t.crownName(f))
		}
		x := t.x[c.Fret-2 : c.Fret+1]
		w.add("mm", -reliefAt(x[0], x[1], x[2], t.z[c.Fret-2], t.z[c.Fret-1], t.z[c.Fret]), "crown above the line through its neighbours")
		if c.Fret < t.b {
			w.add("mm", -reliefAt(x[0], x[1], x[2], t.bend.At(x[0]/scale), t.bend.At(x[1]/scale), t.bend.At(x[2]/scale)), "what the bend curve contributes to it")
		}
	case hump, fallAway:
		ub := t.x[t.b-1] / scale
		w.add("mm", t.bend.At(ub), "bend curve at fret %d", t.b)
		w.add("mm", t.bend.Slope(ub), "its slope there, to the scale length")
		highest, from := len(t.x), len(t.x)
		if c.Name == hump {
			from = t.b + 1
		}
		for f := from; f <= len(t.x); f++ {
			if d := t.extension(t.z, t.bend, f); !(t.extension(t.z, t.bend, highest) >= d) && !math.IsNaN(d) {
				highest = f
			}
		}
		w.add("mm", t.z[highest-1], "%s", t.crownName(highest))
		w.add("mm", t.z[highest-1]-t.extension(t.z, t.bend, highest), "tangent produced to fret %d", highest)
	}
}

// workTwist adds the cross-slopes and what they are made of.
func (n *neck) workTwist(w *workings) {
	if n.low == nil {
		return
	}
	for _, f := range [2]int{n.a, n.b} {
		for _, t := range [2]*track{n.low, n.high} {
			w.add("mm", t.y[f-1], "place across the board at fret %d, %s", f, Side(t.name))
			w.add("mm", t.z[f-1]+t.sagitta[f-1], "%s, developed", t.crownName(f))
		}
		rise := n.high.z[f-1] + n.high.sagitta[f-1] - n.low.z[f-1] - n.low.sagitta[f-1]
		w.add("deg", math.Atan(rise/(n.high.y[f-1]-n.low.y[f-1]))*180/math.Pi, "cross-slope at fret %d", f)
	}
}

// workClearance adds the string line and where the least gap or margin lies.
func (n *neck) workClearance(w *workings, c *Characteristic) {
	i := slices.IndexFunc(n.strings, func(l stringLine) bool { return l.number == c.String })
	if i < 0 {
		return
	}
	l := &n.strings[i]
	g := l.newGaps()
	if g == nil {
		return
	}
	slot, saddle := g.ends()
	w.add("mm", g.z[0]+g.first, "string over fret 1, open")
	w.add("mm", g.z[l.over.Fret-1]+g.over, "string over fret %d, open", l.over.Fret)
	w.add("mm", slot, "string line at the nut, x = 0")
	w.add("mm", saddle, "string line at the saddle, x = L")
	e := evaluation{neck: n}
	e.addClearances(g)
	held, touched := e.worstGap(c)
	if touched == 0 {
		return
	}
	x, z := n.heldAt(held), slot
	if held > 0 {
		z = g.z[held-1]
	}
	w.add("", float64(held), "held at fret (0 is the nut)")
	w.add("", float64(touched), "nearest to fret")
	w.add("mm", z+(saddle-z)*(n.x[touched-1]-x)/(n.spec.Neck.ScaleMM-x), "string over fret %d", touched)
	w.add("mm", g.z[touched-1], "crown of fret %d under it", touched)
	if p := n.spec.Pluck; p != nil && c.Name == margin {
		length := n.spec.Neck.ScaleMM - x
		w.add("N", l.tight, "tension at the target pitch")
		w.add("mm", PluckAmplitude(p.ForceN, p.DistanceMM, length, l.tight), "depth of the pluck")
		w.add("mm", g.give*n.envelopes[held][touched-1], "plucked envelope at fret %d", touched)
	}
}

// workFrequencies adds what pitch, intonation and places of frets are made of.
func (n *neck) workFrequencies(w *workings, c *Characteristic) {
	switch c.Name {
	case pitch:
		w.add("Hz", n.spec.FindString(c.String).PitchHz, "target pitch")
		for i := range n.readings.Pitch {
			if p := &n.readings.Pitch[i]; p.String == c.String && p.Hz != nil {
				w.add("Hz", *p.Hz, "pitch as read")
			} else if p.String == c.String {
				w.add("cents", *p.Cents, "deviation as read")
			}
		}
	case intonation:
		for i := range n.readings.Intonation {
			if p := &n.readings.Intonation[i]; p.String == c.String && p.Fret == c.Fret {
				w.add("Hz", p.OpenHz, "open string")
				w.add("Hz", p.FrettedHz, "held at fret %d", p.Fret)
				w.add("Hz", p.OpenHz*math.Exp2(float64(p.Fret)/12), "equal temperament above the open string")
			}
		}
	case fretPosition:
		w.add("mm", *n.readings.FretXMM[c.Fret-1], "place as measured")
		w.add("mm", n.x[c.Fret-1], "place by the formula")
	}
}
