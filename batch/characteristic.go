package batch

import (
	"fmt"
	"slices"
	"strings"

	"sagitta/inspect"
)

// reworkOrder is the characteristics in the order in which what fails is put right: first what only a repairer can,
// then pitch, relief, frets, nut and action. What is not listed comes last.
var reworkOrder = []string{
	"hump", "twist", "pitch", "relief", "relief_max", "relief_side_difference", "straightness", "flatness", "level_zone", "level_deviation",
	"rocker", "fall_away", "board_radius", "nut_height", "action", "clearance", "clearance_margin",
}

// FirstFailing returns the characteristic outside its limits that comes first in the order of rework, nil when none is.
func FirstFailing(res *inspect.Result) *inspect.Characteristic {
	var first *inspect.Characteristic
	best := 0
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Zone != inspect.Nonconforming {
			continue
		}
		place := slices.Index(reworkOrder, c.Name)
		if place < 0 {
			place = len(reworkOrder)
		}
		if first == nil || place < best {
			first, best = c, place
		}
	}
	return first
}

// Words names a characteristic with what indexes it, e.g. "relief, bass, fret 7".
func Words(c inspect.Characteristic) string {
	words := strings.ReplaceAll(c.Name, "_", " ")
	if c.Track != "" {
		words += ", " + c.Track
	}
	if c.String > 0 {
		words += fmt.Sprintf(", string %d", c.String)
	}
	if c.Fret > 0 {
		words += fmt.Sprintf(", fret %d", c.Fret)
	}
	if c.HeldFret > 0 {
		words += fmt.Sprintf(", held at fret %d", c.HeldFret)
	}
	return words
}
