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

// OwnPoint is the key of the one point that a characteristic stands for, "" where several share it.
func OwnPoint(c inspect.Characteristic) string {
	p, ok := inspect.OwnPoint(c)
	if !ok {
		return ""
	}
	return Key(batch.Point{Kind: batch.Kind(p.Kind), Track: p.Track, Fret: p.Fret, String: p.String, HeldFret: p.HeldFret})
}

// Limits are the tolerance of the characteristic that a point of a string's height decides alone; nil where it has none.
func (p *Progress) Limits(point batch.Point) (lower, target, upper *float64) {
	if p.Result == nil || point.Kind != batch.ActionHeight && point.Kind != batch.NutHeight {
		return nil, nil, nil
	}
	for _, c := range p.Result.Characteristics {
		if OwnPoint(c) == Key(point) {
			return c.Lower, c.Target, c.Upper
		}
	}
	return nil, nil, nil
}
