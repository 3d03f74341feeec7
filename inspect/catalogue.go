package inspect

import (
	"maps"
	"slices"
)

// kind describes one characteristic: its unit, what indexes it, where it stands in a result and in the order of rework.
type kind struct {
	unit                string
	track, string, fret bool // what indexes its limits
	limited             bool // whether limits may be set on it
	gated               bool // whether it needs the instrument at pitch
	place               int  // in a result's list
	step                string
}

// Steps of rework, in their order: what hinders a later step comes first.
const (
	stepRepairer = "repairer"
	stepPitch    = "pitch"
	stepRod      = "truss rod"
	stepLevel    = "fret level"
	stepNut      = "nut slots"
	stepAction   = "action"
)

var steps = []string{stepRepairer, stepPitch, stepRod, stepLevel, stepNut, stepAction}

// The characteristics' names.
const (
	relief         = "relief"
	reliefMax      = "relief_max"
	sideDifference = "relief_side_difference"
	straightness   = "straightness"
	flatness       = "flatness"
	levelZone      = "level_zone"
	levelDeviation = "level_deviation"
	rocker         = "rocker"
	hump           = "hump"
	fallAway       = "fall_away"
	twist          = "twist"
	boardRadius    = "board_radius"
	action         = "action"
	nutHeight      = "nut_height"
	clearance      = "clearance"
	margin         = "clearance_margin"
	pitch          = "pitch"
	intonation     = "intonation"
	fretPosition   = "fret_position"
)

// kinds is every characteristic by name.
var kinds = map[string]kind{
	relief:         {unit: "mm", track: true, limited: true, gated: true, place: 1, step: stepRod},
	reliefMax:      {unit: "mm", track: true, limited: true, gated: true, place: 2, step: stepRod},
	sideDifference: {unit: "mm", limited: true, gated: true, place: 3, step: stepRod},
	straightness:   {unit: "mm", track: true, limited: true, place: 4, step: stepLevel},
	flatness:       {unit: "mm", limited: true, place: 5, step: stepLevel},
	levelZone:      {unit: "mm", limited: true, place: 6, step: stepLevel},
	levelDeviation: {unit: "mm", track: true, fret: true, limited: true, place: 7, step: stepLevel},
	rocker:         {unit: "mm", track: true, fret: true, limited: true, place: 8, step: stepLevel},
	hump:           {unit: "mm", track: true, limited: true, place: 9, step: stepRepairer},
	fallAway:       {unit: "mm", track: true, limited: true, place: 10, step: stepLevel},
	twist:          {unit: "deg", limited: true, place: 11, step: stepRepairer},
	boardRadius:    {unit: "mm", fret: true, limited: true, place: 12, step: stepLevel},
	action:         {unit: "mm", string: true, fret: true, limited: true, gated: true, place: 13, step: stepAction},
	nutHeight:      {unit: "mm", string: true, limited: true, place: 14, step: stepNut},
	clearance:      {unit: "mm", string: true, limited: true, place: 15, step: stepAction},
	margin:         {unit: "mm", string: true, limited: true, place: 16, step: stepAction},
	pitch:          {unit: "cents", string: true, limited: true, place: 17, step: stepPitch},
	intonation:     {unit: "cents", string: true, fret: true, place: 18},
	fretPosition:   {unit: "mm", fret: true, place: 19},
}

// CharacteristicNames returns the characteristics that a limit may name, in the order in which a result lists them.
func CharacteristicNames() []string {
	names := slices.Collect(maps.Keys(kinds))
	names = slices.DeleteFunc(names, func(n string) bool { return !kinds[n].limited })
	slices.SortFunc(names, func(a, b string) int { return kinds[a].place - kinds[b].place })
	return names
}

// Bounds returns a limit's lower bound, target and upper bound in its characteristic's unit, nil where left out.
func (l *Limit) Bounds() (lower, target, upper *float64) {
	switch kinds[l.Characteristic].unit {
	case "deg":
		return l.LowerDeg, l.TargetDeg, l.UpperDeg
	case "cents":
		return l.LowerCents, l.TargetCents, l.UpperCents
	}
	return l.LowerMM, l.TargetMM, l.UpperMM
}
