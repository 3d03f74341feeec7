package history

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"sagitta/batch"
)

// plants are the effects planted in a history. Where and how large they are depends on its seed.
type plants struct {
	badGauge       int       // number among the gauges, a carriage indicator
	badFrom, found time.Time // its zero is off from a drop to the check that found it
	badMM          float64

	supplierFrom time.Time // rods of another supplier turn supplierTurn of the old ones' relief, and spread more
	supplierTurn float64

	slotsFrom, slotsTo time.Time // the slot file wears: nut slots rise by slotsMM until it is changed
	slotsMM            float64

	spoolFrom, spoolTo time.Time // a batch of string 6 that is too thick
	spoolMM            float64   // by which its action is off

	heavy   int // number of the inspector who reads action heavyMM off
	heavyMM float64

	humidity map[string]float64 // mm of relief per % RH above 45, by model
}

// missed is after how many days' checks the bad zero is found: the one between is forgotten.
const missed = 4

func (s *Shop) plant(random *rand.Rand) plants {
	p := plants{supplierTurn: 0.6 + 0.1*random.Float64(), slotsMM: round(0.09 + 0.04*random.Float64()), heavy: random.IntN(len(inspectors)), humidity: map[string]float64{}}
	about := func(low, high float64) time.Time { // a working day's first hour
		n := int((low + (high-low)*random.Float64()) * float64(len(s.days.open)))
		return clock(s.days.open[min(n, len(s.days.open)-1)], shiftStarts[early])
	}
	sign := func() float64 { return float64(1 - 2*random.IntN(2)) }
	p.badGauge = 2 * random.IntN(s.benches)
	p.badMM = round(sign() * (0.07 + 0.03*random.Float64()))
	p.badFrom = s.monday(random)
	p.found = p.badFrom.AddDate(0, 0, missed)
	p.badFrom = p.badFrom.Add(time.Duration(60+random.IntN(120)) * time.Minute)
	p.found = s.before(p.found, random)
	p.supplierFrom = about(0.55, 0.75)
	p.slotsFrom = about(0.1, 0.45)
	p.slotsTo = p.slotsFrom.AddDate(0, 0, 50+random.IntN(40))
	p.spoolFrom = about(0.2, 0.9)
	p.spoolTo = p.spoolFrom.AddDate(0, 0, 12+random.IntN(14))
	p.spoolMM = round(-0.08 - 0.05*random.Float64())
	p.heavyMM = round(sign() * (0.05 + 0.03*random.Float64()))
	other := random.IntN(len(models)) // one model at least goes the other way
	for i := range models {
		size := math.Round(1e4*(0.0018+0.0022*random.Float64())) / 1e4
		if i == other {
			size = -size
		}
		p.humidity[models[i].name] = size
	}
	return p
}

// monday is the first hour of a Monday of a week in which the shop works throughout, in the first two thirds of the history but for
// its first weeks; where there is none, the last working day.
func (s *Shop) monday(random *rand.Rand) time.Time {
	var all []time.Time
	for i, d := range s.days.open {
		whole := i+missed < len(s.days.open) && s.days.open[i+missed].Equal(d.AddDate(0, 0, missed))
		if d.Weekday() == time.Monday && whole && i > len(s.days.open)/20 && i < 2*len(s.days.open)/3 {
			all = append(all, d)
		}
	}
	if len(all) == 0 {
		all = s.days.open[len(s.days.open)-1:]
	}
	return clock(all[random.IntN(len(all))], shiftStarts[early])
}

// before is some minutes before a shift.
func (s *Shop) before(shift time.Time, random *rand.Rand) time.Time {
	return shift.Add(-time.Duration(3+random.IntN(17))*time.Minute - time.Duration(random.IntN(60))*time.Second)
}

// Truth says in sentences what was planted.
func (s *Shop) Truth() []string {
	p := s.planted
	day := func(t time.Time) string { return t.Format("2006-01-02") }
	mm := func(v float64) string {
		return fmt.Sprintf("%.3f mm too %s", math.Abs(v), map[bool]string{true: "low", false: "high"}[v < 0])
	}
	lines := []string{
		fmt.Sprintf("%s reads relief %s from %s to %s: its zero was bad after a drop that nobody told, and the check between was forgotten.", s.Gauges[p.badGauge].Name, mm(p.badMM), p.badFrom.Format("2006-01-02 15:04"), p.found.Format("2006-01-02 15:04")),
		fmt.Sprintf("From %s rods come from another supplier: a turn moves %.0f %% of what it did, and relief spreads more.", day(p.supplierFrom), 100*p.supplierTurn),
		fmt.Sprintf("The slot file wears from %s to %s: nut slots rise by %.3f mm.", day(p.slotsFrom), day(p.slotsTo), p.slotsMM),
		fmt.Sprintf("From %s to %s a batch of string 6 is too thick: its action is %s.", day(p.spoolFrom), day(p.spoolTo), mm(p.spoolMM)),
		fmt.Sprintf("%s reads action %s.", inspectors[p.heavy], mm(p.heavyMM)),
	}
	for _, m := range models {
		lines = append(lines, fmt.Sprintf("%s: relief moves by %+.4f mm for each %% of relative humidity above 45.", m.name, p.humidity[m.name]))
	}
	return lines
}

// BadZero is the gauge whose zero was bad, when that began and when the check that found it was made.
func (s *Shop) BadZero() (gauge batch.Gauge, from, found time.Time) {
	return s.Gauges[s.planted.badGauge], s.planted.badFrom, s.planted.found
}

// Humidity is what was planted of a model: mm of relief for each % of relative humidity.
func (s *Shop) Humidity(model string) float64 { return s.planted.humidity[model] }

// Heavy is the inspector who reads action off, and by how much, mm.
func (s *Shop) Heavy() (inspector string, mm float64) {
	return inspectors[s.planted.heavy], s.planted.heavyMM
}

// Checks are the gauges' checks, judged but without their sentence, in order of time: before the early shift on Mondays, Wednesdays and
// Fridays by who works then, on Mondays with a master. Some come later in the day, some are left out.
func (s *Shop) Checks() []batch.GaugeCheck {
	var all []batch.GaugeCheck
	random := rand.New(rand.NewPCG(s.opt.Seed, 2))
	newest := make([]*batch.GaugeCheck, len(s.Gauges))
	zero := make([]float64, len(s.Gauges)) // what a gauge's zero really is
	check := func(i int, at time.Time, after string, master bool) {
		g := s.Gauges[i]
		shift, _ := s.days.shiftOf(at)
		c := batch.GaugeCheck{GaugeID: g.ID, At: at, By: inspectors[s.rota[s.day(at)][i/2][shift]], ZeroMM: round(zero[i] + 0.002*random.NormFloat64()), After: after}
		if newest[i] == nil {
			c.After = batch.CheckFirstUse
		}
		if master {
			c.Masters = []batch.MasterReading{{NominalMM: 1, LimitMM: 0.02, ReadMM: round(1 + 0.003*random.NormFloat64())}}
		}
		c.Judge(&g, newest[i])
		all = append(all, c)
		newest[i] = &c
	}
	for _, day := range s.days.open {
		if !checkDay(day.Weekday()) && newest[0] != nil {
			continue
		}
		for i := range s.Gauges {
			zero[i] += 0.0005 * random.NormFloat64()
			at := s.before(clock(day, shiftStarts[early]), random)
			bad, chance := i == s.planted.badGauge, random.IntN(40)
			switch {
			case bad && s.days.number(day) == s.days.number(s.planted.found):
				zero[i] += s.planted.badMM
				check(i, s.planted.found, batch.CheckShift, false)
				check(i, s.planted.found.Add(time.Duration(3+random.IntN(5))*time.Minute), batch.CheckFailed, true)
				continue
			case bad && day.After(s.planted.badFrom) && day.Before(s.planted.found):
				continue // forgotten
			case bad && s.days.number(day) == s.days.number(s.planted.badFrom): // as usual, before its drop
			case chance == 0 && newest[i] != nil:
				continue // left out
			case chance == 1: // late, between two necks
				at = clock(day, shiftStarts[early]).Add(time.Duration(random.IntN(7*60)) * time.Minute)
			}
			check(i, at, batch.CheckShift, day.Weekday() == time.Monday)
		}
	}
	slices.SortStableFunc(all, func(a, b batch.GaugeCheck) int { return a.At.Compare(b.At) })
	return all
}

func checkDay(d time.Weekday) bool {
	return d == time.Monday || d == time.Wednesday || d == time.Friday
}

// off is what a gauge's bad zero adds to relief at a moment.
func (s *Shop) off(gauge int, at time.Time) float64 {
	if p := &s.planted; gauge == p.badGauge && !at.Before(p.badFrom) && at.Before(p.found) {
		return p.badMM
	}
	return 0
}

// slots is by how much the worn file leaves the nut slots high.
func (p *plants) slots(at time.Time) float64 {
	if at.Before(p.slotsFrom) || !at.Before(p.slotsTo) {
		return 0
	}
	return p.slotsMM * float64(at.Sub(p.slotsFrom)) / float64(p.slotsTo.Sub(p.slotsFrom))
}

// spool is by how much the thick strings' action is off.
func (p *plants) spool(at time.Time) float64 {
	if at.Before(p.spoolFrom) || !at.Before(p.spoolTo) {
		return 0
	}
	return p.spoolMM
}

// hand is by how much an inspector reads action off.
func (p *plants) hand(inspector int) float64 {
	if inspector == p.heavy {
		return p.heavyMM
	}
	return 0
}
