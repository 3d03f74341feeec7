package simulate

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"sagitta/inspect/unit"
)

// Where a gauge can be put.
const (
	OnNeck   = "neck"
	OnFlat   = "flat"   // the flat reference
	OnMaster = "master" // a gauge block on the flat
)

// Identities of the bench's gauges.
const (
	CarriageID = "carriage" // indicator on a carriage that runs along a beam: crown heights
	HeightID   = "height"   // height gauge: strings over crowns
	BeamID     = "beam"     // beam on two feet: sagitta
	PlaceID    = "place"    // position encoder of the carriage, on the same line
)

var gaugeIDs = []string{CarriageID, HeightID, BeamID}

// Options of a bench.
type Options struct {
	Dir       string // folder for the symlinks to the pseudo-terminals; it must exist
	Seed      uint64 // of the gauges' noise and of how necks lie under the carriage
	Scenarios []*Scenario
	Every     time.Duration // between live frames of the carriage's indicator; 0: 100 ms
	Layings   bool          // a neck is laid down anew each time that the carriage was on the flat or a master, and with each Placement.Laying
}

// GaugeInfo is what a station has to know to use one of the bench's gauges.
type GaugeInfo struct {
	ID             string
	Name           string
	Path           string   // the symlink to its port
	Decoder        string   // the generic decoder that reads it
	Channel        string   // of its live frames, "" when frames have none
	KeyChannel     string   // frames of this channel are presses; "" when every frame is
	Streams        bool     // sends live frames too
	Measures       []string // "crown", "nut height", "action", "beam", "position"
	Sense          int      // +1: its reading grows with what it measures
	ResolutionMM   float64
	RepeatabilityU float64 // standard uncertainty, mm
	FeetMM         [2]float64
	PlungerMM      float64
	MasterMM       float64 // of the setting master, 0: none
}

// Placement is where a gauge stands. Only what its gauge and place need is looked at.
type Placement struct {
	On        string // OnNeck, OnFlat or OnMaster
	Serial    string
	Attempt   int // of the inspection: taking the neck off and laying it down again moves it under the carriage
	Laying    int // of the attempt, where Options.Layings says so
	Track     Track
	Fret      int // carriage; height gauge with String, 0 is nut height
	String    int
	HeldFret  int
	FeetMM    [2]float64 // beam on two feet: where its feet and plunger stand
	PlungerMM float64
	MasterMM  float64
}

// Bench is the hand and the gauges: it holds the necks, puts gauges on them and presses their data keys. It is safe for
// concurrent use.
type Bench struct {
	mu     sync.Mutex
	necks  map[string]*Neck
	before map[string][]*Neck // how each was before each work on it
	gauges map[string]*Gauge
	infos  []GaugeInfo

	seed    uint64
	layings bool
	lay     *rand.Rand
	laid    string // the neck, and which time, that lies under the carriage; "" when it was taken up
	times   int    // that one was laid down
	// How it lies: height of the carriage's reference over the body's plane at the nut, and its rise per mm along and across.
	offset, along, across float64
	encoderZero           float64 // what the carriage's encoder shows at the nut, mm
}

// New makes every neck of the scenarios and opens the gauges. Close releases them.
func New(opt Options) (*Bench, error) {
	if opt.Every == 0 {
		opt.Every = 100 * time.Millisecond
	}
	b := &Bench{necks: map[string]*Neck{}, before: map[string][]*Neck{}, gauges: map[string]*Gauge{}, seed: opt.Seed, layings: opt.Layings, lay: source(opt.Seed, "lay")}
	if len(opt.Scenarios) == 0 {
		return nil, errors.New("a simulated bench needs a scenario")
	}
	trouble := map[string]GaugeTrouble{}
	for _, s := range opt.Scenarios {
		for i, serial := range s.Serials() {
			if b.necks[serial] != nil {
				return nil, fmt.Errorf("serial number %s is in two scenarios", serial)
			}
			n, err := s.Make(i + 1)
			if err != nil {
				return nil, err
			}
			b.necks[serial] = n
		}
		for _, g := range s.Gauges {
			if _, twice := trouble[g.ID]; twice {
				return nil, fmt.Errorf("gauge %s has its troubles in two scenarios; one gauge, one table", g.ID)
			}
			trouble[g.ID] = g
		}
	}
	b.infos = infos(opt.Dir, beamModel(opt.Scenarios))
	b.encoderZero = 200 * (source(opt.Seed, "encoder").Float64() - 0.5)
	for i, info := range b.infos {
		if info.ID == PlaceID { // sends on the carriage's line
			b.gauges[PlaceID] = b.gauges[CarriageID]
			continue
		}
		t := trouble[info.ID]
		o := GaugeOptions{
			Path: info.Path, Format: formats[info.ID], ResolutionMM: info.ResolutionMM, NoiseMM: info.RepeatabilityU,
			BiasMM: t.BiasMM, DriftMM: t.DriftMM, DriftAfter: t.DriftAfter, Seed: opt.Seed + uint64(i),
		}
		if info.Streams {
			o.Every = opt.Every
			o.Place, o.PlaceStepMM = placeFrame, 0.01
		}
		g, err := OpenGauge(o)
		if err != nil {
			return nil, errors.Join(err, b.Close())
		}
		b.gauges[info.ID] = g
	}
	return b, nil
}

var formats = map[string]Format{CarriageID: ChannelValue, HeightID: SignedMillimetres, BeamID: InchNoLeadingZero}

// beamModel is the model the beam on two feet is set for: the one with the earliest joint, whose frets the feet stand on.
func beamModel(all []*Scenario) *Model {
	return &slices.MinFunc(all, func(a, b *Scenario) int { return a.Model.JointFret - b.Model.JointFret }).Model
}

func infos(dir string, m *Model) []GaugeInfo {
	n := m.neck("")
	at := func(id string) string { return filepath.Join(dir, id) }
	return []GaugeInfo{
		{
			ID: CarriageID, Name: "carriage indicator", Path: at(CarriageID), Decoder: ChannelValue.Decoder, Channel: ChannelValue.Channel, KeyChannel: ChannelValue.KeyChannel,
			Streams: true, Measures: []string{"crown"}, Sense: 1, ResolutionMM: 0.001, RepeatabilityU: 0.002, MasterMM: 1,
		},
		{
			ID: HeightID, Name: "height gauge", Path: at(HeightID), Decoder: SignedMillimetres.Decoder,
			Measures: []string{"nut height", "action"}, Sense: 1, ResolutionMM: 0.005, RepeatabilityU: 0.004, MasterMM: 2,
		},
		{
			ID: BeamID, Name: "beam on two feet", Path: at(BeamID), Decoder: InchNoLeadingZero.Decoder,
			Measures: []string{"beam"}, Sense: 1, ResolutionMM: 0.00005 * unit.MMPerInch, RepeatabilityU: 0.002,
			FeetMM: [2]float64{n.FretX(1), n.FretX(n.JointFret)}, PlungerMM: n.FretX(n.ReliefFret),
		},
		{
			ID: PlaceID, Name: "carriage position", Path: at(CarriageID), Decoder: ChannelValue.Decoder, Channel: placeChannel,
			Streams: true, Measures: []string{"position"}, Sense: 1, ResolutionMM: 0.01,
		},
	}
}

// Gauges describes the bench's gauges in a fixed order.
func (b *Bench) Gauges() []GaugeInfo { return slices.Clone(b.infos) }

// Gauge is one gauge, for its bounces, damage and battery.
func (b *Bench) Gauge(id string) (*Gauge, error) {
	if g := b.gauges[id]; g != nil {
		return g, nil
	}
	return nil, fmt.Errorf("no simulated gauge %q; there are %v", id, gaugeIDs)
}

// Place puts a gauge down. A streaming gauge shows the new place at once.
func (b *Bench) Place(id string, p Placement) error {
	g, err := b.Gauge(id)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	mm, err := b.truth(id, p)
	if err != nil {
		return err
	}
	if b.layings && id == CarriageID && p.On != OnNeck {
		b.laid = ""
	}
	g.Move(mm)
	return nil
}

// truth is what a perfect gauge would show there.
func (b *Bench) truth(id string, p Placement) (float64, error) {
	switch p.On {
	case OnFlat:
		return 0, nil
	case OnMaster:
		return p.MasterMM, nil
	case OnNeck:
	default:
		return 0, fmt.Errorf("a gauge cannot stand on %q; allowed: %q, %q, %q", p.On, OnNeck, OnFlat, OnMaster)
	}
	n := b.necks[p.Serial]
	if n == nil {
		return 0, fmt.Errorf("no simulated neck %q; the scenario's serial numbers are the only ones", p.Serial)
	}
	switch id {
	case CarriageID:
		if err := n.hasFret(p.Fret); err != nil {
			return 0, err
		}
		b.layDown(p)
		x := n.FretOn(p.Track, p.Fret)
		y := n.Y(p.Track, x)
		return n.Crown(p.Fret, y) + b.offset + b.along*x + b.across*y, nil
	case HeightID:
		if p.Fret == 0 {
			return n.NutHeight(p.String)
		}
		return n.Action(p.String, p.Fret, p.HeldFret)
	}
	if !(p.FeetMM[0] < p.PlungerMM && p.PlungerMM < p.FeetMM[1]) {
		return 0, fmt.Errorf("the beam's plunger at %g mm must be between its feet at %g and %g mm", p.PlungerMM, p.FeetMM[0], p.FeetMM[1])
	}
	return n.BeamSagitta(p.Track, p.FeetMM, p.PlungerMM), nil
}

// layDown gives a neck that was not under the carriage a new lie: half a millimetre of height, and small slopes.
func (b *Bench) layDown(p Placement) {
	which := fmt.Sprintf("%s/%d", p.Serial, p.Attempt)
	if b.layings {
		which += fmt.Sprintf("/%d", p.Laying)
	}
	if which == b.laid {
		return
	}
	b.laid = which
	lie := b.lay
	if b.layings { // of its own, so that a program that begins again does not repeat it
		b.times++
		lie = source(b.seed, fmt.Sprintf("lay %s %d", which, b.times))
	}
	b.offset = lie.Float64() - 0.5
	b.along = (lie.Float64() - 0.5) * 8e-4
	b.across = (lie.Float64() - 0.5) * 4e-3
}

// Press presses a gauge's data key where it stands and gives the bytes it sent. Errors are those of Gauge.Press.
func (b *Bench) Press(id string) ([]byte, error) {
	g, err := b.Gauge(id)
	if err != nil {
		return nil, err
	}
	return g.Press()
}

// Unplug pulls a gauge's cable.
func (b *Bench) Unplug(id string) error {
	g, err := b.Gauge(id)
	if err != nil {
		return err
	}
	return g.Unplug()
}

// Replug puts a gauge's cable back.
func (b *Bench) Replug(id string) error {
	g, err := b.Gauge(id)
	if err != nil {
		return err
	}
	return g.Replug()
}

// Rework lets hands work on a neck. A gauge that stands on it shows the change once it is placed again.
func (b *Bench) Rework(serial string, do func(*Neck) error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	n := b.necks[serial]
	if n == nil {
		return fmt.Errorf("no simulated neck %q", serial)
	}
	b.before[serial] = append(b.before[serial], n.copy())
	return do(n)
}

// Undo makes a neck as it was before the newest work on it that was not undone; one that was never worked on stays as it is.
func (b *Bench) Undo(serial string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	n, before := b.necks[serial], b.before[serial]
	if n == nil {
		return fmt.Errorf("no simulated neck %q", serial)
	}
	if k := len(before); k > 0 {
		*n, b.before[serial] = *before[k-1], before[:k-1]
	}
	return nil
}

// Close unplugs all gauges for good and waits for their goroutines.
func (b *Bench) Close() error {
	var all []error
	for _, info := range b.infos {
		if g := b.gauges[info.ID]; g != nil {
			all = append(all, g.Close())
		}
	}
	return errors.Join(all...)
}
