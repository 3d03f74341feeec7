package life

import (
	"math"
	"slices"
	"time"

	"sagitta/batch"
)

// Expected is the relief to be expected of a neck in some air.
type Expected struct {
	Is        Expectation
	Humidity  float64 // % RH, of the month its mean
	SD        float64 // of the month's days, % RH; 0: the humidity itself was given
	MM        float64
	Low, High float64 // a measurement lies between them 95 times in 100
}

// Expectation is what can be said of a relief to come.
type Expectation string

// What may be said.
const (
	Told         Expectation = "told"
	SlopeUnknown Expectation = "slope unknown" // nothing is said before the slope has a sign
	OutOfReach   Expectation = "out of reach"  // the neck was never seen in such air
	WorkedOn     Expectation = "worked on"     // after its last measurement: where it is now nobody has measured
	FewDays      Expectation = "few days"      // of the month are known
)

// LeastDays are the days of a month whose air must be known before anything is said of it.
const LeastDays = 5

// Air is the humidity of one month of the year, over all years known.
type Air struct {
	Month    time.Month
	Days     int
	Mean, SD float64 // % RH
}

// AirOf sums up days by month of the year, from January to December; a month of which nothing is known has no days.
func AirOf(days []batch.AirDay) [12]Air {
	var all [12]Air
	for i := range all {
		all[i].Month = time.Month(i + 1)
		var x []float64
		for _, d := range days {
			if d.At.Local().Month() == all[i].Month {
				x = append(x, d.HumidityPercent)
			}
		}
		all[i].Days = len(x)
		for _, v := range x {
			all[i].Mean += v / float64(len(x))
		}
		for _, v := range x {
			all[i].SD += (v - all[i].Mean) * (v - all[i].Mean)
		}
		if len(x) > 1 {
			all[i].SD = math.Sqrt(all[i].SD / float64(len(x)-1))
		}
	}
	return all
}

// Expect says which relief a measurement in a month's air would show, with the interval of a single one: of line, visit, measurement and
// air. Of the air only what its mean and spread give by the slope is taken in.
func (n *Neck) Expect(h Humidity, air Air) Expected {
	if air.Days < LeastDays {
		return Expected{Is: FewDays, Humidity: air.Mean}
	}
	return n.expect(h, air.Mean, air.SD)
}

// Months is Expect of each month.
func (n *Neck) Months(h Humidity, airs [12]Air) (all [12]Expected) {
	for i, a := range airs {
		all[i] = n.Expect(h, a)
	}
	return all
}

// ExpectAt is Expect at a given humidity.
func (n *Neck) ExpectAt(h Humidity, humidity float64) Expected { return n.expect(h, humidity, 0) }

func (n *Neck) expect(h Humidity, humidity, sd float64) Expected {
	e := Expected{Humidity: humidity, SD: sd}
	switch {
	case !h.Known():
		e.Is = SlopeUnknown
	case n.workedSince():
		e.Is = WorkedOn
	case humidity < h.Driest || humidity > h.Dampest:
		e.Is = OutOfReach
	default:
		mm, variance := h.line.at(humidity)
		slope, u := h.line.slope()
		variance += sd*sd*(slope*slope+u*u) + h.Spread*h.Spread + h.u*h.u
		reach := covers(h.DF) * math.Sqrt(variance)
		e.Is, e.MM, e.Low, e.High = Told, mm, mm-reach, mm+reach
	}
	return e
}

// workedSince says that work that can have changed the relief came after the last measurement that the line has.
func (n *Neck) workedSince() bool {
	of := n.kind()
	for i, m := range slices.Backward(n.Measured) {
		if i+1 < len(n.Measured) && n.changedBetween(i, i+1) {
			return true
		}
		if _, _, ok := m.mean(of); ok && m.HumidityPercent != nil {
			break
		}
	}
	last := len(n.Measured) - 1
	return last >= 0 && slices.ContainsFunc(n.Done, func(w Work) bool { return w.Bends && !w.At.Before(n.Measured[last].At) })
}
