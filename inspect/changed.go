package inspect

import (
	"slices"
	"time"
)

// Work is something that was done to a neck between two inspections.
type Work struct {
	What   string // a step of rework, or WorkStrings
	String int    // that it was done at; 0 where it was done at all, or nobody said at which
}

// WorkStrings is work that no advice asks for: other strings pull otherwise.
const WorkStrings = "other strings"

// Works returns the names of all work that may be recorded: the steps of rework, then other strings.
func Works() []string { return append(Steps(), WorkStrings) }

// reach is where work can have changed a characteristic.
type reach int

const (
	nowhere reach = iota
	near          // at the string that was worked at and at its neighbours: they share a nut and often a saddle
	anywhere
)

// changedBy says what each kind of work can have changed; a kind that is not in it can have changed everything: levelling, a repair, other
// strings. Common practice, no source. Every kind of work takes the strings off pitch.
//
// A nut slot or a saddle moves one end of a string. Turning the rod, or tuning, bends the neck before the joint: what is told from the bend
// curve stays as it is, what is told from a straight line does not.
var changedBy = map[string]map[string]reach{
	StepNut:    ofString,
	StepAction: ofString,
	StepRod:    ofBow,
	StepPitch:  ofBow,
}

var (
	ofString = map[string]reach{Pitch: anywhere, NutHeight: near, Action: near, LeastClearance: near, ClearanceMargin: near, Intonation: near}
	ofBow    = map[string]reach{
		Pitch: anywhere, NutHeight: anywhere, Action: anywhere, LeastClearance: anywhere, ClearanceMargin: anywhere, Intonation: anywhere,
		Relief: anywhere, ReliefMax: anywhere, SideDifference: anywhere, Straightness: anywhere, Flatness: anywhere,
	}
)

// CanChange reports that work can have changed a characteristic of a neck.
func (w Work) CanChange(s *Spec, c Characteristic) bool {
	changed, known := changedBy[w.What]
	if !known {
		return true
	}
	switch changed[c.Name] {
	case anywhere:
		return true
	case near:
		oneBridge := w.What == StepAction && s.Neck.BridgeKind() != SaddlePerString // moves all strings
		zeroFret := w.What == StepNut && s.Neck.ZeroFret                            // carries all strings
		return w.String == 0 || oneBridge || zeroFret || slices.Contains(s.besides(w.String), c.String)
	}
	return false
}

// besides returns a string and its neighbours across the board.
func (s *Spec) besides(number int) []int {
	across := slices.Clone(s.Strings)
	slices.SortStableFunc(across, func(a, b String) int {
		switch {
		case a.YNutMM < b.YNutMM:
			return -1
		case a.YNutMM > b.YNutMM:
			return 1
		}
		return 0
	})
	at := slices.IndexFunc(across, func(t String) bool { return t.Number == number })
	if at < 0 {
		return s.StringNumbers() // which one it was cannot be told
	}
	var numbers []int
	for i := max(at-1, 0); i <= min(at+1, len(across)-1); i++ {
		numbers = append(numbers, across[i].Number)
	}
	return numbers
}

// CarriedFrom is the inspection that a characteristic was measured in, where a later one carried it over.
type CarriedFrom struct {
	Attempt int       `json:"attempt"`
	At      time.Time `json:"at"` // when it was judged
}

// Carry returns what of an earlier result need not be measured again after work on the neck: what none of the work can have changed,
// and what was measured and conformed, or has no limit. Without any work it is nothing: whoever inspects once more wants to know anew. from is that
// inspection; what it had carried over itself keeps its own.
func Carry(s *Spec, earlier *Result, from CarriedFrom, works []Work) []Characteristic {
	if len(works) == 0 {
		return nil
	}
	works = slices.Clone(works)
	for i := range works {
		if works[i].What == StepNut && slotTooLow(earlier, works[i].String) {
			works[i].String = 0 // filled, or the nut was changed: nobody says which
		}
	}
	var carried []Characteristic
	for _, c := range earlier.Characteristics {
		told := c.Value != nil || c.Method == ByLeaves
		if !told || c.Zone != Conforming && c.Zone != NoLimit || kindOf(c.Name).Besides != "" ||
			slices.ContainsFunc(works, func(w Work) bool { return w.CanChange(s, c) && !(w.What == StepNut && pressedNearest(s, earlier, c)) }) {
			continue
		}
		if c.CarriedFrom == nil {
			c.CarriedFrom = &from
		}
		carried = append(carried, c)
	}
	return carried
}

// slotTooLow reports that a string's nut height did not conform below its limit.
func slotTooLow(earlier *Result, number int) bool {
	return slices.ContainsFunc(earlier.Characteristics, func(c Characteristic) bool {
		return c.Name == NutHeight && c.String == number && c.Zone == Nonconforming && c.Value != nil && c.Lower != nil && *c.Value < *c.Lower
	})
}

// pressedNearest reports a clearance that no slot can have changed with which the neck passes: the string comes nearest to a fret where it is pressed,
// which a slot does not move, and it would even if the slot were at the lower limit of the nut height. A slot deeper by d brings the open string
// down by d (1 - x/L) at x, never more than d, and over fret 1, where the nut height is read, by d (1 - x_1/L).
func pressedNearest(s *Spec, earlier *Result, c Characteristic) bool {
	var open *float64
	for i := range earlier.Clearance {
		if m := &earlier.Clearance[i]; m.String == c.String && m.HeldFret == 0 {
			switch c.Name {
			case LeastClearance:
				open = m.LeastMM
			case ClearanceMargin:
				open = m.MarginMM
			}
		}
	}
	at := slices.IndexFunc(earlier.Characteristics, func(o Characteristic) bool { return o.Name == NutHeight && o.String == c.String })
	limit := s.LimitFor(Characteristic{Name: NutHeight, String: c.String})
	t := s.FindString(c.String)
	if open == nil || at < 0 || limit == nil || t == nil {
		return false
	}
	lower, _, _ := limit.Bounds()
	nut := earlier.Characteristics[at].Value
	if lower == nil || nut == nil {
		return false
	}
	line := s.Fan().Line(t.YNutMM, t.YSaddleMM)
	deeper := max(*nut-*lower, 0) * line.Scale() / (line.Saddle - line.At(1))
	return *open-deeper > *c.Value
}

// Asked says which points are to be measured where some characteristics are carried over: pitch always; the nut heights and the limited
// heights of strings that are not carried; the crowns, or the beam or leaves, of limited reliefs that are not; and every crown where anything else that
// is told from crowns is limited and not carried, for such a value is told from all of them. s has its defaults.
func Asked(s *Spec, carried []Characteristic) func(PointRef) bool {
	have := map[rowKey]bool{}
	for i := range carried {
		have[carried[i].key()] = true
	}
	p := &points{spec: s}
	whole := false
	n := &neck{spec: s, readings: &Readings{}}
	n.required(func(row rowKey) {
		if have[row] {
			return
		}
		c, k := Characteristic{Name: row.name, Track: row.track, String: row.string, Fret: row.fret, HeldFret: row.held}, kindOf(row.name)
		if k.involved != nil {
			k.involved(p, &c)
		}
		whole = whole || k.Name != Relief && k.Name != SideDifference && slices.Contains(k.Points, PointCrown)
	})
	profile := slices.ContainsFunc(p.all, func(ref PointRef) bool { return ref.Kind == PointCrown })
	whole = whole || profile && s.Routine.Profile == "sweep" // a sweep gives all crowns of its track
	return func(ref PointRef) bool {
		switch ref.Kind {
		case PointPitch:
			return true
		case PointCrown:
			return whole || slices.Contains(p.all, ref)
		case PointNutHeight:
			return !have[rowKey{name: NutHeight, string: ref.String}]
		}
		return slices.Contains(p.all, ref)
	}
}

// ToldAnew reports that the points asked for tell a characteristic anew: all that it involves and, where crowns of slanted frets are carried to a
// cross-section, those of the bend curve that carries them.
func ToldAnew(s *Spec, c Characteristic, asked func(PointRef) bool) bool {
	p := &points{spec: s, all: Involved(s, c)}
	if kindOf(c.Name).Across && s.Neck.MultiScale() {
		_, joint := levelFrets(s)
		for _, ref := range slices.Clone(p.all) {
			p.crowns(ref.Track, 1, joint)
		}
	}
	return !slices.ContainsFunc(p.all, func(ref PointRef) bool { return !asked(ref) })
}

// takeOver takes in what is carried over. What was measured anew stands, unless it is told from a part of what it needs only; where something is carried
// the rest of such values is left out, as long as no limit asks for them: they would tell of a few crowns.
func (e *evaluation) takeOver(carried []Characteristic) {
	if len(carried) == 0 {
		return
	}
	known := map[rowKey]bool{}
	e.rows = slices.DeleteFunc(e.rows, func(c Characteristic) bool {
		k := kindOf(c.Name)
		partial := k.incomplete != nil && k.incomplete(e.neck, &c)
		drop := partial && (e.limits.find(c.key()) == nil || slices.ContainsFunc(carried, func(o Characteristic) bool { return o.key() == c.key() }))
		known[c.key()] = !drop
		return drop
	})
	e.clearances = slices.DeleteFunc(e.clearances, func(c Clearance) bool { return !known[rowKey{name: LeastClearance, string: c.String}] })
	for _, c := range carried {
		if !known[c.key()] {
			c.Lower, c.Target, c.Upper, c.PConform = nil, nil, nil, nil
			e.rows = append(e.rows, c)
		}
	}
}
