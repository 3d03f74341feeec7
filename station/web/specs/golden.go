package specs

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// What the part about a golden neck is sent for: to look at its values, and to take limits around them.
const (
	actGolden     = "golden"
	actGoldenTake = "golden take"
)

// goldenPart offers limits around the values of a measured neck.
type goldenPart struct {
	Serial, Attempt form.Field
	Sentence        string
	Groups          []goldenGroup
}

// goldenGroup is a characteristic with its tolerance and the limits that this gives.
type goldenGroup struct {
	Take, Tolerance form.Field
	Limits          []goldenLimit
	Replaces        string
}

// goldenLimit is one limit around a value.
type goldenLimit struct {
	Name, Value, Bounds string
	limit               inspect.Limit
}

// goldenFields ask which neck is meant.
func goldenFields(c *site.Request) goldenPart {
	return goldenPart{
		Serial:  form.Field{Name: "golden.serial", Label: "Serial number of the golden neck", Kind: "text", Value: strings.TrimSpace(c.PostForm("golden.serial"))},
		Attempt: form.Field{Name: "golden.attempt", Label: "Attempt", Kind: "number", Allowed: "empty: the newest with a verdict", Value: strings.TrimSpace(c.PostForm("golden.attempt"))},
	}
}

// golden looks at a measured neck, and takes limits around its values where that is asked for.
func (s *server) golden(c *site.Request, sh *sheet, p *sheetPage, act string) error {
	sh.at, p.Golden = "golden", goldenFields(c)
	result, words, err := s.measured(c, &p.Golden)
	if err != nil || result == nil {
		return err
	}
	groups, ok := goldenGroups(c, sh, result)
	p.Golden.Sentence, p.Golden.Groups = words, groups
	if act != actGoldenTake || !ok {
		return nil
	}
	var names []string
	for _, g := range groups {
		if g.Take.Options[0].On {
			sh.replaceLimits(g)
			names = append(names, tell.Lower(g.Take.Options[0].Label))
		}
	}
	if len(names) == 0 {
		p.Golden.Sentence = "No characteristic is ticked: nothing was taken."
		return nil
	}
	p.Golden.Groups = nil
	p.Golden.Sentence = "Limits around " + p.Golden.Serial.Value + " were taken: " + strings.Join(names, ", ") + ". They stand above."
	sh.at = "limit"
	sh.read()
	return nil
}

// measured finds the verdict of the neck that is meant; nil where a field says what is wrong.
func (s *server) measured(c *site.Request, g *goldenPart) (*inspect.Result, string, error) {
	ctx := c.Request.Context()
	if g.Serial.Value == "" {
		g.Serial.Fail("Nothing is here. Give the serial number of a measured neck.")
		return nil, "", nil
	}
	neck, err := s.opt.Record.Neck(ctx, g.Serial.Value)
	if batch.KindOf(err) == batch.Absent {
		g.Serial.Fail("%s", tell.Sentence(err))
		return nil, "", nil
	} else if err != nil {
		return nil, "", err
	}
	attempts, err := s.opt.Record.Inspections(ctx, neck.ID)
	if err != nil {
		return nil, "", err
	}
	wanted, err := strconv.Atoi(cmp.Or(g.Attempt.Value, "0"))
	if err != nil || wanted < 0 {
		g.Attempt.Fail("%q is not the number of an attempt.", g.Attempt.Value)
		return nil, "", nil
	}
	for _, in := range slices.Backward(attempts) {
		if wanted != 0 && in.Attempt != wanted {
			continue
		}
		v, err := s.opt.Record.CountingVerdict(ctx, in.ID)
		if err != nil {
			return nil, "", err
		}
		if v != nil && v.Result != nil {
			return v.Result, fmt.Sprintf("%s, attempt %d: %s. Nothing is taken yet: tick what is to be limited, and change the tolerances.", neck.Serial, in.Attempt, v.Disposition), nil
		}
	}
	if wanted != 0 {
		g.Attempt.Fail("%s has no attempt %d with a verdict; it has %s.", neck.Serial, wanted, tell.Count(len(attempts), "attempt"))
	} else {
		g.Serial.Fail("%s has no verdict yet: measure it first.", neck.Serial)
	}
	return nil, "", nil
}

// goldenGroups works out the limits around a neck's values; ok is false where a tolerance is wrong.
func goldenGroups(c *site.Request, sh *sheet, result *inspect.Result) (groups []goldenGroup, ok bool) {
	ok = true
	ticked := c.PostFormArray("golden.take")
	for _, k := range inspect.Catalogue() {
		usual := k.Around
		rows := slices.DeleteFunc(slices.Clone(result.Characteristics), func(r inspect.Characteristic) bool { return r.Name != k.Name || r.Value == nil })
		if usual == 0 || len(rows) == 0 {
			continue
		}
		g := goldenGroup{
			Take: form.Field{Name: "golden.take", ID: "golden.take." + k.Name, Kind: "check", Label: "Take", Options: []form.Option{{Value: k.Name, Label: tell.Upper(k.Words), On: slices.Contains(ticked, k.Name)}}},
			Tolerance: form.Field{Name: "golden.tolerance." + k.Name, Kind: "number", Label: "Tolerance", Unit: tell.Scale{Of: k.Unit, In: sh.lengths}.Symbol(),
				Allowed: "to each side; proposed by common practice", Value: strings.TrimSpace(c.PostForm("golden.tolerance." + k.Name))},
		}
		length := k.Unit == "mm"
		if g.Tolerance.Value == "" {
			g.Tolerance.Value = sh.write(byPath["limit.lower"], usual, length)
		}
		tolerance, err := sh.number(g.Tolerance.Value, length)
		if err != nil || !(tolerance >= 0 && tolerance <= 1000) {
			g.Tolerance.Fail("%q is not a tolerance from 0 on.", g.Tolerance.Value)
			ok = false
			groups = append(groups, g)
			continue
		}
		for _, l := range around(k, rows, tolerance) {
			g.Limits = append(g.Limits, told(l, sh.lengths))
		}
		if n := len(sh.rowsOf(k.Name)); n > 0 {
			g.Replaces = "takes the place of " + tell.Count(n, "limit")
		}
		groups = append(groups, g)
	}
	return groups, ok
}

// golden value and its limit before it is told.
type aroundValue struct {
	value float64
	u     *float64
	of    string // "largest of 44", "" for one value
	limit inspect.Limit
}

// around are the limits around a characteristic's values: where it has a value at every fret one for all of them, which holds the
// farthest; elsewhere one for each place. A width and a buzz have one bound.
func around(k inspect.Kind, rows []inspect.Characteristic, tolerance float64) []aroundValue {
	if !k.AtEveryFret() {
		var all []aroundValue
		for _, r := range rows {
			l := inspect.Limit{Characteristic: k.Name, Track: r.Track, HeldFret: r.HeldFret}
			if k.String {
				l.String = inspect.NumberIndex(r.String)
			}
			if k.Fret {
				l.Fret = inspect.NumberIndex(r.Fret)
			}
			v := *r.Value
			all = append(all, aroundValue{value: v, u: r.U, limit: bounded(l, k, v, v, tolerance)})
		}
		return all
	}
	l := inspect.Limit{Characteristic: k.Name, Fret: inspect.EachIndex()}
	if k.Track {
		l.Track = "each"
	}
	least, most := *rows[0].Value, *rows[0].Value
	for _, r := range rows {
		least, most = min(least, *r.Value), max(most, *r.Value)
	}
	far := most
	if k.Signed {
		far = max(math.Abs(least), math.Abs(most))
		least, most = -far, far
	}
	return []aroundValue{{value: far, of: fmt.Sprintf("farthest of %d", len(rows)), limit: bounded(l, k, least, most, tolerance)}}
}

// bounded gives a limit its bounds around values, to a hundredth of the unit.
func bounded(l inspect.Limit, k inspect.Kind, least, most, tolerance float64) inspect.Limit {
	round := func(v float64) *float64 { return new(math.Round(v*100) / 100) }
	lower, target, upper := round(least-tolerance), (*float64)(nil), round(most+tolerance)
	if least == most {
		target = new(min(max(*round(least), *lower), *upper))
	}
	switch {
	case k.Width:
		lower, target = nil, nil
	case k.Name == inspect.LeastClearance || k.Name == inspect.ClearanceMargin:
		upper, target = nil, nil
	}
	switch k.Unit {
	case "deg":
		l.LowerDeg, l.TargetDeg, l.UpperDeg = lower, target, upper
	case "cents":
		l.LowerCents, l.TargetCents, l.UpperCents = lower, target, upper
	default:
		l.LowerMM, l.TargetMM, l.UpperMM = lower, target, upper
	}
	return l
}

// told words a limit and the value that it is around.
func told(a aroundValue, lengths unit.Unit) goldenLimit {
	scale := tell.Scale{Of: inspect.KindOf(a.limit.Characteristic).Unit, In: lengths}
	value := scale.Value(a.value)
	if a.u != nil {
		value = scale.Number(a.value) + " ± " + scale.Value(2**a.u)
	}
	if a.of != "" {
		value = a.of + ": " + value
	}
	return goldenLimit{Name: tell.LimitName(a.limit), Value: value, Bounds: tell.Bounds(a.limit, lengths), limit: a.limit}
}

// rowsOf are the rows of limits of a characteristic.
func (s *sheet) rowsOf(characteristic string) []string {
	var rows []string
	for _, id := range s.rows["limit"] {
		if s.typed["limit."+id+".characteristic"] == characteristic {
			rows = append(rows, "limit."+id)
		}
	}
	return rows
}

// replaceLimits puts limits in the place of those that their characteristic has.
func (s *sheet) replaceLimits(g goldenGroup) {
	if len(g.Limits) == 0 {
		return
	}
	for _, row := range s.rowsOf(g.Limits[0].limit.Characteristic) {
		s.removeRow(row)
	}
	for _, gl := range g.Limits {
		row, l := s.addRow("limit", ""), gl.limit
		length := inspect.KindOf(l.Characteristic).Unit == "mm"
		s.typed[row+".characteristic"], s.typed[row+".track"] = l.Characteristic, l.Track
		s.typed[row+".string"], s.typed[row+".fret"] = l.String.String(), l.Fret.String()
		if l.HeldFret > 0 {
			s.typed[row+".held_fret"] = strconv.Itoa(l.HeldFret)
		}
		lower, target, upper := l.Bounds()
		for name, v := range map[string]*float64{"lower": lower, "target": target, "upper": upper} {
			if v != nil {
				s.typed[row+"."+name] = s.write(byPath["limit."+name], *v, length)
			}
		}
	}
}
