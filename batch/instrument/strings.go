package instrument

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Set is a set of strings, string 1 (the outermost on the treble side) first.
type Set struct {
	Name  string
	Kind  string // of instrument, one of inspect.InstrumentKinds
	Pairs bool   // two strings a course, the one nearer the treble side first
	Mark  string // where its figures are from
	Gauge []Gauge
}

// Gauge is one string of a set. A wound steel string has no mass: it is estimated from the diameter (inspect.WoundMass).
type Gauge struct {
	DiameterMM float64
	Plain      bool
	MassGPerM  *float64 // of nylon, g/m
}

// Tuning is the notes of open strings, string 1 first, in scientific pitch notation. Common practice.
type Tuning struct {
	Name  string   `toml:"name"`
	Notes []string `toml:"notes"`
}

//go:embed library.toml
var libraryText string

var library = readLibrary(libraryText)

// shelf is what the embedded file holds.
type shelf struct {
	Sets    []Set
	Tunings []Tuning
}

// Sets returns every set of strings.
func Sets() []Set { return library.Sets }

// Tunings returns the tunings of instruments with so many strings.
func Tunings(count int) []Tuning {
	var fit []Tuning
	for _, t := range library.Tunings {
		if len(t.Notes) == count {
			fit = append(fit, t)
		}
	}
	return fit
}

// readLibrary reads the embedded file, whose mistakes are the program's own.
func readLibrary(text string) (s shelf) {
	var file struct {
		Set []struct {
			Name        string   `toml:"name"`
			Kind        string   `toml:"kind"`
			Pairs       bool     `toml:"pairs"`
			Mark        string   `toml:"mark"`
			Thousandths []string `toml:"thousandths"`
			Nylon       []struct {
				DiameterMM float64 `toml:"diameter_mm"`
				MassGPerM  float64 `toml:"mass_g_per_m"`
				Plain      bool    `toml:"plain"`
			} `toml:"nylon"`
		} `toml:"set"`
		Tuning []Tuning `toml:"tuning"`
	}
	if err := toml.NewDecoder(strings.NewReader(text)).DisallowUnknownFields().Decode(&file); err != nil {
		panic(err)
	}
	s.Tunings = file.Tuning
	for _, f := range file.Set {
		set := Set{Name: f.Name, Kind: f.Kind, Pairs: f.Pairs, Mark: f.Mark}
		for _, word := range f.Thousandths {
			digits, wound := strings.CutSuffix(word, "w")
			thousandths, err := strconv.ParseFloat(digits, 64)
			if err != nil {
				panic(err)
			}
			set.Gauge = append(set.Gauge, Gauge{DiameterMM: to(1000, thousandths/1000*unit.Inch.MM()), Plain: !wound})
		}
		for _, n := range f.Nylon {
			set.Gauge = append(set.Gauge, Gauge{DiameterMM: n.DiameterMM, Plain: n.Plain, MassGPerM: &n.MassGPerM})
		}
		s.Sets = append(s.Sets, set)
	}
	return s
}

// A course of two strings is so wide, mm; common practice, no source.
const (
	pairNutMM    = 2.0
	pairSaddleMM = 2.8
)

// Rows writes a set in a tuning out as a specification's strings. nutMM and saddleMM are the distances between the outermost
// strings; strings, or courses of two, stand evenly between them. An error where set and tuning differ in the number of strings.
func Rows(set Set, tuning Tuning, nutMM, saddleMM float64) ([]inspect.String, error) {
	n := len(set.Gauge)
	if n != len(tuning.Notes) {
		return nil, fmt.Errorf("the set %q has %d strings and the tuning %q has %d: choose two of one number", set.Name, n, tuning.Name, len(tuning.Notes))
	}
	rows := make([]inspect.String, n)
	for i, g := range set.Gauge {
		hz, err := Hz(tuning.Notes[i])
		if err != nil {
			return nil, fmt.Errorf("the tuning %q: %w", tuning.Name, err)
		}
		rows[i] = inspect.String{
			Number: i + 1, Name: tuning.Notes[i], PitchHz: to(10000, hz),
			YNutMM: set.place(i, nutMM, pairNutMM), YSaddleMM: set.place(i, saddleMM, pairSaddleMM),
			DiameterMM: g.DiameterMM, PlainString: g.Plain, MassGPerM: g.MassGPerM,
		}
		if g.MassGPerM != nil {
			rows[i].Material = inspect.Nylon
		}
	}
	return rows, nil
}

// Restrung returns strings as they are with a set's in their places, at the same pitches; false where the set has another number of them.
func Restrung(set Set, on []inspect.String) ([]inspect.String, bool) {
	if len(set.Gauge) != len(on) {
		return nil, false
	}
	rows := slices.Clone(on)
	for i, g := range set.Gauge {
		s := &rows[i]
		s.DiameterMM, s.PlainString, s.MassGPerM, s.Material = g.DiameterMM, g.Plain, g.MassGPerM, ""
		if g.MassGPerM != nil {
			s.Material = inspect.Nylon
		}
	}
	return rows, true
}

// place is where string i, 0 the first, stands across the board, mm.
func (s *Set) place(i int, span, pair float64) float64 {
	if !s.Pairs {
		return to(1000, span/2-span*float64(i)/float64(len(s.Gauge)-1))
	}
	courses := float64(len(s.Gauge) / 2)
	course := (span - pair) / (courses - 1) // from one to the next
	return to(1000, span/2-course*float64(i/2)-pair*float64(i%2))
}

// to rounds to so many parts of one.
func to(parts, v float64) float64 { return math.Round(v*parts) / parts }

// semitones above C of the notes' letters.
var semitones = map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}

// Hz returns the pitch of a note in scientific pitch notation ("E2", "F#1", "Bb3") in equal temperament with A4 = 440 Hz. An error
// for what is no note from octave 0 to 8.
func Hz(note string) (float64, error) {
	wrong := fmt.Errorf("%q is no note; allowed: a letter from A to G, # or b, and an octave from 0 to 8, such as E2 or F#1", note)
	if len(note) < 2 || len(note) > 3 {
		return 0, wrong
	}
	step, known := semitones[note[0]]
	octave := int(note[len(note)-1]) - '0'
	if !known || octave < 0 || octave > 8 {
		return 0, wrong
	}
	if len(note) == 3 {
		switch note[1] {
		case '#':
			step++
		case 'b':
			step--
		default:
			return 0, wrong
		}
	}
	return 440 * math.Exp2(float64(12*(octave+1)+step-69)/12), nil
}

// Strung finds the set and the tuning that a specification's strings are, "" for one that the library has not.
func Strung(strings []inspect.String) (set, tuning string) {
	for _, s := range library.Sets {
		if len(s.Gauge) == len(strings) && !slices.ContainsFunc(strings, func(st inspect.String) bool {
			g := s.Gauge[st.Number-1]
			return st.DiameterMM != g.DiameterMM || st.PlainString != g.Plain
		}) {
			set = s.Name
			break
		}
	}
	for _, t := range Tunings(len(strings)) {
		if !slices.ContainsFunc(strings, func(st inspect.String) bool { return st.Name != t.Notes[st.Number-1] }) {
			return set, t.Name
		}
	}
	return set, ""
}
