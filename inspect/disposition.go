package inspect

import (
	"fmt"
	"math"
	"slices"

	"sagitta/inspect/unit"
)

// dispose gives a result its disposition, the reason for it and the advice. Repair: a hump or twist nonconforming, or relief
// nonconforming while the rod must not be turned, unless whoever measures does all work. Rework: anything else nonconforming. Remeasure: nothing nonconforming but
// something undecided or not measured. Otherwise pass.
func (e *evaluation) dispose(res *Result, model RodModel) (err error) {
	var failing, open []*Characteristic
	limited := 0
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		switch c.Zone {
		case Nonconforming:
			failing = append(failing, c)
		case Undecided, NotMeasured:
			open = append(open, c)
		}
		if c.Zone != NoLimit {
			limited++
		}
	}
	switch {
	case len(failing) > 0:
		res.Disposition = Rework
		byStep := map[string][]*Characteristic{}
		for _, c := range failing {
			step := kindOf(c.Name).Step
			byStep[step] = append(byStep[step], c)
		}
		var rod rodState
		if len(byStep[StepRod]) > 0 {
			rod = e.rodState(res, byStep[StepRod], model)
			if rod.history.again > 0 {
				byStep[StepMeasure] = byStep[StepRod]
			}
		} else {
			rod.ratio[0], rod.ratio[1] = model.ActionRatio()
			byStep[StepMeasure] = slices.DeleteFunc(slices.Clone(open), func(c *Characteristic) bool {
				return c.Zone != Undecided || kindOf(c.Name).Step != StepRod
			})
		}
		if (len(byStep[StepRepairer]) > 0 || len(rod.stops) > 0) && !e.spec.ownWork() {
			res.Disposition = Repair
		}
		res.Why = whyFailing(e.spec, FirstFailing(res), len(failing)-1)
		res.Advice, err = e.advise(res, byStep, rod)
	case len(open) > 0:
		res.Disposition = Remeasure
		res.Why = e.whyOpen(open)
		if e.judgesAtPitch(res) {
			res.Advice, err = e.advise(res, map[string][]*Characteristic{}, rodState{})
		}
	case limited == 0:
		res.Conforms, res.Disposition = true, Pass
		res.Why = "nothing was judged: the specification has no limits"
	default:
		res.Conforms, res.Disposition = true, Pass
		res.Why = fmt.Sprintf("all %d limited values conform", limited) + hardlyShown(e.spec, res)
	}
	if !slices.ContainsFunc(failing, func(c *Characteristic) bool { return kindOf(c.Name).Step == StepRod }) {
		h := e.rodHistory(model) // else the advice on the rod says it
		res.RodNote = e.astrayWords(&h)
	}
	return err
}

// surely is the probability from which a value that conforms is not told apart from one that certainly does.
const surely = 0.95

// hardlyShown names what conforms by its value alone: what it was measured with is too coarse for its limits (CoarseFor), and the probability
// that it is inside them is small.
func hardlyShown(s *Spec, res *Result) string {
	var least *Characteristic
	others := -1
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Zone != Conforming || c.U == nil || c.PConform == nil || *c.PConform >= surely || c.Lower == nil || c.Upper == nil || !CoarseFor(*c.U, *c.Lower, *c.Upper) {
			continue
		}
		if others++; least == nil || *c.PConform < *least.PConform {
			least = c
		}
	}
	if least == nil {
		return ""
	}
	words := fmt.Sprintf("; %s with a probability of %.0f %% only", Words(s, *least), math.Floor(*least.PConform*100))
	if others > 0 {
		words += fmt.Sprintf(", and so %d more", others)
	}
	return words
}

// CoarseFor says that an uncertainty is too coarse for two limits: U = 2 u is over a quarter of what lies between them. Common practice, no source.
func CoarseFor(u, lower, upper float64) bool { return 2*u > (upper-lower)/4 }

// whyFailing names the first that fails, and how many more there are.
func whyFailing(s *Spec, first *Characteristic, others int) string {
	why := FailingWords(s, *first, unit.Millimetre)
	if others > 0 {
		why += fmt.Sprintf("; %d more out of limits", others)
	}
	return why
}

// whyOpen says what hinders a verdict: the pitch, or what is undecided, or what is missing.
func (e *evaluation) whyOpen(open []*Characteristic) string {
	gated := false
	var undecided, missing []*Characteristic
	for _, c := range open {
		if c.Zone == Undecided {
			undecided = append(undecided, c)
		} else {
			missing = append(missing, c)
		}
		gated = gated || e.waitsForPitch(c)
	}
	switch {
	case gated && len(e.off) > 0:
		return e.pitchWords() + ": tune, then measure again"
	case gated:
		return e.pitchWords() + ": relief and action are judged at pitch only"
	case len(undecided) > 0:
		why := fmt.Sprintf("%s is too close to a limit to decide%s; measure again", Words(e.spec, *undecided[0]), more(len(undecided)))
		if n := len(missing); n > 0 {
			why += fmt.Sprintf(". Not fully measured: %s%s", Words(e.spec, *missing[0]), more(n))
		}
		return why
	}
	return fmt.Sprintf("%s is not fully measured%s; measure what is missing", Words(e.spec, *missing[0]), more(len(missing)))
}

// waitsForPitch reports a limited value that is there but was not judged because the instrument is not at pitch.
func (e *evaluation) waitsForPitch(c *Characteristic) bool {
	return e.gated && kindOf(c.Name).Gated && c.Zone == NotMeasured && (c.Value != nil || c.Method == "leaves")
}

// pitchWords says which strings keep the instrument from being at pitch: "string 5 is 329 cents off pitch", "no pitch
// reading of strings 1 and 2".
func (e *evaluation) pitchWords() string {
	switch {
	case len(e.off) > 0:
	case e.spec.pitchDeclared():
		return "nobody has confirmed that the instrument is at pitch"
	default:
		return "no pitch reading of " + stringsWords(e.unread)
	}
	var most float64
	for _, number := range e.off {
		v, _ := e.cents(number)
		most = max(most, math.Abs(v))
	}
	cents := fmt.Sprintf("%.0f cents", most)
	if most < 20 {
		cents = fmt.Sprintf("%.1f cents", most)
	}
	if len(e.off) == 1 {
		return stringsWords(e.off) + " is " + cents + " off pitch"
	}
	return stringsWords(e.off) + " are up to " + cents + " off pitch"
}

// more says how many others there are.
func more(n int) string {
	if n < 2 {
		return ""
	}
	return fmt.Sprintf(", and %d more", n-1)
}

// stringsWords lists strings from bass to treble: "strings 6 and 5".
func stringsWords(numbers []int) string {
	sorted := slices.Sorted(slices.Values(numbers))
	slices.Reverse(sorted)
	return "string" + numbersWords(sorted)
}

// FirstFailing returns the first nonconforming characteristic in the order of rework, nil when none is. Of one kind it is
// the one farthest outside its limits: a high fret makes its neighbours look low, but less so.
func FirstFailing(res *Result) *Characteristic {
	var first *Characteristic
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Zone != Nonconforming {
			continue
		}
		if first == nil || stepPlace(c) < stepPlace(first) || (c.Name == first.Name && fartherOut(c, first)) {
			first = c
		}
	}
	return first
}

// fartherOut reports that a is farther outside its limits than b, both of one unit.
func fartherOut(a, b *Characteristic) bool {
	ma, okA := WorstMargin(*a)
	mb, okB := WorstMargin(*b)
	return okA && okB && ma < mb
}

// RelativeMargin is WorstMargin as a share of the tolerance, of the limit where there is only one: what orders values of
// different kinds by how near they are to a limit. Infinite without a value or without limits.
func RelativeMargin(c Characteristic) float64 {
	m, ok := WorstMargin(c)
	if !ok {
		return math.Inf(1)
	}
	whole := 0.0
	switch {
	case c.Lower != nil && c.Upper != nil:
		whole = *c.Upper - *c.Lower
	case c.Lower != nil:
		whole = math.Abs(*c.Lower)
	case c.Upper != nil:
		whole = math.Abs(*c.Upper)
	}
	if whole == 0 {
		whole = 1
	}
	return m / whole
}

// WorstMargin returns how far a value lies inside the nearer of its limits, in its own unit, negative outside. A leaf
// interval is taken at its worse end; where that end is open the other one tells only how far it is outside at least. Ok
// is false without a value or without limits.
func WorstMargin(c Characteristic) (inside float64, ok bool) {
	low, high := c.Value, c.Value
	if c.IntervalMM != nil {
		low, high = c.IntervalMM[0], c.IntervalMM[1]
	}
	nearer := func(m float64, certain bool) {
		if (certain || m < 0) && (!ok || m < inside) {
			inside, ok = m, true
		}
	}
	if c.Lower != nil {
		if low != nil {
			nearer(*low-*c.Lower, true)
		} else if high != nil {
			nearer(*high-*c.Lower, false)
		}
	}
	if c.Upper != nil {
		if high != nil {
			nearer(*c.Upper-*high, true)
		} else if low != nil {
			nearer(*c.Upper-*low, false)
		}
	}
	return inside, ok
}
