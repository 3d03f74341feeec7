package routine

import (
	"sagitta/batch"
	"sagitta/inspect"
)

// colour gives every point the state of the worst characteristic that rests on it alone.
func (p *Progress) colour() {
	zones := map[string]inspect.Zone{}
	for _, c := range p.Result.Characteristics {
		if key := OwnPoint(c); key != "" && c.Zone.Rank() > zones[key].Rank() {
			zones[key] = c.Zone
		}
	}
	for i := range p.Points {
		p.Points[i].Zone = inspect.NoLimit
		if z, ok := zones[p.Points[i].Key]; ok {
			p.Points[i].Zone = z
		}
	}
}

// OwnPoint is the key of the one point that decides a characteristic, "" where several do.
func OwnPoint(c inspect.Characteristic) string {
	switch c.Name {
	case "rocker", "level_deviation":
		return Key(batch.Point{Kind: batch.Crown, Track: c.Track, Fret: c.Fret})
	case "action":
		return Key(batch.Point{Kind: batch.ActionHeight, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret})
	case "nut_height":
		return Key(batch.Point{Kind: batch.NutHeight, String: c.String})
	case "pitch":
		return Key(batch.Point{Kind: batch.Pitch, String: c.String})
	case "relief":
		if c.Method == "beam" {
			return Key(batch.Point{Kind: batch.BeamReading, Track: c.Track, Fret: c.Fret})
		}
	}
	return ""
}

// Limits are the tolerance of the characteristic that a point of a string's height decides alone; nil where it has none.
func (p *Progress) Limits(point batch.Point) (lower, target, upper *float64) {
	if p.Result == nil || point.Kind != batch.ActionHeight && point.Kind != batch.NutHeight {
		return nil, nil, nil
	}
	for _, c := range p.Result.Characteristics {
		if (c.Name == "action" || c.Name == "nut_height") && OwnPoint(c) == Key(point) {
			return c.Lower, c.Target, c.Upper
		}
	}
	return nil, nil, nil
}
