package tell

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/life"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// mm writes a length to a step with a true minus; signed, with a plus.
func mm(v, step float64, in unit.Unit, signed bool) string {
	return inspect.Number(in.From(v), in.Digits(step), signed)
}

// from writes two reliefs with one unit.
func from(low, high float64, in unit.Unit, signed bool) string {
	return mm(low, reliefStep, in, signed) + " to " + mm(high, reliefStep, in, signed) + " " + in.String()
}

// Relief is written to a hundredth of a millimetre, what changes it by a tenth of that.
const (
	reliefStep = 0.01
	changeStep = 0.001
)

// air writes a humidity.
func air(percent float64) string { return inspect.Number(percent, 0, false) + " % RH" }

func airs(low, high float64) string { return inspect.Number(low, 0, false) + " to " + air(high) }

// Compared says which relief a neck's visits are compared by: "mean of bass side and treble side, frets 1–14".
func Compared(k life.Kind) string {
	var sides []string
	for _, t := range k.Tracks {
		sides = append(sides, inspect.Place(t, 0, 0))
	}
	words := List(sides)
	if len(sides) > 1 {
		words = "mean of " + words
	}
	return fmt.Sprintf("%s, fret %d over frets %d–%d", words, k.Fret, k.First, k.Second)
}

// LifeHumidity says what a neck's relief does with humidity, or what it takes to tell.
func LifeHumidity(h life.Humidity, in unit.Unit) string {
	const cannot = "What humidity does to its relief cannot be told yet: "
	per10 := func(v float64, signed bool) string { return mm(10*v, changeStep, in, signed) }
	by := fmt.Sprintf("told from %s at %s", Count(h.Visits, "visit"), airs(h.Driest, h.Dampest))
	switch h.Is {
	case life.FewVisits:
		if h.Visits >= life.LeastVisits {
			return cannot + fmt.Sprintf("there was so much work between its %d visits that it takes at least %s more.", h.Visits, Count(h.More, "visit"))
		}
		return cannot + fmt.Sprintf("it takes %d visits that can be compared, with relief and humidity measured and no work between one and another that changes relief; there %s %d so far.",
			life.LeastVisits, Plural(h.Visits, "is", "are"), h.Visits)
	case life.AlikeAir:
		return cannot + fmt.Sprintf("the air of the %d visits that can be compared was too much alike, %s apart at the most with no work between, and it takes %s. Measure it in another season.",
			h.Visits, air(h.Span), air(life.LeastSpan))
	case life.CannotTell:
		more := fmt.Sprintf("about %s in air as varied would tell", Counted(h.More, "more visit", "more visits"))
		if h.More > life.MostMoreVisit {
			more = fmt.Sprintf("not even %d more visits would tell, if they spread as these do", life.MostMoreVisit)
		}
		return cannot + fmt.Sprintf("for each 10 %% RH of damper air it moves by something between %s and %s %s, %s; %s.", per10(h.Low, true), per10(h.High, true), in, by, more)
	case life.Slight:
		return fmt.Sprintf("Humidity does little to its relief: no more than %s %s either way for each 10 %% RH, %s.", per10(math.Max(-h.Low, h.High), false), in, by)
	}
	low, high := h.Low, h.High
	if h.Is == life.Falls {
		low, high = -h.High, -h.Low
	}
	return fmt.Sprintf("Its relief %s by %s %s for each 10 %% RH of damper air (%s to %s %s, by a rule that is right 95 times in 100), %s.",
		h.Is, per10(math.Abs(h.Slope), false), in, per10(low, false), per10(high, false), in, by)
}

// LifeHumidityHow says how it was worked out, "" before there was anything to work out.
func LifeHumidityHow(h life.Humidity, in unit.Unit) string {
	if h.DF == 0 {
		return ""
	}
	return fmt.Sprintf("Relief: %s. A straight line with %s, a new one after each work that changes relief; %s; the visits spread by %s %s about it.",
		Compared(h.Of), Count(h.Levels, "level"), Counted(h.DF, "degree of freedom", "degrees of freedom"), mm(h.Spread, changeStep, in, false), in)
}

// LifeExpected says which relief is to be expected in some air, named by where: "air like this shop's in January (36 % RH on the average of 41 days)".
func LifeExpected(where string, e life.Expected, in unit.Unit) string {
	return fmt.Sprintf("In %s expect a relief of %s %s, if nothing is turned; 95 times in 100 it measures from %s.", where, Relief(e.MM, in), in,
		from(e.Low, e.High, in, true))
}

// Relief writes a relief that is to be expected, without its unit.
func Relief(v float64, in unit.Unit) string { return mm(v, reliefStep, in, true) }

// ShopAir names the air of a month.
func ShopAir(a life.Air) string {
	return fmt.Sprintf("air like this shop's in %s (%s on the average of %s)", a.Month, air(a.Mean), Count(a.Days, "day"))
}

// AirOf names air of a given humidity.
func AirOf(percent float64) string { return "air of " + air(percent) }

// LifeNotExpected says why nothing is said of some air, "" where something is.
func LifeNotExpected(e life.Expected, h life.Humidity) string {
	switch e.Is {
	case life.SlopeUnknown:
		return "what humidity does to it cannot be told yet"
	case life.OutOfReach:
		return "it was measured from " + airs(h.Driest, h.Dampest) + " only"
	case life.WorkedOn:
		return "work that changes relief was done after its last measurement; measure it first"
	case life.FewDays:
		return fmt.Sprintf("the air of fewer than %d days is known", life.LeastDays)
	}
	return ""
}

// LifeNotInMonth is LifeNotExpected where the humidities stand beside it.
func LifeNotInMonth(e life.Expected, h life.Humidity) string {
	if e.Is == life.OutOfReach {
		return "never measured in such air"
	}
	return LifeNotExpected(e, h)
}

// LifeMonths says what is to be expected in the driest and in the dampest month of which something can be said, a sentence each, and of
// which months nothing is said; e and airs are by month.
func LifeMonths(h life.Humidity, airs [12]life.Air, e [12]life.Expected, in unit.Unit) (all []string) {
	if !h.Known() {
		return nil
	}
	driest, dampest := -1, -1
	var beyond []string
	for i := range e {
		switch e[i].Is {
		case life.WorkedOn:
			return []string{"Nothing is said of the relief to come: " + LifeNotExpected(e[i], h) + "."}
		case life.OutOfReach:
			beyond = append(beyond, fmt.Sprintf("%s (%s)", airs[i].Month, air(airs[i].Mean)))
		case life.Told:
			if driest < 0 || airs[i].Mean < airs[driest].Mean {
				driest = i
			}
			if dampest < 0 || airs[i].Mean > airs[dampest].Mean {
				dampest = i
			}
		}
	}
	if driest >= 0 {
		all = append(all, LifeExpected(ShopAir(airs[driest]), e[driest], in))
	}
	if dampest != driest {
		all = append(all, LifeExpected(ShopAir(airs[dampest]), e[dampest], in))
	}
	if len(beyond) > 0 {
		all = append(all, fmt.Sprintf("Nothing is said of %s: %s.", List(beyond), LifeNotExpected(life.Expected{Is: life.OutOfReach}, h)))
	}
	if len(all) == 0 {
		all = append(all, fmt.Sprintf("What to expect by the month is not said: of no month the air of %d days is known. Humidities noted at inspections are what it is told from.", life.LeastDays))
	}
	return all
}

// Life says what is known of an instrument over its visits, the sentences that come first on its page and at the terminal: humidity, what to
// expect in the air that was noted, other strings.
func Life(l *life.Life, days []batch.AirDay, in unit.Unit) []string {
	h, airs := l.Neck.HumidityOf(), life.AirOf(days)
	all := append([]string{LifeHumidity(h, in)}, LifeMonths(h, airs, l.Neck.Months(h, airs), in)...)
	return append(all, LifeGiving(l.Neck.GivingOf(), in))
}

// LifeGiving says what a neck gives to the pull of other strings.
func LifeGiving(g life.Giving, in unit.Unit) string {
	per100 := func(v float64, signed bool) string { return mm(100*v, changeStep, in, signed) }
	changes := Counted(g.Pairs, "change of its strings", "changes of its strings") + ", measured before and after with nothing else done between"
	common := fmt.Sprintf(" Wooden necks of six strings commonly give %s to each 100 N; that is no figure of this neck's.", from(100*life.CommonLow, 100*life.CommonHigh, in, false))
	switch {
	case g.OwnSign():
		return fmt.Sprintf("Its relief changes by %s %s for each 100 N that its strings pull more (%s to %s %s), told from %s.", per100(g.PerN, true), in, per100(g.Low, true), per100(g.High, true), in, changes)
	case g.Pairs > 0:
		return fmt.Sprintf("What it gives to other strings cannot be told from nothing yet: something between %s and %s %s for each 100 N, from %s.", per100(g.Low, true), per100(g.High, true), in, changes) + common
	case g.TooAlike:
		return "What it gives to other strings is not known: those that it was measured with before and after, with nothing else done, pull too much alike." + common
	}
	return "What it gives to other strings is not known: it was never measured before and after other strings with nothing else done." + common
}

// LifeRestrung says what a set would do to the relief.
func LifeRestrung(set string, r life.Restrung, in unit.Unit) string {
	if r.Alike {
		return Upper(set) + " would pull like the strings on it, as far as their masses are known: no other relief is to be expected."
	}
	words := Upper(set) + " would pull " + pullMore(r) + ": "
	if !r.Own {
		return words + "commonly " + change(r.Low, r.High, in) + " relief; this neck has not shown it."
	}
	return words + fmt.Sprintf("expect %s %s of relief, from %s, before anything is turned.", mm(r.MM, reliefStep, in, true), in, from(r.Low, r.High, in, true))
}

// pullMore says by how much a set pulls more: "72 N more (± 24 N)".
func pullMore(r life.Restrung) string {
	words := fmt.Sprintf("%.0f N %s", math.Abs(r.PullN), either(r.PullN > 0, "more", "less"))
	if r.U >= 0.5 {
		words += fmt.Sprintf(" (± %.0f N)", 2*r.U)
	}
	return words
}

// change writes a range of one sign in words: "0.04 to 0.11 mm more".
func change(low, high float64, in unit.Unit) string {
	if high <= 0 {
		return from(-high, -low, in, false) + " less"
	}
	return from(low, high, in, false) + " more"
}

// StayName names a visit with its days: "Visit 3, 2024-01-14 to 2024-01-16".
func StayName(s life.Stay) string {
	name := fmt.Sprintf("Visit %d", s.Number)
	if s.Number == 0 {
		name = "Batch " + s.Batch.Number
	}
	name += ", " + Day(s.OpenedAt)
	switch {
	case s.EndedAt.IsZero():
		return name + ", not ended"
	case Day(s.EndedAt) != Day(s.OpenedAt):
		return name + " to " + Day(s.EndedAt)
	}
	return name
}

// StayAir says in which air an inspection was made, "" where nobody noted it.
func StayAir(c inspect.Climate) string {
	var words []string
	if v := c.HumidityPercent; v != nil {
		words = append(words, air(*v))
	}
	if v := c.TemperatureC; v != nil {
		words = append(words, inspect.Number(*v, 1, false)+" °C")
	}
	return strings.Join(words, ", ")
}

// StayMeasured says what an inspection found of relief and action, strings bass to treble.
func StayMeasured(in *life.Seen, lengths unit.Unit) string {
	var relief, action []string
	for _, c := range in.Result.Characteristics {
		if c.Value == nil || c.CarriedFrom != nil {
			continue
		}
		switch c.Name {
		case inspect.Relief:
			is := mm(*c.Value, reliefStep, lengths, true)
			if c.IntervalMM != nil {
				is = LeafInterval(*c.IntervalMM, lengths)
			}
			relief = append(relief, inspect.Place(c.Track, 0, 0)+" "+is)
		case inspect.Action:
			action = append([]string{fmt.Sprintf("string %d %s", c.String, mm(*c.Value, reliefStep, lengths, false))}, action...)
		}
	}
	var words []string
	if len(relief) > 0 {
		words = append(words, "relief "+strings.Join(relief, ", ")+" "+lengths.String())
	}
	if len(action) > 0 {
		words = append(words, "action "+strings.Join(action, ", ")+" "+lengths.String())
	}
	if len(words) == 0 {
		words = append(words, "neither relief nor action measured")
	}
	text := strings.Join(words, "; ")
	if in.InDoubt {
		text += " (in doubt: its readings may be wrong)"
	}
	return text
}

// StayDone lists what was done at a visit in its order, "" for nothing. A set of strings is named where somebody said which.
func StayDone(s life.Stay, in unit.Unit) string {
	var words []string
	sets := s.Fitted
	strung := func() {
		words = append(words, "strings: "+either(sets[0].Name == "", "a set without a name", sets[0].Name))
		sets = sets[1:]
	}
	noted := slices.ContainsFunc(s.Done, func(a batch.ReworkAction) bool { return a.What == inspect.WorkStrings })
	for _, a := range s.Done {
		for !noted && len(sets) > 0 && sets[0].At.Before(a.At) {
			strung()
		}
		switch {
		case a.What == inspect.WorkStrings && len(sets) > 0:
			strung()
		case a.What == inspect.StepPitch:
			words = append(words, "tuned to pitch")
		default:
			words = append(words, ReworkStep(a, in))
		}
	}
	for len(sets) > 0 {
		strung()
	}
	return strings.Join(words, "; ")
}

// StayTold tells one visit in sentences: found, done, left, and with which result.
func StayTold(s life.Stay, lengths unit.Unit) (all []string) {
	found, left, done := s.Found(), s.Left(), StayDone(s, lengths)
	told := func(head, text string) { all = append(all, head+": "+strings.TrimSuffix(text, ".")+".") }
	if s.Wishes != "" {
		told("Wished", s.Wishes)
	}
	if found == nil {
		all = append(all, "Nothing was measured.")
	} else {
		words := StayMeasured(found, lengths)
		if a := StayAir(found.Climate); a != "" {
			words += "; " + a
		}
		if s.Wore != "" {
			words += "; strings: " + s.Wore
		}
		told("Found", words)
	}
	if done != "" {
		told("Done", done)
	}
	switch {
	case found != nil && left.ID != found.ID:
		told("Left", StayMeasured(left, lengths))
	case found != nil && lastWork(s.Done).After(found.At):
		all = append(all, "It was not measured after the work.")
	}
	if s.Number > 0 && found != nil {
		all = append(all, notAsWished(s.Batch.Spec.Spec, left.Result, lengths)...)
	}
	if s.Result != "" {
		told("Result", s.Result)
	}
	return all
}

// mostOpen is how many values that are not as wished are named; the others are counted.
const mostOpen = 3

// notAsWished says of a result what is not as wished, and what the tool could not tell; nothing where all is as wished.
func notAsWished(s *inspect.Spec, res *inspect.Result, lengths unit.Unit) (all []string) {
	say := func(head string, zone inspect.Zone, words func(inspect.Characteristic) string) {
		var named []string
		more := 0
		for _, c := range res.Characteristics {
			switch {
			case c.Zone != zone:
			case len(named) == mostOpen:
				more++
			default:
				named = append(named, words(c))
			}
		}
		if more > 0 {
			named = append(named, fmt.Sprintf("%d more", more))
		}
		if len(named) > 0 {
			all = append(all, head+": "+strings.Join(named, "; ")+".")
		}
	}
	say("Not as wished", inspect.Nonconforming, func(c inspect.Characteristic) string { return inspect.FailingWords(s, c, lengths) })
	say("Too near to a limit to say whether it was as wished", inspect.Undecided, func(c inspect.Characteristic) string { return inspect.Words(s, c) })
	return all
}

func lastWork(done []batch.ReworkAction) (at time.Time) {
	for _, a := range done {
		if a.At.After(at) {
			at = a.At
		}
	}
	return at
}
