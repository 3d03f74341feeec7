package simulate

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// Scenario is the truth about one batch of necks, read from a file: the model, how much its necks scatter, what was
// planted in which, and what is wrong with the gauges. Lengths in mm, angles in degrees.
type Scenario struct {
	Batch   string         `toml:"batch"`
	Spec    string         `toml:"spec"` // file of the specification it is inspected against
	Necks   int            `toml:"necks"`
	Seed    uint64         `toml:"seed"`
	Note    string         `toml:"note"`
	Model   Model          `toml:"model"`
	Scatter Scatter        `toml:"scatter"`
	Planted []Planted      `toml:"planted"`
	Gauges  []GaugeTrouble `toml:"gauge"`
}

// Model is the neck that the makers aim at.
type Model struct {
	Name              string        `toml:"name"`
	ScaleMM           float64       `toml:"scale_mm"` // or, where frets fan out, the next three
	ScaleBassMM       float64       `toml:"scale_bass_mm"`
	ScaleTrebleMM     float64       `toml:"scale_treble_mm"`
	PerpendicularFret float64       `toml:"perpendicular_fret"`
	Frets             int           `toml:"frets"`
	JointFret         int           `toml:"joint_fret"`
	ReliefFret        int           `toml:"relief_fret"`
	NutRadiusMM       float64       `toml:"nut_radius_mm"`
	LastFretRadiusMM  float64       `toml:"last_fret_radius_mm"`
	ReliefMM          float64       `toml:"relief_mm"`
	FallAwayMM        float64       `toml:"fall_away_mm"`
	Rod               string        `toml:"rod"` // "single", "double" or "none"
	RodMMPerTurn      float64       `toml:"rod_mm_per_turn"`
	RodEngagedTurns   float64       `toml:"rod_engaged_turns"`
	RodSlackTurns     float64       `toml:"rod_slack_turns"`
	RodTravelTurns    float64       `toml:"rod_travel_turns"`
	RodLoosenTurns    float64       `toml:"rod_loosen_turns"`
	Strings           []ModelString `toml:"string"`
}

// ModelString is one string as set up on a neck of the model's own relief.
type ModelString struct {
	Number      int     `toml:"number"`
	YNutMM      float64 `toml:"y_nut_mm"`
	YSaddleMM   float64 `toml:"y_saddle_mm"`
	NutHeightMM float64 `toml:"nut_height_mm"` // open, over fret 1
	ActionMM    float64 `toml:"action_mm"`     // open, over fret 12
}

// Scatter is the standard deviation of each property from neck to neck.
type Scatter struct {
	ReliefMM   float64 `toml:"relief_mm"`
	SideMM     float64 `toml:"side_mm"` // relief under the lowest string less that under the highest
	CrownMM    float64 `toml:"crown_mm"`
	SlotMM     float64 `toml:"slot_mm"`
	SaddleMM   float64 `toml:"saddle_mm"`
	TwistDeg   float64 `toml:"twist_deg"`
	FallAwayMM float64 `toml:"fall_away_mm"`
	Cents      float64 `toml:"cents"`
	RodShare   float64 `toml:"rod_share"` // of the rod's mm per turn
}

// Planted is what was done on purpose to one neck. What is left out is drawn from the scatter.
type Planted struct {
	Neck            int             `toml:"neck"` // 1 is the batch's first
	What            string          `toml:"what"` // in words
	Expect          string          `toml:"expect"`
	ReliefMM        *float64        `toml:"relief_mm"` // the mean of both sides, crowns included
	SideMM          *float64        `toml:"side_mm"`
	SShapeMM        float64         `toml:"s_shape_mm"`
	TwistDeg        *float64        `toml:"twist_deg"`
	FallAwayMM      *float64        `toml:"fall_away_mm"`
	HumpMM          float64         `toml:"hump_mm"`
	RodMMPerTurn    *float64        `toml:"rod_mm_per_turn"`
	RodEngagedTurns *float64        `toml:"rod_engaged_turns"`
	RodTravelTurns  *float64        `toml:"rod_travel_turns"`
	RodStuck        bool            `toml:"rod_stuck"`
	Crowns          []PlantedCrown  `toml:"crown"`
	Strings         []PlantedString `toml:"string"`
}

// PlantedCrown is a crown that stands higher or, negative, lower than its scatter would have it.
type PlantedCrown struct {
	Fret     int     `toml:"fret"`
	BassMM   float64 `toml:"bass_mm"`
	TrebleMM float64 `toml:"treble_mm"`
}

// PlantedString is a string higher or lower than its scatter would have it, in the nut slot and at the saddle.
type PlantedString struct {
	Number   int     `toml:"number"`
	SlotMM   float64 `toml:"slot_mm"`
	SaddleMM float64 `toml:"saddle_mm"`
}

// GaugeTrouble is what is wrong with one of the bench's gauges.
type GaugeTrouble struct {
	ID         string  `toml:"id"`
	BiasMM     float64 `toml:"bias_mm"`
	DriftMM    float64 `toml:"drift_mm"`    // with every press
	DriftAfter int     `toml:"drift_after"` // presses
}

// Dispositions a planted neck can be expected to get at its first inspection.
var expected = []string{"pass", "rework", "repair"}

// Serial is the serial number of the batch's i-th neck, 1 the first.
func (s *Scenario) Serial(i int) string { return fmt.Sprintf("%s-%04d", s.Batch, i) }

// Serials are all serial numbers in order.
func (s *Scenario) Serials() []string {
	serials := make([]string, s.Necks)
	for i := range serials {
		serials[i] = s.Serial(i + 1)
	}
	return serials
}

// ParseScenario reads a scenario; name is the file's, for the errors. Unknown keys and impossible values are errors that
// say which, what was found and what is allowed.
func ParseScenario(name string, text []byte) (*Scenario, error) {
	s := &Scenario{}
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(s)
	var unknown *toml.StrictMissingError
	var bad *toml.DecodeError
	switch {
	case errors.As(err, &unknown):
		var all []error
		for i := range unknown.Errors {
			e := &unknown.Errors[i]
			line, _ := e.Position()
			all = append(all, fmt.Errorf("%s:%d: %s: unknown key; take it out or correct it", name, line, strings.Join(e.Key(), ".")))
		}
		return nil, errors.Join(all...)
	case errors.As(err, &bad):
		line, column := bad.Position()
		return nil, fmt.Errorf("%s:%d:%d: %s: %w", name, line, column, strings.Join(bad.Key(), "."), bad)
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := errors.Join(s.faults()...); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

// faults are the values that make no neck.
func (s *Scenario) faults() []error {
	var all []error
	say := func(bad bool, key string, found any, allowed string) {
		if bad {
			all = append(all, fmt.Errorf("%s: found %v; allowed: %s", key, found, allowed))
		}
	}
	m := &s.Model
	say(s.Batch == "", "batch", `""`, "a batch number")
	say(s.Spec == "", "spec", `""`, "the file of the specification")
	say(s.Necks < 1 || s.Necks > 9999, "necks", s.Necks, "1 to 9999")
	scale := func(key string, mm float64) { say(!(mm >= 200 && mm <= 1300), key, mm, "200 to 1300") }
	if pair := m.ScaleBassMM != 0 || m.ScaleTrebleMM != 0; pair {
		say(m.ScaleMM != 0, "model.scale_mm", m.ScaleMM, "none beside scale_bass_mm and scale_treble_mm")
		scale("model.scale_bass_mm", m.ScaleBassMM)
		scale("model.scale_treble_mm", m.ScaleTrebleMM)
		say(!(m.PerpendicularFret >= 0 && m.PerpendicularFret <= float64(m.Frets)), "model.perpendicular_fret", m.PerpendicularFret, "0, the nut, to the number of frets")
	} else {
		scale("model.scale_mm", m.ScaleMM)
		say(m.PerpendicularFret != 0, "model.perpendicular_fret", m.PerpendicularFret, "none without scale_bass_mm and scale_treble_mm")
	}
	say(m.Frets < 5 || m.Frets > 36, "model.frets", m.Frets, "5 to 36")
	say(m.JointFret < 4 || m.JointFret > m.Frets, "model.joint_fret", m.JointFret, "4 to the number of frets")
	say(m.ReliefFret < 2 || m.ReliefFret >= m.JointFret, "model.relief_fret", m.ReliefFret, "2 to the fret before the joint")
	say(!slices.Contains([]string{"single", "double", "none"}, m.Rod), "model.rod", m.Rod, `"single", "double" or "none"`)
	say(m.Rod != "none" && !(m.RodMMPerTurn > 0), "model.rod_mm_per_turn", m.RodMMPerTurn, "above 0")
	say(len(m.Strings) < 2, "model.string", len(m.Strings), "two strings or more")
	numbers := map[int]bool{}
	for i, str := range m.Strings {
		key := fmt.Sprintf("model.string[%d]", i+1)
		say(str.Number < 1 || numbers[str.Number], key+".number", str.Number, "1 and up, each once")
		numbers[str.Number] = true
		for _, r := range []float64{m.NutRadiusMM, m.LastFretRadiusMM} {
			say(r != 0 && !(r > 2*math.Abs(str.YSaddleMM)), "model radius", r, "0 for a flat board, else more than twice every string's y")
		}
		say((m.NutRadiusMM == 0) != (m.LastFretRadiusMM == 0), "model radius", m.LastFretRadiusMM, "both 0 or neither")
	}
	for i, p := range s.Planted {
		key := fmt.Sprintf("planted[%d]", i+1)
		say(p.Neck < 1 || p.Neck > s.Necks, key+".neck", p.Neck, fmt.Sprintf("1 to %d", s.Necks))
		say(slices.ContainsFunc(s.Planted[:i], func(q Planted) bool { return q.Neck == p.Neck }), key+".neck", p.Neck, "each neck once")
		say(p.What == "", key+".what", `""`, "what was planted, in words")
		say(!slices.Contains(expected, p.Expect), key+".expect", p.Expect, strings.Join(expected, ", "))
		for _, c := range p.Crowns {
			say(c.Fret < 1 || c.Fret > m.Frets, key+".crown.fret", c.Fret, fmt.Sprintf("1 to %d", m.Frets))
		}
		for _, str := range p.Strings {
			say(!numbers[str.Number], key+".string.number", str.Number, "a string of the model")
		}
	}
	for i, g := range s.Gauges {
		say(!slices.Contains(gaugeIDs, g.ID), fmt.Sprintf("gauge[%d].id", i+1), g.ID, strings.Join(gaugeIDs, ", "))
	}
	return all
}
