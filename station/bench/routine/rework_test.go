package routine

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/testdata/demo"
)

var reworked = flag.Int("reworked", 20, "how many necks TestCarriedVerdicts reworks by each kind of work; 500 is the long form, a minute")

// worked is one kind of work in TestCarriedVerdicts: how a neck is spoilt, what is done to it, and what that is recorded as.
type worked struct {
	name   string
	margin bool // the clearance when plucked is limited
	spoil  func(n *simulate.Neck, r *rand.Rand) error
	mend   func(n *simulate.Neck, r *rand.Rand) error
	work   inspect.Work
	fewest bool // fewer points are asked for than of a whole neck
}

// kinds of work whose re-inspections are looked at.
var kindsOfWork = []worked{
	{"nut slot", true, func(n *simulate.Neck, _ *rand.Rand) error { return n.RaiseNut(3, 0.3) },
		func(n *simulate.Neck, r *rand.Rand) error { return n.FileNutSlot(3, 0.3+0.1*r.NormFloat64()) }, inspect.Work{What: inspect.StepNut, String: 3}, true},
	{"truss rod", false, func(n *simulate.Neck, _ *rand.Rand) error { return n.TurnRod(-0.4) },
		func(n *simulate.Neck, r *rand.Rand) error { return n.TurnRod(0.25 + 0.3*r.Float64()) }, inspect.Work{What: inspect.StepRod}, true},
	{"truss rod, clearance limited", true, func(n *simulate.Neck, _ *rand.Rand) error { return n.TurnRod(-0.4) },
		func(n *simulate.Neck, r *rand.Rand) error { return n.TurnRod(0.25 + 0.3*r.Float64()) }, inspect.Work{What: inspect.StepRod}, false},
	{"saddle", false, func(n *simulate.Neck, _ *rand.Rand) error { return n.MoveSaddle(3, 1.2) },
		func(n *simulate.Neck, r *rand.Rand) error { return n.MoveSaddle(3, -1.2+0.3*r.NormFloat64()) }, inspect.Work{What: inspect.StepAction, String: 3}, true},
	{"fret level", true, func(n *simulate.Neck, _ *rand.Rand) error {
		n.Crowns[8].BassMM += 0.1
		n.Crowns[8].TrebleMM += 0.1
		return nil
	},
		func(n *simulate.Neck, r *rand.Rand) error {
			return n.LevelCrown(9, "", 0.1+0.02*math.Abs(r.NormFloat64()))
		}, inspect.Work{What: inspect.StepLevel}, false},
}

// TestCarriedVerdicts reworks simulated necks and judges each once from what its work can have changed, with the rest carried over, and once from a whole
// inspection. Neither may be wrong more often than the decision rule's own risk, and in truth nothing that is carried has changed.
func TestCarriedVerdicts(t *testing.T) {
	for _, w := range kindsOfWork {
		c := carryCampaign{t: t, worked: w, random: rand.New(rand.NewPCG(2611, uint64(len(w.name))))}
		c.run()
		full, few := c.whole/float64(c.necks), c.asked/float64(c.necks)
		t.Logf("%-28s %3d necks: %.0f of %.0f points asked for, about %.0f of %.0f s; wrong %d carried, %d whole, %.1f and %.1f within the rule's risk; the two differ on %d, %.1f values carried",
			w.name, c.necks, few, full, c.took/float64(c.necks), c.tookWhole/float64(c.necks), c.wrong, c.wrongWhole, c.risk, c.riskWhole, c.differ, c.values/float64(c.necks))
		if w.fewest != (few < full) || w.fewest != (c.values > 0) {
			t.Errorf("%s: %.0f of %.0f points are asked for, %.0f values carried", w.name, few, full, c.values)
		}
		if most := c.risk + 3*math.Sqrt(c.risk) + 1; float64(c.wrong) > most {
			t.Errorf("%s: %d verdicts are wrong, at most %.1f are within the rule's risk", w.name, c.wrong, most)
		}
		if most := c.risk + c.riskWhole; float64(c.differ) > most+3*math.Sqrt(most)+1 {
			t.Errorf("%s: %d verdicts differ from those of whole inspections, %.1f are within the rule's risk", w.name, c.differ, most)
		}
		if c.moved == 0 {
			t.Errorf("%s: nothing changed in truth", w.name)
		}
	}
}

type carryCampaign struct {
	t *testing.T
	worked
	random                                  *rand.Rand
	spec                                    *inspect.Spec
	necks, wrong, wrongWhole, differ, moved int
	whole, asked, took, tookWhole, values   float64
	risk, riskWhole                         float64
}

func (c *carryCampaign) run() {
	c.spec = spec(c.t, "qm-bolt-648.toml")
	if !c.margin {
		c.spec.Limits, c.spec.Alarms = c.spec.Limits[:len(c.spec.Limits)-1], nil
	}
	text, err := demo.Files.ReadFile("QM-2611.truth.toml")
	c.ok(err)
	scenario, err := simulate.ParseScenario("QM-2611.truth.toml", text)
	c.ok(err)
	scenario.Planted = nil
	for ; c.necks < *reworked; c.necks++ {
		neck, err := scenario.Make(1 + c.necks%scenario.Necks)
		c.ok(err)
		c.neck(neck)
		if (c.necks+1)%scenario.Necks == 0 {
			scenario.Seed++
		}
	}
}

func (c *carryCampaign) ok(err error) {
	c.t.Helper()
	if err != nil {
		c.t.Fatal(err)
	}
}

// neck spoils, inspects, mends and inspects again one neck.
func (c *carryCampaign) neck(n *simulate.Neck) {
	all := Points(c.spec, gauges)
	c.ok(c.spoil(n, c.random))
	n.Retune()
	first := c.judge(n, all, nil, 1)
	was := c.judge(n, all, nil, 0)
	c.ok(c.mend(n, c.random))
	n.Retune()
	is := c.judge(n, all, nil, 0)
	a := Attempt{Spec: c.spec, Inspection: batch.Inspection{ID: "two", Attempt: 2}}
	a.Carry(all, inspect.Carry(c.spec, first, inspect.CarriedFrom{Attempt: 1, At: time.Now()}, []inspect.Work{c.work}))
	c.unchanged(a.Carried, was, is)
	again := c.judge(n, a.Routine, a.Carried, 1)
	whole := c.judge(n, all, nil, 1)
	c.whole, c.asked = c.whole+float64(count(all)), c.asked+float64(count(a.Routine))
	c.took, c.tookWhole = c.took+lasts(a.Routine), c.tookWhole+lasts(all)
	c.values += float64(len(a.Carried))
	if again.Conforms != is.Conforms {
		c.wrong++
	}
	if whole.Conforms != is.Conforms {
		c.wrongWhole++
	}
	if whole.Conforms != again.Conforms {
		c.differ++
	}
	c.risk += riskOf(again, is)
	c.riskWhole += riskOf(whole, is)
}

// judge judges a neck by some points, read with a scatter of so many times 2 µm.
func (c *carryCampaign) judge(n *simulate.Neck, points []Point, carried []inspect.Characteristic, scatter float64) *inspect.Result {
	a := Attempt{Spec: c.spec, Inspection: batch.Inspection{ID: "one"}, Carried: carried}
	for i, p := range points {
		r := batch.Reading{ID: fmt.Sprint(i), Point: p.Point, Round: 1, Value: 1, U: 0.003, URepeat: 0.002}
		var err error
		switch p.Point.Kind {
		case batch.Crown:
			r.Value = n.CrownOn(track(c.spec, p.Point.Track), p.Point.Fret)
		case batch.NutHeight:
			r.Value, err = n.NutHeight(p.Point.String)
		case batch.ActionHeight:
			r.Value, err = n.Action(p.Point.String, p.Point.Fret, 0)
		}
		c.ok(err)
		if p.Point.Kind != batch.PitchDeclared {
			r.Value += scatter * 0.002 * c.random.NormFloat64()
		}
		a.Readings = append(a.Readings, r)
	}
	_, res, err := a.Judge(a.Readings)
	c.ok(err)
	return res
}

// unchanged holds what is carried against the truth before and after the work, and counts what did change.
func (c *carryCampaign) unchanged(carried []inspect.Characteristic, was, is *inspect.Result) {
	kept := map[batch.Named]bool{}
	for _, ch := range carried {
		kept[batch.NameOf(ch)] = true
	}
	before := map[batch.Named]inspect.Characteristic{}
	for _, ch := range was.Characteristics {
		before[batch.NameOf(ch)] = ch
	}
	for _, ch := range is.Characteristics {
		b := before[batch.NameOf(ch)]
		if ch.Value == nil || b.Value == nil {
			continue
		}
		by := math.Abs(*ch.Value - *b.Value)
		switch {
		case !kept[batch.NameOf(ch)]:
			if by > 0.02 {
				c.moved++
			}
		case by > 0.0005 && (ch.U == nil || by > 0.3**ch.U): // half a turn moves the rocker at the joint fret by 0.001 mm, for the bend ends there
			c.t.Errorf("after %s, %s was carried and is %.4f, was %.4f", c.name, inspect.Words(c.spec, ch), *ch.Value, *b.Value)
		}
	}
}

// track is a track of the specification as a simulated neck takes it.
func track(s *inspect.Spec, name string) simulate.Track {
	for _, t := range s.TracksOf() {
		if t.Name == name {
			return simulate.Track{YNutMM: t.YNutMM, YSaddleMM: t.YSaddleMM}
		}
	}
	return simulate.Track{}
}

// count is how many readings some points take, the closing ones with them.
func count(points []Point) int {
	if firstCrown(points) != "" {
		return len(points) + closingPoints
	}
	return len(points)
}

// lasts is how long a practised hand takes for them, s.
func lasts(points []Point) float64 {
	hand, sum := byHand(gauges), 0.0
	for _, p := range points {
		sum += hand.seconds(p.Point.Kind, p.GaugeID)
	}
	return sum + float64(count(points)-len(points))*seconds[batch.Closing][0]
}

// riskOf is the chance that a result says of a neck what its truth is not, by how far its true values lie from their limits.
func riskOf(found, is *inspect.Result) float64 {
	u := map[batch.Named]float64{}
	for _, ch := range found.Characteristics {
		if ch.U != nil {
			u[batch.NameOf(ch)] = *ch.U
		}
	}
	sure, all := 1.0, 1.0 // that no sound value is judged wrongly; that every failing one is
	for _, ch := range is.Characteristics {
		margin, ok := inspect.WorstMargin(ch)
		if !ok || u[batch.NameOf(ch)] == 0 {
			continue
		}
		flip := 0.5 * math.Erfc(math.Abs(margin)/(u[batch.NameOf(ch)]*math.Sqrt2))
		if margin >= 0 {
			sure *= 1 - flip
		} else {
			all *= flip
		}
	}
	if is.Conforms {
		return 1 - sure
	}
	return sure * all
}
