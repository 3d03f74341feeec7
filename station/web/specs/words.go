package specs

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// specPart is a group of a specification's fields, for reading and for comparing.
type specPart struct {
	Title  string
	Fields []specField
}

// specField is one entry in words.
type specField struct{ Name, Value string }

// nominal writes a length of a specification: as it was written in mm, in inches to 0.00001 in.
func nominal(mm float64, lengths unit.Unit) string {
	if lengths == unit.Inch {
		return minus(strings.TrimRight(strings.TrimRight(strconv.FormatFloat(unit.Inch.From(mm), 'f', 5, 64), "0"), ".")) + " in"
	}
	return minus(show.Plain(mm)) + " mm"
}

// specParts writes a specification out field by field, in the file's order, all of it.
func specParts(s *inspect.Spec, lengths unit.Unit) []specPart {
	mm := func(v float64) string { return nominal(v, lengths) }
	radius := func(v float64) string {
		if v == 0 {
			return "flat"
		}
		return mm(v)
	}
	neck := specPart{"Neck", []specField{
		{"Scale", mm(s.Neck.ScaleMM)},
		{"Frets", strconv.Itoa(s.Neck.Frets)},
		{"Body joint", "fret " + strconv.Itoa(s.Neck.JointFret)},
		{"Board radius at the nut", radius(s.Neck.NutRadiusMM)},
		{"Board radius at the last fret", radius(s.Neck.LastFretRadiusMM)},
		{"Truss rod", tell.Rod(s.Neck.Rod)},
	}}
	if s.Neck.RodTurnsLeft != nil {
		neck.Fields = append(neck.Fields, specField{"Truss rod turns left, tightening", show.Plain(*s.Neck.RodTurnsLeft)})
	}
	parts := []specPart{neck}
	strs := specPart{Title: "Strings"}
	for _, str := range s.Strings {
		strs.Fields = append(strs.Fields, specField{
			fmt.Sprintf("String %d", str.Number),
			fmt.Sprintf("%s, %s Hz, y %s at the nut, %s at the saddle, diameter %s, %s", str.Name, show.Plain(str.PitchHz),
				mm(str.YNutMM), mm(str.YSaddleMM), mm(str.DiameterMM), massWords(str)),
		})
	}
	parts = append(parts, strs)
	if len(s.Tracks) > 0 {
		tracks := specPart{Title: "Tracks"}
		for _, t := range s.Tracks {
			tracks.Fields = append(tracks.Fields, specField{show.Spaced(t.Name), fmt.Sprintf("y %s at the nut, %s at the saddle", mm(t.YNutMM), mm(t.YSaddleMM))})
		}
		parts = append(parts, tracks)
	}
	parts = append(parts,
		specPart{"Relief datum", []specField{
			{"Datum frets", fmt.Sprintf("%d and %d", s.Datum.FirstFret, s.Datum.SecondFret)},
			{"Relief taken at", "fret " + strconv.Itoa(s.Datum.ReliefFret)},
		}},
		specPart{"Decision", decisionFields(s.Decision)},
		specPart{"Uncertainty of one reading, where the gauge brings none", []specField{
			{"Resolution", mm(s.Uncertainty.ResolutionMM)},
			{"Calibration, standard uncertainty", mm(s.Uncertainty.CalibrationMM)},
			{"Repeatability, standard uncertainty", mm(s.Uncertainty.RepeatabilityMM)},
			{"Reference, standard uncertainty", mm(s.Uncertainty.ReferenceMM)},
		}})
	if s.Pluck != nil {
		parts = append(parts, specPart{"Pluck", []specField{
			{"Force normal to the board", show.Plain(s.Pluck.ForceN) + " N"},
			{"Distance from the saddle", mm(s.Pluck.DistanceMM)},
		}})
	}
	if r := s.Routine; r != nil {
		parts = append(parts, specPart{"Routine", []specField{
			{"Pitch", map[string]string{"measured": "measured on every string", "declared": "confirmed by the inspector"}[r.Pitch]},
			{"Tracks", strings.Join(r.Tracks, ", ")},
			{"Profile", r.Profile},
			{"Action over frets", show.NumbersWords(r.ActionFrets)},
			{"Strings", stringsWords(r.Strings)},
			{"Posture", r.Posture},
		}})
	}
	if p := s.Plan; p != nil {
		part := specPart{Title: "Planned yield"}
		if p.FirstPassPercent != nil {
			part.Fields = append(part.Fields, specField{"Passed at the first inspection", show.Plain(*p.FirstPassPercent) + " %"})
		}
		if p.FinalPercent != nil {
			part.Fields = append(part.Fields, specField{"Passed, at whichever inspection", show.Plain(*p.FinalPercent) + " %"})
		}
		parts = append(parts, part)
	}
	if a := s.Alarms; a != nil {
		var charts []string
		for _, name := range a.Characteristics {
			charts = append(charts, inspect.Name(name))
		}
		parts = append(parts, specPart{"Alarms", []specField{
			{"Control charts watched", cmp.Or(strings.Join(charts, ", "), "none")},
			{"Run tests that raise an alarm", show.NumbersWords(a.Tests)},
			{"Yield compared with its plan", fmt.Sprintf("from %d inspected necks on", *a.LeastNecks)},
		}})
	}
	limits := specPart{Title: "Limits"}
	for _, l := range s.Limits {
		limits.Fields = append(limits.Fields, specField{show.LimitName(l), boundsWords(l, lengths)})
	}
	return append(parts, limits)
}

// massWords says where a string's mass per length comes from.
func massWords(s inspect.String) string {
	switch {
	case s.MassGPerM != nil:
		return show.Plain(*s.MassGPerM) + " g/m"
	case s.PlainString:
		return "plain steel"
	}
	return "mass not given"
}

// decisionFields states the decision rule in words (ISO 14253-1, JCGM 106).
func decisionFields(d inspect.Decision) []specField {
	fields := []specField{{"Rule", d.Words()}}
	if d.Rule != "simple" {
		fields = append(fields, specField{"Guard factor", show.Plain(d.Guard())})
	}
	return fields
}

// stringsWords says which strings a routine gauges.
func stringsWords(l inspect.StringList) string {
	if l.Each {
		return "each"
	}
	return show.NumbersWords(l.Numbers)
}

// bounds are a limit's three numbers with their unit, "mm", "deg" or "cents".
func bounds(l inspect.Limit) (lower, target, upper *float64, unit string) {
	switch {
	case l.LowerDeg != nil || l.TargetDeg != nil || l.UpperDeg != nil:
		return l.LowerDeg, l.TargetDeg, l.UpperDeg, "deg"
	case l.LowerCents != nil || l.TargetCents != nil || l.UpperCents != nil:
		return l.LowerCents, l.TargetCents, l.UpperCents, "cents"
	}
	return l.LowerMM, l.TargetMM, l.UpperMM, "mm"
}

// boundsWords writes a limit's bounds as a phrase: "0.2 mm to 0.36 mm, target 0.3 mm".
func boundsWords(l inspect.Limit, lengths unit.Unit) string {
	lower, target, upper, in := bounds(l)
	write := func(v float64) string {
		switch in {
		case "deg":
			return show.Plain(v) + "°"
		case "cents":
			return show.Plain(v) + " cents"
		}
		return nominal(v, lengths)
	}
	words := tell.Between(lower, upper, write)
	if target != nil {
		words += ", target " + write(*target)
	}
	return words
}

// limitRow is one line of the table of limits, numbers apart so that they stand under each other.
type limitRow struct {
	Name, Lower, Target, Upper, Unit string
}

// limitRows lists a specification's limits.
func limitRows(s *inspect.Spec, lengths unit.Unit) []limitRow {
	rows := make([]limitRow, len(s.Limits))
	for i, l := range s.Limits {
		lower, target, upper, in := bounds(l)
		write := func(v *float64) string {
			if v == nil {
				return ""
			}
			if in == "mm" {
				number, _, _ := strings.Cut(nominal(*v, lengths), " ")
				return number
			}
			return show.Plain(*v)
		}
		word := in
		if in == "mm" && lengths == unit.Inch {
			word = "in"
		}
		rows[i] = limitRow{show.LimitName(l), write(lower), write(target), write(upper), word}
	}
	for _, in := range []string{"mm", "in", "deg", "cents"} { // numbers of one unit stand under each other
		var cells []*string
		var texts []string
		for i := range rows {
			if r := &rows[i]; r.Unit == in {
				cells = append(cells, &r.Lower, &r.Target, &r.Upper)
				texts = append(texts, r.Lower, r.Target, r.Upper)
			}
		}
		for i, text := range aligned(texts) {
			*cells[i] = text
		}
	}
	return rows
}

// minus writes a number with a true minus sign.
func minus(number string) string { return strings.Replace(number, "-", "−", 1) }

// aligned pads numbers with zeros to as many decimals as the longest has; empty ones stay empty.
func aligned(numbers []string) []string {
	most := 0
	for _, n := range numbers {
		if _, decimals, found := strings.Cut(n, "."); found {
			most = max(most, len(decimals))
		}
	}
	out := make([]string, len(numbers))
	for i, n := range numbers {
		whole, decimals, _ := strings.Cut(n, ".")
		if n != "" && most > 0 {
			n = whole + "." + decimals + strings.Repeat("0", most-len(decimals))
		}
		out[i] = minus(n)
	}
	return out
}
