package history

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// works makes and inspects the necks of one batch.
type works struct {
	shop   *Shop
	batch  Batch
	spec   *inspect.Spec
	empty  [askedFor]inspect.Characteristic
	random *rand.Rand
	run    float64 // mm of relief by which the batch as a whole is off
}

func (w *works) about(mean, sd float64) float64 { return mean + sd*w.random.NormFloat64() }

// make is a neck's true state as it comes from the works at a moment.
func (w *works) make(at time.Time, c climate) (v [askedFor]float64) {
	m, p := w.batch.model, &w.shop.planted
	spread := 0.052
	if !at.Before(p.supplierFrom) {
		spread = 0.066
	}
	relief := w.about(m.relief+w.run, spread) + p.humidity[m.name]*(c.humidity-45)
	half := w.about(0.008, 0.014)
	slots := p.slots(at)
	v[bass], v[treble] = relief+half, relief-half
	v[level] = 0.055 * math.Exp(w.about(0, 0.36))
	v[twist] = w.about(0.03, 0.18)
	bow := 0.6 * (relief - m.relief) // what relief does to action
	v[actionTreble], v[actionBass] = w.about(m.action[0], 0.1)+bow, w.about(m.action[1], 0.11)+bow+p.spool(at)
	v[nutTreble], v[nutBass] = w.about(0.44, 0.045)+slots, w.about(0.46, 0.045)+slots
	return v
}

// measure reads a neck and judges it; u is divided by shrink.
func (w *works) measure(serial string, truth [askedFor]float64, bias, hand, shrink float64) (*inspect.Result, error) {
	truth[bass], truth[treble] = truth[bass]+bias, truth[treble]+bias
	truth[actionTreble], truth[actionBass] = truth[actionTreble]+hand, truth[actionBass]+hand
	all := make([]inspect.Characteristic, askedFor)
	numbers := make([]float64, 2*askedFor)
	res := &inspect.Result{Serial: serial, Spec: w.batch.SpecName, Revision: w.batch.Revision, Characteristics: all}
	rule, guard := w.spec.Decision.Rule, w.spec.Decision.Guard()
	for i := range all {
		v, u := &numbers[2*i], &numbers[2*i+1]
		*u = round(asked[i].u / shrink)
		*v = round(truth[i] + 0.7**u*w.random.NormFloat64())
		if i == sides {
			*v = round(*all[bass].Value - *all[treble].Value)
		}
		all[i] = w.empty[i]
		c := &all[i]
		c.Value, c.U = v, u
		var err error
		if c.Zone, err = inspect.Judge(rule, guard, *v, *u, c.Lower, c.Upper); err != nil {
			return nil, err
		}
	}
	res.Disposition = inspect.DispositionElsewhere(all)
	res.Conforms = res.Disposition == inspect.Pass
	switch first := inspect.FirstFailing(res); {
	case first != nil:
		res.Why = inspect.Words(w.spec, *first) + " is out of its limits"
	case res.Conforms:
		res.Why = fmt.Sprintf("all %d limited values conform", askedFor)
	default:
		res.Why = "a value is too close to a limit to decide; measure again"
	}
	return res, nil
}

// mostAttempts is after how many a person decides.
const mostAttempts = 4

// neck makes neck i of the batch and puts it through its inspections.
func (w *works) neck(i int) (batch.Story, error) {
	started := w.started(i)
	s := batch.Story{Serial: fmt.Sprintf("%s-%04d", w.batch.Number, i+1), RegisteredAt: w.batch.Opened}
	truth := w.make(started, w.shop.weather[w.shop.day(started)])
	for try := 1; ; try++ {
		a, d, err := w.attempt(s.Serial, started, &truth, try)
		if err != nil {
			return s, err
		}
		s.Attempts = append(s.Attempts, a)
		if batch.Through(d) {
			return s, nil
		}
		if started = w.later(started); started.After(w.shop.End) {
			return s, nil // it waits
		}
	}
}

// started is when neck i of the batch is begun: some minutes after its turn, as it comes.
func (w *works) started(i int) time.Time {
	turn := w.shop.moment(w.batch.first + i)
	at := turn.Add(time.Duration(w.random.Float64() * float64(min(w.shop.step*4/5, 10*time.Minute)))).Truncate(time.Second)
	if _, works := w.shop.days.shiftOf(at); works {
		return at
	}
	return turn
}

// later is when a neck comes back: after an hour or on one of the next days, in working hours.
func (w *works) later(at time.Time) time.Time {
	back := at.Add(time.Duration(w.random.IntN(90)+30) * time.Minute)
	for {
		if _, works := w.shop.days.shiftOf(back); works || back.After(w.shop.End) {
			return back
		}
		back = back.Add(time.Hour)
	}
}

// attempt inspects a neck once and works on it where it does not pass.
func (w *works) attempt(serial string, at time.Time, truth *[askedFor]float64, try int) (batch.StoryAttempt, inspect.Disposition, error) {
	c := w.shop.weather[w.shop.day(at)]
	shift, _ := w.shop.days.shiftOf(at)
	who := w.shop.rota[w.shop.day(at)][w.batch.bench][shift]
	inspector := inspectors[who]
	profile, height := w.shop.Gauges[2*w.batch.bench].ID, w.shop.Gauges[2*w.batch.bench+1].ID
	a := batch.StoryAttempt{
		Inspector: inspector, Station: fmt.Sprintf("Quillmere bench %d", w.batch.bench+1), StartedAt: at, Posture: "playing",
		Climate: inspect.Climate{TemperatureC: &c.temperature, HumidityPercent: &c.humidity},
		Gauges:  []batch.GaugeUse{{Kind: batch.Crown, GaugeID: profile}, {Kind: batch.ActionHeight, GaugeID: height}, {Kind: batch.NutHeight, GaugeID: height}},
	}
	bias, hand := w.shop.off(2*w.batch.bench, at), w.shop.planted.hand(who)
	end := at
	for round := 1; ; round++ {
		res, err := w.measure(serial, *truth, bias, hand, math.Sqrt(float64(round)))
		if err != nil {
			return a, "", err
		}
		end = end.Add(time.Duration(25+w.random.IntN(30)) * time.Second)
		v := batch.Verdict{At: end, Result: res, Disposition: res.Disposition}
		switch {
		case res.Disposition == inspect.Remeasure && round == 3: // undecided to the end: a person decides
			v.Disposition, v.DecidedBy, v.Reason = inspect.Pass, Manager, "within the limits as far as three measurements tell"
		case res.Disposition != inspect.Pass && res.Disposition != inspect.Remeasure && try == mostAttempts:
			v.Disposition, v.DecidedBy, v.Reason = inspect.Concession, Manager, "released after "+fmt.Sprint(try)+" inspections, told to the customer"
			if w.random.IntN(3) == 0 {
				v.Disposition, v.Reason = inspect.Scrap, "not worth more work"
			}
		}
		a.Verdicts = append(a.Verdicts, v)
		if v.Disposition == inspect.Remeasure {
			continue
		}
		if v.Disposition == inspect.Rework || v.Disposition == inspect.Repair {
			a.Rework = w.rework(res, truth, inspector, end.Add(time.Duration(2+w.random.IntN(8))*time.Minute))
		}
		return a, v.Disposition, nil
	}
}

// Manager decides what measurements cannot.
const Manager = "Ilse Marchetti-Roe"

// repairer does what an inspector may not.
const repairer = "Tobias Fennimore"

// rework works on what fails first, in the order of rework, and changes the neck.
func (w *works) rework(res *inspect.Result, truth *[askedFor]float64, by string, at time.Time) []batch.ReworkAction {
	first := inspect.FirstFailing(res)
	mean, u := inspect.MeanRelief(res)
	done := batch.ReworkAction{At: at, By: by, ReliefBefore: mean, ReliefBeforeU: u}
	pull := func(i int, target, sd float64) { truth[i] = w.about(target, sd) }
	m := w.batch.model
	switch first.Name {
	case inspect.Relief:
		told := inspect.AdviseRod(*mean, u, m.relief, m.perTurn, 0.1)
		turns := told.Turns
		if turns == 0 {
			turns = math.Copysign(1.0/16, told.Needed)
		}
		real := m.perTurn
		if p := &w.shop.planted; !at.Before(p.supplierFrom) {
			real *= p.supplierTurn
		}
		moved := turns * w.about(real, 0.06)
		predicted := round(*mean - turns*m.perTurn)
		done.What, done.Turns, done.Direction, done.PredictedMM = inspect.StepRod, math.Abs(turns), "tighten", &predicted
		if turns < 0 {
			done.Direction = "loosen"
		}
		truth[bass], truth[treble] = truth[bass]-moved, truth[treble]-moved
		truth[actionTreble], truth[actionBass] = truth[actionTreble]-0.6*moved, truth[actionBass]-0.6*moved
	case inspect.SideDifference:
		done.What, done.Note = inspect.StepLevel, "tracks evened"
		middle := (truth[bass] + truth[treble]) / 2
		half := w.about(0, 0.008)
		truth[bass], truth[treble] = middle+half, middle-half
	case inspect.LevelZone:
		done.What, done.AmountMM = inspect.StepLevel, 0.04
		pull(level, 0.05, 0.01)
	case inspect.Twist:
		done.What, done.By, done.Note = inspect.StepRepairer, repairer, "heat press"
		pull(twist, 0.05, 0.08)
	case inspect.Action:
		done.What, done.String, done.AmountMM = inspect.StepAction, first.String, round(*first.Target-*first.Value)
		i := actionTreble
		if first.String == 6 {
			i = actionBass
		}
		pull(i, *first.Target, 0.04)
	default:
		done.What, done.String, done.AmountMM = inspect.StepNut, first.String, round(math.Abs(*first.Value-*first.Target))
		i := nutTreble
		if first.String == 6 {
			i = nutBass
		}
		pull(i, *first.Target, 0.03)
	}
	return []batch.ReworkAction{done}
}
