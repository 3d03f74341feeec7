package inspect

import (
	"fmt"
	"math"
	"slices"
)

// Options are what an evaluation may know besides the specification and the readings. The zero value is complete.
type Options struct {
	// Rod is what earlier necks of the model have taught about the truss rod; the zero value is what is usual for the kind of instrument.
	Rod RodModel
	// SkipUncertainty leaves uncertainties and probabilities out and judges values as if they were exact, for a display
	// that follows a live gauge. It is not for verdicts.
	SkipUncertainty bool
	// Carried are characteristics of an earlier inspection that still hold, as Carry gives them.
	Carried []Characteristic
}

// Evaluate computes every characteristic that the readings allow, judges those with limits, and says what to do. It is a
// pure function of its arguments, which it leaves alone. Without a routine "each" track means every track in the readings;
// a specification from WithDefaults has a routine. Errors: Faults for a specification or readings that do not pass their
// Check, and a kernel's error for heights that no fit can be made to.
func Evaluate(s *Spec, r *Readings, opt Options) (*Result, error) {
	if faults := s.Check(); len(faults) > 0 {
		return nil, Faults(faults)
	}
	if faults := r.Check(s); len(faults) > 0 {
		return nil, Faults(faults)
	}
	if err := opt.Rod.check(); err != nil {
		return nil, err
	}
	return evaluateChecked(s, r, opt)
}

// evaluateChecked is Evaluate for a specification, readings and options that have passed their checks, or for readings
// moved from such by their uncertainty.
func evaluateChecked(s *Spec, r *Readings, opt Options) (*Result, error) {
	given := *s
	given.fillDatum()
	n, err := newNeck(&given, r, opt.SkipUncertainty)
	if err != nil {
		return nil, err
	}
	e := evaluation{neck: n, limits: limits{given.Limits}}
	if err := e.compute(); err != nil {
		return nil, fmt.Errorf("neck %s: %w", r.Serial, err)
	}
	if err := e.addCarried(); err != nil {
		return nil, fmt.Errorf("neck %s: %w", r.Serial, err)
	}
	e.takeOver(opt.Carried)
	e.addRequired()
	if err := e.judge(); err != nil {
		return nil, err
	}
	res := &Result{
		Serial: r.Serial, Spec: s.Name, Revision: s.Revision,
		Characteristics: e.rows, Profile: n.profiles(), Clearance: e.clearances, Advice: []Advice{},
	}
	model := opt.Rod
	if model == (RodModel{}) {
		model = given.UsualRod()
	}
	if err := e.dispose(res, model); err != nil {
		return nil, fmt.Errorf("neck %s, advice: %w", r.Serial, err)
	}
	return res, nil
}

// evaluation collects the rows of one result.
type evaluation struct {
	*neck
	limits     limits
	rows       []Characteristic
	numbers    numberRoom     // what the rows point to
	order      map[string]int // of tracks
	clearances []Clearance
	off        []int // strings off pitch
	unread     []int // strings without a pitch reading
	gated      bool  // the instrument is not at pitch
}

// compute adds every characteristic that the readings allow.
func (e *evaluation) compute() error {
	e.rows = make([]Characteristic, 0, (2*len(e.tracks)+1)*e.frets+8*len(e.strings)+16)
	for _, k := range order {
		if k.compute == nil {
			continue
		}
		if err := k.compute(e); err != nil {
			return err
		}
	}
	return nil
}

// add adds a row; a value that is not a number is none and adds nothing.
func (e *evaluation) add(c Characteristic, v, u float64) {
	if math.IsNaN(v) {
		return
	}
	c.Unit = kindOf(c.Name).Unit
	c.Value = e.numbers.keep(v)
	if !e.quick && !math.IsNaN(u) {
		c.U = e.numbers.keep(u)
	}
	e.rows = append(e.rows, c)
}

// numberRoom hands out places for numbers that a result points to, many to an allocation.
type numberRoom struct{ room []float64 }

// keep returns a place that holds v.
func (r *numberRoom) keep(v float64) *float64 {
	if len(r.room) == cap(r.room) {
		r.room = make([]float64, 0, 256)
	}
	r.room = append(r.room, v)
	return &r.room[len(r.room)-1]
}

// key is what a row is about. The fret of a relief or of its largest value is a finding, not an index.
func (c *Characteristic) key() rowKey {
	k := rowKey{c.Name, c.Track, c.String, c.Fret, c.HeldFret}
	if !kindOf(c.Name).Fret {
		k.fret = 0
	}
	return k
}

// addRequired adds a row without a value for what a limit needs and the readings do not give. The rows are in order before
// and after.
func (e *evaluation) addRequired() {
	places := e.sort()
	added := map[rowKey]bool{}
	e.required(func(k rowKey) {
		if _, have := slices.BinarySearchFunc(places, e.place(k), comparePlaces); have || added[k] {
			return
		}
		added[k] = true
		c := Characteristic{Name: k.name, Track: k.track, String: k.string, Fret: k.fret, HeldFret: k.held, Unit: kindOf(k.name).Unit}
		e.spec.place(&c)
		e.rows = append(e.rows, c)
	})
	if len(added) > 0 {
		e.sort()
	}
}

// place gives a characteristic of relief its datum and its fret, which no limit names; none where there is no track.
func (s *Spec) place(c *Characteristic) {
	k := kindOf(c.Name)
	if k.ReliefFret && c.Fret == 0 && c.Track != each {
		c.Fret = s.Datum.ReliefFret
	}
	if k.Datum {
		c.Datum = &[2]int{s.Datum.FirstFret, s.Datum.SecondFret}
	}
}

// place is where a row stands: by characteristic, then by track as the routine or the readings have it, then by string
// and fret.
func (e *evaluation) place(k rowKey) [5]int {
	track, known := e.order[k.track]
	if !known {
		track = len(e.order)
		e.order[k.track] = track
	}
	return [5]int{kindOf(k.name).place, track, k.string, k.fret, k.held}
}

// places returns the places of all rows.
func (e *evaluation) places() [][5]int {
	if e.order == nil {
		e.order = map[string]int{}
		for _, names := range [][]string{{""}, e.eachTrack(), e.readTracks()} {
			for _, name := range names {
				e.place(rowKey{track: name})
			}
		}
	}
	places := make([][5]int, len(e.rows))
	for i := range e.rows {
		places[i] = e.place(e.rows[i].key())
	}
	return places
}

// comparePlaces orders places.
func comparePlaces(a, b [5]int) int { return slices.Compare(a[:], b[:]) }

// sort puts the rows in the order of their places, which it returns.
func (e *evaluation) sort() [][5]int {
	places := e.places()
	if slices.IsSortedFunc(places, comparePlaces) {
		return places
	}
	order := make([]int, len(places))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return comparePlaces(places[a], places[b]) })
	sorted := make([]Characteristic, len(order))
	for i, p := range order {
		sorted[i] = e.rows[p]
	}
	e.rows = sorted
	slices.SortFunc(places, comparePlaces)
	return places
}

// profiles returns the derived arrays of every measured track.
func (n *neck) profiles() []TrackProfile {
	all := make([]TrackProfile, 0, len(n.tracks))
	for _, t := range n.tracks {
		p := TrackProfile{Track: t.name, XMM: t.x}
		array := func(f func(fret int) float64) []*float64 {
			list, values := make([]*float64, n.frets), make([]float64, n.frets)
			for i := range list {
				if values[i] = f(i + 1); !math.IsNaN(values[i]) {
					list[i] = &values[i]
				}
			}
			return list
		}
		p.ReliefMM = array(func(fret int) float64 {
			if fret < n.a || fret > n.b {
				return math.NaN()
			}
			return t.relief(t.z, fret)
		})
		p.BendMM = array(func(fret int) float64 {
			if t.bend == nil || fret > n.b {
				return math.NaN()
			}
			return t.bend.At(t.x[fret-1] / n.fan.ScaleMM)
		})
		p.LevelDeviationMM = array(func(fret int) float64 { return t.level(t.z, t.bend, fret) })
		p.RockerMM = array(func(fret int) float64 { return t.rocker(t.z, t.bend, fret) })
		p.ExtensionMM = array(func(fret int) float64 { return t.extension(t.z, t.bend, fret) })
		if v, fret := t.reliefExtreme(t.z, -1); fret != 0 {
			p.ReliefMinMM, p.ReliefMinFret = &v, fret
		}
		all = append(all, p)
	}
	return all
}
