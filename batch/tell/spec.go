package tell

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Part is a group of a specification's fields, for reading and for comparing.
type Part struct {
	Title  string
	Fields []Field
}

// Field is one entry in words.
type Field struct{ Name, Value string }

// SquareFret names the perpendicular fret of a multi-scale neck: "fret 7", "the nut", "between frets 7 and 8 (7.5)".
func SquareFret(p float64) string {
	switch whole := math.Floor(p); {
	case p == 0:
		return "the nut"
	case p == whole:
		return "fret " + exact(p)
	case whole == 0:
		return "between the nut and fret 1 (" + exact(p) + ")"
	default:
		return fmt.Sprintf("between frets %s and %s (%s)", exact(whole), exact(whole+1), exact(p))
	}
}

// Spec writes a specification out field by field, in the file's order, all of it; strings from bass to treble.
func Spec(s *inspect.Spec, in unit.Unit) []Part {
	mm := func(v float64) string { return Nominal(v, in) }
	parts := []Part{neckPart(s, in)}
	strs := Part{Title: "Strings"}
	for _, str := range BassToTreble(s.Strings) {
		strs.Fields = append(strs.Fields, Field{
			fmt.Sprintf("String %d", str.Number),
			fmt.Sprintf("%s, %s Hz, y %s at the nut, %s at the saddle, diameter %s, %s", str.Name, exact(str.PitchHz),
				mm(str.YNutMM), mm(str.YSaddleMM), mm(str.DiameterMM), Mass(str)+material(str)),
		})
	}
	parts = append(parts, strs)
	if len(s.Tracks) > 0 {
		tracks := Part{Title: "Tracks"}
		for _, t := range s.Tracks {
			tracks.Fields = append(tracks.Fields, Field{strings.ReplaceAll(t.Name, "_", " "), fmt.Sprintf("y %s at the nut, %s at the saddle", mm(t.YNutMM), mm(t.YSaddleMM))})
		}
		parts = append(parts, tracks)
	}
	parts = append(parts,
		Part{"Relief datum", []Field{
			{"Datum frets", fmt.Sprintf("%d and %d", s.Datum.FirstFret, s.Datum.SecondFret)},
			{"Relief taken at", "fret " + strconv.Itoa(s.Datum.ReliefFret)},
		}},
		Part{"Decision", decisionFields(s.Decision)},
		Part{"Uncertainty of one reading, where the gauge brings none", []Field{
			{"Resolution", mm(s.Uncertainty.ResolutionMM)},
			{"Calibration, standard uncertainty", mm(s.Uncertainty.CalibrationMM)},
			{"Repeatability, standard uncertainty", mm(s.Uncertainty.RepeatabilityMM)},
			{"Reference, standard uncertainty", mm(s.Uncertainty.ReferenceMM)},
		}})
	if s.Pluck != nil {
		parts = append(parts, Part{"Pluck", []Field{
			{"Force normal to the board", exact(s.Pluck.ForceN) + " N"},
			{"Distance from the saddle", mm(s.Pluck.DistanceMM)},
		}})
	}
	if s.Routine != nil {
		parts = append(parts, routinePart(s.Routine, in))
	}
	if s.Plan != nil {
		parts = append(parts, planned(*s.Plan))
	}
	if a := s.Alarms; a != nil {
		var charts []string
		for _, name := range a.Characteristics {
			charts = append(charts, inspect.Name(name))
		}
		parts = append(parts, Part{"Alarms", []Field{
			{"Control charts watched", cmp.Or(strings.Join(charts, ", "), "none")},
			{"Run tests that raise an alarm", numbers(a.Tests)},
			{"Weighted moving average (EWMA) watched", either(*a.EWMA, "yes", "no")},
			{"Yield compared with its plan", fmt.Sprintf("from %s on", Count(*a.LeastNecks, "inspected neck"))},
		}})
	}
	limits := Part{Title: "Limits"}
	for _, l := range s.Limits {
		limits.Fields = append(limits.Fields, Field{LimitName(l), Bounds(l, in)})
	}
	return append(parts, limits)
}

// neckPart is what the neck is.
func neckPart(s *inspect.Spec, in unit.Unit) Part {
	mm := func(v float64) string { return Nominal(v, in) }
	radius := func(v float64) string {
		if v == 0 {
			return "flat"
		}
		return mm(v)
	}
	scales := []Field{{"Scale", mm(s.Neck.Scale())}}
	if s.Neck.ScaleIN != 0 && in == unit.Millimetre {
		scales[0].Value += " (" + exact(s.Neck.ScaleIN) + " in)"
	}
	if s.Neck.MultiScale() {
		scales = []Field{
			{"Scale, outermost bass string", mm(s.Neck.ScaleBassMM)},
			{"Scale, outermost treble string", mm(s.Neck.ScaleTrebleMM)},
			{"Square to the centre line", SquareFret(s.Neck.Perpendicular())},
		}
	}
	part := Part{"Neck", append(scales, []Field{
		{"Frets", strconv.Itoa(s.Neck.Frets)},
		{"Body joint", "fret " + strconv.Itoa(s.Neck.JointFret)},
		{"Board radius at the nut", radius(s.Neck.NutRadiusMM)},
		{"Board radius at the last fret", radius(s.Neck.LastFretRadiusMM)},
		{"Truss rod", Rod(s.Neck.Rod)},
	}...)}
	part.Fields = append(part.Fields, instrumentFields(&s.Neck)...)
	if s.Neck.RodTurnsLeft != nil {
		part.Fields = append(part.Fields, Field{"Truss rod turns left, tightening", exact(*s.Neck.RodTurnsLeft)})
	}
	return part
}

// routinePart is what is measured, and how.
func routinePart(r *inspect.Routine, in unit.Unit) Part {
	part := Part{"Routine", []Field{
		{"Pitch", map[string]string{"measured": "measured on every string", "declared": "confirmed by the inspector"}[r.Pitch]},
		{"Tracks", strings.Join(r.Tracks, ", ")},
		{"Profile", r.Profile},
		{"Action over frets", numbers(r.ActionFrets)},
		{"Strings", stringsWords(r.Strings)},
		{"Posture", r.Posture},
		{"Closing reading", map[bool]string{true: "yes", false: "no"}[r.Closing == nil || *r.Closing]},
	}}
	if r.Whole {
		part.Fields = append(part.Fields, Field{"After rework", "everything is measured again"})
	}
	if r.TwoSign {
		part.Fields = append(part.Fields, Field{"A concession takes", "two people, where people sign on"})
	}
	if r.Repairs != "" {
		part.Fields = append(part.Fields, Field{"What is more than a set-up", map[string]string{inspect.ByRepairer: "goes to a repairer", inspect.Myself: "is done by whoever measures"}[r.Repairs]})
	}
	if r.TaktS != nil {
		part.Fields = append(part.Fields, Field{"Time for a neck", exact(*r.TaktS) + " s"})
	}
	part.Fields = append(part.Fields, leavesFields(r.LeavesMM, in)...)
	return part
}

// instrumentFields say what kind of instrument it is, as far as that is given.
func instrumentFields(n *inspect.NeckSpec) []Field {
	var fields []Field
	end := ""
	if n.RodEnd != "" {
		end = "at the " + n.RodEnd
	}
	for _, f := range []Field{{"Instrument", n.Kind}, {"Joint of neck and body", n.Joint}, {"Bridge", n.Bridge}, {"The rod's nut is turned", end}} {
		if f.Value != "" {
			fields = append(fields, f)
		}
	}
	if n.ZeroFret {
		fields = append(fields, Field{"Zero fret", "yes: the nut only guides the strings"})
	}
	return fields
}

// planned is the yield that is planned and what may fail first.
func planned(p inspect.Plan) Part {
	part := Part{Title: "Planned yield"}
	if p.FirstPassPercent != nil {
		part.Fields = append(part.Fields, Field{"Passed at the first inspection", exact(*p.FirstPassPercent) + " %"})
	}
	if p.FinalPercent != nil {
		part.Fields = append(part.Fields, Field{"Passed, at whichever inspection", exact(*p.FinalPercent) + " %"})
	}
	for _, r := range p.Reasons {
		part.Fields = append(part.Fields, Field{"Failed first by " + inspect.Name(r.Characteristic), exact(r.MostPercent) + " % at most"})
	}
	return part
}

// Mass says where a string's mass per length comes from.
func Mass(s inspect.String) string {
	switch {
	case s.MassGPerM != nil:
		return exact(*s.MassGPerM) + " g/m"
	case s.PlainString:
		return "plain steel"
	}
	mass, u := s.Mass()
	return fmt.Sprintf("about %.2f ± %.2f g/m, estimated from the diameter", mass, 2*u)
}

// material says what a string is made of where that is given.
func material(s inspect.String) string {
	if s.Material == "" {
		return ""
	}
	return ", " + s.Material
}

// leavesFields are the shop's feeler leaves, nothing where none are named.
func leavesFields(mm []float64, in unit.Unit) []Field {
	if len(mm) == 0 {
		return nil
	}
	leaves := make([]string, len(mm))
	for i, leaf := range mm {
		leaves[i] = NominalNumber(leaf, in)
	}
	return []Field{{"Feeler leaves of the shop", strings.Join(leaves, ", ") + " " + in.String()}}
}

// decisionFields states the decision rule in words (ISO 14253-1, JCGM 106).
func decisionFields(d inspect.Decision) []Field {
	fields := []Field{{"Rule", d.Words()}}
	if d.Rule != "simple" {
		fields = append(fields, Field{"Guard factor", exact(d.Guard())})
	}
	return fields
}

// stringsWords says which strings a routine gauges.
func stringsWords(l inspect.StringList) string {
	if l.Each {
		return "each"
	}
	return numbers(l.Numbers)
}

// BassToTreble are a specification's strings from the lowest to the highest: number 1 is the last.
func BassToTreble(all []inspect.String) []inspect.String {
	return slices.SortedFunc(slices.Values(all), func(a, b inspect.String) int { return cmp.Compare(b.Number, a.Number) })
}

// numbers lists numbers.
func numbers(all []int) string {
	if len(all) == 0 {
		return "none"
	}
	words := make([]string, len(all))
	for i, n := range all {
		words[i] = strconv.Itoa(n)
	}
	return strings.Join(words, ", ")
}

// Bounds writes a limit's bounds as a phrase: "0.2 mm to 0.36 mm, target 0.3 mm".
func Bounds(l inspect.Limit, in unit.Unit) string {
	write := func(v float64) string {
		switch inspect.KindOf(l.Characteristic).Unit {
		case "deg":
			return exact(v) + "°"
		case "cents":
			return exact(v) + " cents"
		}
		return Nominal(v, in)
	}
	lower, target, upper := l.Bounds()
	words := Between(lower, upper, write)
	if target != nil {
		words += ", target " + write(*target)
	}
	return words
}

// LimitName names what a limit bounds: "relief, each track".
func LimitName(l inspect.Limit) string {
	name := inspect.Name(l.Characteristic)
	if l.Track != "" {
		if l.Track == "each" {
			name += ", each track"
		} else {
			name += ", " + l.Track + " track"
		}
	}
	for _, ix := range []struct {
		of string
		n  inspect.Index
	}{{"string", l.String}, {"fret", l.Fret}} {
		switch {
		case ix.n.Each:
			name += ", each " + ix.of
		case ix.n.Number > 0:
			name += fmt.Sprintf(", %s %d", ix.of, ix.n.Number)
		}
	}
	if l.HeldFret > 0 {
		name += ", " + inspect.Pressed(l.HeldFret)
	}
	return name
}
