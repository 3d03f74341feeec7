package batch

import (
	"cmp"
	"math"
	"slices"

	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// ImpactOf works out what a gauge's error means for an inspection: it is taken off the readings in doubt, those whose IDs doubted
// holds, as if it had come at once before the first of them, between any two, after the last, or had grown evenly with time
// from the last check that passed, and each time everything limited is computed and judged anew, by the specification's rule.
// readings are all of the inspection. A shift that is not known leaves the error unknown, but after a certificate: it is about what the
// gauge reads over its travel, and its checks stand for its zero. A check that failed and found nothing leaves it unknown too.
//
// The shift is the difference of two readings of the flat reference, so its u is sqrt(2) u_r, u_r from resolution and repeatability; a
// value's u is taken together with its part of that, in proportion to what the error moves it by.
func ImpactOf(s *inspect.Spec, in Inspection, readings []Reading, doubted map[string]bool, c Cause) Impact {
	unknown := !c.Found.ShiftKnown && (c.Kind != CertificateFound || !c.Found.Known())
	if unknown || c.Kind == FailedCheck && c.Found.size() == 0 {
		return Impact{Outcome: CannotBeTold, Unknown: UnknownError}
	}
	if c.Kind == CertificateFound {
		c.Found.Masters = afterZero(c.Found.Masters)
	}
	m := moments{spec: s, in: in, readings: readings, cause: c}
	if why := m.carriers(doubted); why != "" {
		return Impact{Outcome: CannotBeTold, Unknown: why}
	}
	asJudged, err := inspect.Evaluate(s, Assemble(s, in, readings, nil), inspect.Options{})
	if err != nil {
		return Impact{Outcome: CannotBeTold, Unknown: UnknownValues}
	}
	m.asJudged = asJudged
	m.places = map[Named]int{}
	for i, c := range asJudged.Characteristics {
		m.places[placeOf(c)] = i
	}
	m.moved = make([]MovedValue, len(asJudged.Characteristics))
	for i, c := range asJudged.Characteristics {
		m.moved[i] = MovedValue{Characteristic: c, Low: math.Inf(1), High: math.Inf(-1)}
	}
	for _, of := range m.parts() {
		if m.contradicted(of) {
			m.impact.Ruled++
			continue
		}
		if !m.try(of) {
			return Impact{Outcome: CannotBeTold, Unknown: UnknownValues}
		}
	}
	return m.conclude()
}

// moments tries one error at several moments.
type moments struct {
	spec     *inspect.Spec
	in       Inspection
	readings []Reading
	cause    Cause
	asJudged *inspect.Result
	places   map[Named]int // of the rows of asJudged

	carry    []int // readings that the error may be in, in the order in which they were taken
	last     int   // place in carry of the last that stands and takes part
	standing map[string]bool

	moved  []MovedValue // as the rows of asJudged
	impact Impact
}

// part says how much of the error the i-th of carry holds.
type part func(i int) float64

// carriers finds the readings that the error may be in. A sweep's crowns have one time: its bytes tell their order.
func (m *moments) carriers(doubted map[string]bool) ImpactUnknown {
	m.standing = map[string]bool{}
	for _, r := range Standing(m.readings) {
		m.standing[r.ID] = !r.Withdrawn
	}
	for i, r := range m.readings {
		if !doubted[r.ID] || r.Withdrawn || m.gone(r) || r.Point.Kind == Sweep || r.Point.Kind == ShapeStep {
			continue
		}
		switch r.Point.Kind {
		case Crown, Closing, ActionHeight, NutHeight, BeamReading:
		default:
			return UnknownLength
		}
		if _, ok := m.cause.Found.without(r.Value, 1); !ok {
			return UnknownReach
		}
		m.carry = append(m.carry, i)
	}
	slices.SortStableFunc(m.carry, func(a, b int) int {
		x, y := &m.readings[a], &m.readings[b]
		return cmp.Or(x.At.Compare(y.At), cmp.Compare(x.Offset, y.Offset), cmp.Compare(x.Seq, y.Seq))
	})
	m.last = -1
	for i, at := range m.carry {
		if r := &m.readings[at]; m.standing[r.ID] && r.Point.Kind != Closing {
			m.last = i
		}
	}
	return ""
}

// gone reports a reading that takes no part: another of its laying replaces it or takes it back. One of an earlier laying may tie the two.
func (m *moments) gone(r Reading) bool {
	return slices.ContainsFunc(m.readings, func(o Reading) bool { return o.Supersedes == r.ID && o.Laying == r.Laying })
}

// parts are the ways in which the error may be in the readings, each different; that in which it is in none is not among them.
func (m *moments) parts() []part {
	var all []part
	for first := 0; first <= m.last; first++ {
		all = append(all, func(i int) float64 {
			if i < first {
				return 0
			}
			return 1
		})
	}
	if from, to := m.cause.From, m.cause.To; m.last >= 0 && !from.IsZero() && to.After(from) {
		m.impact.Drift = true
		all = append(all, func(i int) float64 {
			at := m.readings[m.carry[i]].At
			return max(0, min(1, at.Sub(from).Seconds()/to.Sub(from).Seconds()))
		})
	}
	return all
}

// without are the readings with a share of the error taken off.
func (m *moments) without(of part) []Reading {
	rows := slices.Clone(m.readings)
	for i, at := range m.carry {
		rows[at].Value, _ = m.cause.Found.without(rows[at].Value, of(i))
	}
	return rows
}

// contradicted reports that the readings rule the share out: a crown that was measured once more at the profile's end agrees with
// its first reading, and would not with the error taken off.
func (m *moments) contradicted(of part) bool {
	without := m.without(of)
	for i, again := range m.readings {
		if again.Point.Kind != Closing || !m.standing[again.ID] {
			continue
		}
		for j, first := range m.readings {
			p := first.Point
			p.Kind = Closing
			if first.Point.Kind != Crown || !m.standing[first.ID] || p != again.Point || first.Laying != again.Laying {
				continue
			}
			u := max(URepeat(m.spec, first), URepeat(m.spec, again))
			if laying.Agrees(first.Value, again.Value, u) && !laying.Agrees(without[j].Value, without[i].Value, u) {
				return true
			}
		}
	}
	return false
}

// try judges the neck with a share of the error taken off and notes what became of every limited value; false where that cannot be
// computed.
func (m *moments) try(of part) bool {
	in := Assemble(m.spec, m.in, m.without(of), nil)
	res, err := inspect.Evaluate(m.spec, in, inspect.Options{SkipUncertainty: true})
	if err != nil {
		return false
	}
	if m.uncertain(res) {
		if res, err = inspect.Evaluate(m.spec, in, inspect.Options{}); err != nil {
			return false
		}
	}
	m.impact.Moments++
	fails, opens := false, false
	seen := make([]bool, len(m.moved))
	for _, c := range res.Characteristics {
		place, ok := m.places[placeOf(c)]
		if !ok || c.Zone == inspect.NoLimit {
			continue
		}
		seen[place] = true
		moved := &m.moved[place]
		if c.Value != nil {
			moved.Low, moved.High = min(moved.Low, *c.Value), max(moved.High, *c.Value)
		}
		switch m.zone(c, 1) {
		case inspect.Nonconforming:
			moved.Fail++
			fails = true
		case inspect.Undecided, inspect.NotMeasured:
			moved.Open++
			opens = true
		}
	}
	for i := range m.moved {
		if m.moved[i].Zone != inspect.NoLimit && !seen[i] {
			m.moved[i].Open++
			opens = true
		}
	}
	switch {
	case fails:
		m.impact.Fail++
	case !opens:
		m.impact.Conform++
	}
	return true
}

// zone judges a value with its uncertainty times a factor. A value without one has that of the same value as judged.
func (m *moments) zone(c inspect.Characteristic, times float64) inspect.Zone {
	if c.Value == nil || c.Zone == inspect.NotMeasured || c.Method == inspect.ByLeaves {
		return c.Zone
	}
	at, ok := m.places[placeOf(c)]
	if !ok {
		return c.Zone
	}
	before, u := m.asJudged.Characteristics[at], 0.0
	switch {
	case c.U != nil:
		u = *c.U
	case before.U != nil:
		u = *before.U
	}
	if size := m.cause.Found.size(); before.Value != nil && size > 0 {
		u = math.Hypot(u, m.errorU()*math.Abs(*c.Value-*before.Value)/size)
	}
	zone, err := inspect.Judge(m.spec.Decision.Rule, m.spec.Decision.Guard(), *c.Value, times*u, c.Lower, c.Upper)
	if err != nil {
		return inspect.Undecided
	}
	return zone
}

// errorU is the found error's standard uncertainty, mm.
func (m *moments) errorU() float64 {
	u := 0.0
	for _, at := range m.carry {
		u = max(u, URepeat(m.spec, m.readings[at]))
	}
	return math.Sqrt2 * u
}

// uncertain reports that a judgement depends on an uncertainty's exact size: that of the value as judged is not enough, since where a
// maximum moves to another place it has another.
func (m *moments) uncertain(res *inspect.Result) bool {
	return slices.ContainsFunc(res.Characteristics, func(c inspect.Characteristic) bool {
		return c.Zone != inspect.NoLimit && m.zone(c, 0.5) != m.zone(c, 2)
	})
}

// conclude says what all moments tried come to.
func (m *moments) conclude() Impact {
	out := m.impact
	failed, open := false, false
	for _, c := range m.asJudged.Characteristics {
		failed = failed || c.Zone == inspect.Nonconforming
		open = open || c.Zone == inspect.Undecided || c.Zone == inspect.NotMeasured
	}
	switch {
	case out.Moments > 0 && out.Fail == out.Moments, out.Moments == 0 && failed:
		out.Outcome = WouldFail
	case out.Conform == out.Moments && !failed && !open:
		out.Outcome = StillConforms
	default:
		out.Outcome = CannotBeTold
	}
	for _, v := range m.moved {
		if v.Zone == inspect.NoLimit || v.Value == nil {
			continue
		}
		if v.Low > v.High { // it could not be computed at any moment
			if v.Open == 0 {
				continue
			}
			v.Low, v.High = *v.Value, *v.Value
		}
		if v.Open > 0 || v.Fail > 0 || math.Abs(v.Low-*v.Value) > 1e-9 || math.Abs(v.High-*v.Value) > 1e-9 {
			out.Moved = append(out.Moved, v)
		}
	}
	asJudged := []inspect.Zone{inspect.Nonconforming, inspect.Undecided, inspect.NotMeasured, inspect.Conforming}
	slices.SortStableFunc(out.Moved, func(a, b MovedValue) int {
		return cmp.Or(cmp.Compare(b.Fail, a.Fail), cmp.Compare(b.Open, a.Open), cmp.Compare(slices.Index(asJudged, a.Zone), slices.Index(asJudged, b.Zone)),
			cmp.Compare(a.margin(), b.margin()))
	})
	return out
}

// placeOf names a characteristic by its indices alone: a fret at which it was found is none.
func placeOf(c inspect.Characteristic) Named {
	name := NameOf(c)
	if k := inspect.KindOf(c.Name); k.Found || k.ReliefFret {
		name.Fret = 0
	}
	return name
}
