package export

import (
	"fmt"
	"math"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// about says what was made, against which specification, judged how.
func (s *summary) about() {
	spec := s.batch.Spec.Spec
	s.section("What was inspected")
	s.fact(tell.Plural(len(s.stations), "Station", "Stations"), strings.Join(s.stations, ", "))
	s.fact("Batch", s.batch.Number)
	s.fact("Note", s.batch.Note)
	s.fact("Opened", join(s.moment(s.batch.OpenedAt), s.batch.OpenedBy))
	if s.batch.ClosedAt.IsZero() {
		s.fact("Closed", "still open")
	} else {
		s.fact("Closed", s.moment(s.batch.ClosedAt))
	}
	s.fact("Specification", s.batch.Spec.Name+", revision "+s.batch.Spec.Revision)
	s.fact("Neck", s.geometry(&spec.Neck))
	s.fact("Relief", s.datum(spec))
	s.fact("Decision rule", spec.Decision.Words())
}

// join puts two parts of a line together, "by" between them.
func join(at, by string) string {
	if by == "" {
		return at
	}
	return strings.TrimSpace(at + " by " + by)
}

// size is a nominal length with its unit, without trailing zeros.
func (s *summary) size(mm float64) string {
	digits := math.Pow10(3)
	return fmt.Sprintf("%g %s", math.Round(s.unit.From(mm)*digits)/digits, s.unit.String())
}

// scales is a neck's scale in words, or the two of its outer strings and the fret that is square.
func (s *summary) scales(n *inspect.NeckSpec) string {
	if !n.MultiScale() {
		return "scale " + s.size(n.Scale())
	}
	return fmt.Sprintf("scale %s at the bass to %s at the treble, %s square to the centre line", s.size(n.ScaleBassMM), s.size(n.ScaleTrebleMM), tell.SquareFret(n.Perpendicular()))
}

// geometry is the model in words.
func (s *summary) geometry(n *inspect.NeckSpec) string {
	radius := func(mm float64) string {
		if mm == 0 {
			return "flat"
		}
		return s.size(mm)
	}
	text := fmt.Sprintf("%s, %d frets, body joint at fret %d, board radius %s", s.scales(n), n.Frets, n.JointFret, radius(n.NutRadiusMM))
	if n.LastFretRadiusMM != n.NutRadiusMM {
		text += " at the nut to " + radius(n.LastFretRadiusMM) + " at the last fret"
	}
	if n.Rod == "none" {
		return text + ", no truss rod"
	}
	return text + ", " + tell.Rod(n.Rod) + " truss rod"
}

// datum says over which frets relief is taken, and the posture.
func (s *summary) datum(spec *inspect.Spec) string {
	d := spec.Datum
	text := fmt.Sprintf("at fret %d over the chord from fret %d to fret %d; positive is forward bow", d.ReliefFret, d.FirstFret, d.SecondFret)
	if spec.Routine != nil && spec.Routine.Posture != "" {
		text += "; neck in " + map[string]string{"playing": "playing position", "flat": "flat position"}[spec.Routine.Posture]
	}
	return text
}

// limits lists all limits.
func (s *summary) limits() {
	s.section("Limits")
	limits := s.batch.Spec.Spec.Limits
	if len(limits) == 0 {
		s.across(0, "The specification sets no limits: nothing was judged.", look{}, whole)
		s.row++
		return
	}
	s.heads("Characteristic", "Where", "Lower", "Target", "Upper", "Unit")
	for i := range limits {
		l := &limits[i]
		unit, values := "mm", [3]*float64{l.LowerMM, l.TargetMM, l.UpperMM}
		switch {
		case l.LowerDeg != nil || l.TargetDeg != nil || l.UpperDeg != nil:
			unit, values = "deg", [3]*float64{l.LowerDeg, l.TargetDeg, l.UpperDeg}
		case l.LowerCents != nil || l.TargetCents != nil || l.UpperCents != nil:
			unit, values = "cents", [3]*float64{l.LowerCents, l.TargetCents, l.UpperCents}
		}
		place := limitPlace(l)
		s.cell(0, inspect.Name(l.Characteristic), look{})
		s.cell(1, place, look{right: true, wrap: true})
		for j, v := range values {
			if v == nil {
				s.cell(2+j, "none", look{right: true, color: faint})
				continue
			}
			s.cell(2+j, s.unit.shown(*v, unit), look{format: numberFormat(decimalsOf(unit, s.decimals)), right: true})
		}
		s.cell(5, s.unit.label(unit), look{right: true})
		s.height(float64(14*wrapped(place, where) + 2))
		s.row++
	}
}

// limitPlace says where a limit applies.
func limitPlace(l *inspect.Limit) string {
	var parts []string
	if l.Track != "" {
		parts = append(parts, indexed(l.Track == "each", l.Track, "track"))
	}
	for _, x := range []struct {
		index inspect.Index
		noun  string
	}{{l.String, "string"}, {l.Fret, "fret"}} {
		if x.index.Each || x.index.Number > 0 {
			parts = append(parts, indexed(x.index.Each, fmt.Sprintf("%s %d", x.noun, x.index.Number), x.noun))
		}
	}
	if l.HeldFret > 0 {
		parts = append(parts, inspect.Pressed(l.HeldFret))
	}
	if len(parts) == 0 {
		return "whole neck"
	}
	return strings.Join(parts, ", ")
}

// indexed is one place, or each of them.
func indexed(each bool, one, noun string) string {
	if each {
		return "each " + noun
	}
	return one
}

// gaugeLines lists the gauges with their certificates.
func (s *summary) gaugeLines() {
	s.section("Gauges")
	if len(s.gauges) == 0 {
		s.across(0, "No gauge is on record: the readings were typed by hand.", look{}, whole)
		s.row++
		return
	}
	s.heads("Gauge", "Resolution, "+s.unit.String(), "Certificate", "Due", "Calibration", "Last check")
	from := s.row
	for i := range s.gauges {
		g := &s.gauges[i]
		s.cell(0, g.Name, look{wrap: true})
		if g.ResolutionMM > 0 {
			s.cell(1, s.unit.From(g.ResolutionMM), look{format: numberFormat(s.decimals), right: true})
		}
		s.cell(2, g.Certificate, look{right: true, wrap: true})
		if !g.CertificateDue.IsZero() {
			s.cell(3, g.CertificateDue.UTC(), look{format: dayFormat, right: true})
		}
		s.cell(4, s.due(&g.Gauge), look{right: true})
		check := noCheck
		if n := len(g.Checks); n > 0 {
			check = tell.Checked(g.Checks[n-1].Good)
		}
		s.cell(5, check, look{right: true})
		s.height(float64(14*max(wrapped(g.Name, label), wrapped(g.Certificate, narrow)) + 2))
		s.row++
	}
	s.keep(s.colour("Summary", fmt.Sprintf("E%d:E%d", from, s.row-1), dueWords))
	s.keep(s.colour("Summary", fmt.Sprintf("F%d:F%d", from, s.row-1), checkWords))
}

// meanings explains the words and marks of the workbook.
func (s *summary) meanings() {
	s.section("What the words mean")
	s.fact("undecided", "The value is so near a limit that, with its uncertainty, the decision rule gives neither conforming nor nonconforming. Marked ? in Necks.")
	s.fact("remeasure", "Nothing on the neck is nonconforming, but something is undecided or was not measured. Such a neck is measured again; until it has another verdict it does not count as inspected.")
	s.fact("out", "Marks a value outside its limits in Necks. The state is the one that the verdict gave, under the revision above.")
	s.fact("margin", "Distance of a value to its nearer limit, in multiples of its expanded uncertainty U = 2 u; negative is outside.")
	s.fact("laying", "Of a crown's reading: while neck and carriage keep their places, all crowns lie in one plane, and that is one laying. Parking, another neck, a check or a study of a gauge, a restart, a lost line of the carriage or the inspector's word ends it. Crowns of an earlier laying count after some were measured again that agree, carried over by what these show with the uncertainty that it adds; else they are taken back and measured again. Empty: nothing depends on how the neck lies.")
	s.fact("replaced, taken back", "Readings are never edited: one that was replaced by another or taken back stays in Readings, with who, when and why.")
}
