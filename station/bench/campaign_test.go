package bench

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/testdata/demo"
)

var interruptions = flag.Int("interruptions", 24, "how many times TestInterruptions interrupts a neck; 1000 is the long form, some minutes")

// TestInterruptions measures the demo's necks, sound and defective, of all its models, fret by fret, each interrupted at random places:
// parked, the station killed, the carriage lost, checked, another neck, moved, a point chosen later. The neck lies otherwise after each.
// What is judged against the planted truth must not be wrong more often than the decision rule's own risk.
func TestInterruptions(t *testing.T) {
	c := &campaign{t: t, random: rand.New(rand.NewPCG(20261102, 7)), kinds: map[string]int{}}
	for round := uint64(1); c.done < *interruptions; round++ {
		for _, file := range []string{"QM-2611.truth.toml", "QM-2612.truth.toml", "QM-2613.truth.toml"} {
			c.batch(file, round)
		}
	}
	t.Logf("%d necks, %d interruptions (%v), %d readings: %d false dispositions (%v), expected by the rule's own risk %.2f; %d left to a person; %d would be judged wrongly without layings",
		c.necks, c.done, c.kinds, c.readings, len(c.wrong), c.wrong, c.risk, c.undecided, c.mixed)
	t.Logf("%d of %d reliefs and twists of them are farther than 3 u from the truth, %.1f expected", c.far, c.values, 0.0027*float64(c.values))
	if most := 0.0027 * float64(c.values); float64(c.far) > most+4*math.Sqrt(most)+1 {
		t.Errorf("%d of %d reliefs and twists are farther than 3 u from the truth, %.1f expected", c.far, c.values, most)
	}
	if c.mixed == 0 {
		t.Error("no neck would be judged wrongly without layings: the moves show nothing")
	}
	if most := c.risk + 3*math.Sqrt(c.risk) + 1; float64(len(c.wrong)) > most {
		t.Errorf("%d false dispositions, at most %.1f are within the rule's risk: %v", len(c.wrong), most, c.wrong)
	}
}

type campaign struct {
	t                                testing.TB
	random                           *rand.Rand
	kinds                            map[string]int
	done, necks, readings, undecided int
	mixed                            int // judged wrongly where layings are not told
	values, far                      int // reliefs and twists; those farther than 3 u from the truth
	wrong                            []string
	risk                             float64
}

// batch measures some necks of a batch in a shop of their own.
func (c *campaign) batch(file string, round uint64) {
	text, err := demo.Files.ReadFile(file)
	if err != nil {
		c.t.Fatal(err)
	}
	scenario, err := simulate.ParseScenario(file, text)
	if err != nil {
		c.t.Fatal(err)
	}
	scenario.Seed += round
	s := open(c.t)
	spec, err := demo.Files.ReadFile(scenario.Spec)
	s.ok(err)
	for _, profile := range []string{"sweep", "beam"} { // every crown by itself
		spec = []byte(strings.Replace(string(spec), fmt.Sprintf("profile = %q", profile), `profile = "each fret"`, 1))
	}
	spec = []byte(strings.Replace(string(spec), `revision = "A"`, `revision = "each fret"`, 1))
	frozen := must1(c.t)(s.db.AddSpec(s.ctx, "", "", "each-fret-"+filepath.Base(scenario.Spec), spec))
	serials := []string{"another"}
	for i := range scenario.Necks {
		serials = append(serials, fmt.Sprintf("%d", i+1))
	}
	must(c.t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "CAMPAIGN", Spec: frozen, Planned: len(serials)}, serials))
	s.ok(s.bench.OpenBatch(s.ctx, "CAMPAIGN"))
	for range 3 {
		if c.done >= *interruptions {
			return
		}
		i := 1 + c.random.IntN(scenario.Necks)
		neck, err := scenario.Make(i)
		s.ok(err)
		c.neck(s, neck, serials[i])
	}
}

// neck measures one neck with two to four interruptions and holds its disposition against the truth.
func (c *campaign) neck(s *shop, neck *simulate.Neck, serial string) {
	c.t.Helper()
	l := &lie{random: c.random}
	l.anew()
	reads := func(p routine.Point, noise float64) float64 {
		mm := 0.0
		var err error
		switch p.Point.Kind {
		case batch.Crown, batch.Closing:
			mm = neck.CrownOn(c.track(s, p.Point.Track), p.Point.Fret)
		case batch.NutHeight:
			mm, err = neck.NutHeight(p.Point.String)
		case batch.ActionHeight:
			mm, err = neck.Action(p.Point.String, p.Point.Fret, p.Point.HeldFret)
		default:
			err = fmt.Errorf("%s is asked for", p.Words)
		}
		s.ok(err)
		return mm + noise*c.random.NormFloat64()
	}
	s.bring(serial)
	c.necks++
	times := 2 + c.random.IntN(3)
	var at []int
	for range times {
		at = append(at, 1+c.random.IntN(55))
	}
	for n := 0; ; n++ {
		snap := s.bench.Snapshot()
		if snap.Stage != Measuring {
			break
		}
		if n > 1000 {
			c.t.Fatalf("%s does not end: %q", serial, snap.Because)
		}
		if k := slices.Index(at, n); k >= 0 {
			c.interrupt(s, l, serial)
			continue
		}
		if snap.Question != nil {
			s.ok(s.bench.Answer(s.ctx, true))
			continue
		}
		p := snap.Points[snap.Next]
		switch p.Point.Kind {
		case batch.PitchDeclared:
			s.ok(s.bench.Declare(s.ctx))
		case batch.Pitch:
			s.ok(s.bench.Entry(s.ctx, "0 cents", "mm"))
		default:
			s.frame(p.GaugeID, l.under(p, reads(p, 0.002)), true)
		}
		c.readings++
	}
	c.judge(s, serial, reads)
	snap := s.bench.Snapshot()
	if snap.Stage == PersonDecides {
		c.undecided++
		s.ok(s.bench.Abandon(s.ctx, "left to a person"))
		return
	}
	s.ok(s.bench.Clear(s.ctx))
}

// track is a track of the specification as a simulated neck takes it.
func (c *campaign) track(s *shop, name string) simulate.Track {
	for _, t := range s.bench.Snapshot().Batch.Spec.Spec.TracksOf() {
		if t.Name == name {
			return simulate.Track{YNutMM: t.YNutMM, YSaddleMM: t.YSaddleMM}
		}
	}
	c.t.Fatalf("no track %q", name)
	return simulate.Track{}
}

// interrupt does one of what ends a laying, and lays the neck down otherwise.
func (c *campaign) interrupt(s *shop, l *lie, serial string) {
	snap := s.bench.Snapshot()
	if snap.Question != nil {
		s.ok(s.bench.Answer(s.ctx, true))
	}
	all := []string{"chosen later"}
	for name := range ends {
		all = append(all, name)
	}
	slices.Sort(all)
	kind := all[c.random.IntN(len(all))]
	l.anew()
	s.set(s.at().Add(time.Minute))
	if kind != "chosen later" {
		ends[kind].do(s, serial, "another")
	} else {
		s.ok(s.bench.Moved(s.ctx))
		var taken []string
		for _, p := range s.bench.Snapshot().Points {
			if p.Point.Kind == batch.Crown && p.Taken {
				taken = append(taken, p.Key)
			}
		}
		if len(taken) > 0 {
			s.ok(s.bench.Choose(s.ctx, taken[c.random.IntN(len(taken))]))
		}
	}
	c.kinds[kind]++
	c.done++
}

// compare holds a relief or a twist against the truth: carried crowns have the uncertainty that they are said to have.
func (c *campaign) compare(found inspect.Characteristic, truth float64) {
	if found.Value == nil || found.Name != inspect.Relief && found.Name != inspect.Twist {
		return
	}
	c.values++
	if math.Abs(*found.Value-truth) > 3**found.U {
		c.far++
	}
}

// judge holds the neck on the bench against what its truth gives without a gauge's error.
func (c *campaign) judge(s *shop, serial string, reads func(routine.Point, float64) float64) {
	n := s.bench.neck()
	var truth []batch.Reading
	for _, p := range n.Routine {
		r := batch.Reading{ID: p.Key, Point: p.Point, Round: 1, Value: 1, U: 0.003, URepeat: 0.002}
		switch p.Point.Kind {
		case batch.PitchDeclared:
		case batch.Pitch:
			r.Value = 0
		default:
			r.Value = reads(p, 0)
		}
		truth = append(truth, r)
	}
	_, is, err := n.Judge(truth)
	s.ok(err)
	_, found, err := n.Judge(n.Readings)
	s.ok(err)
	conforms := true
	sure, all := 1.0, 1.0 // that no sound characteristic is judged wrongly; that every failing one is
	for _, ch := range is.Characteristics {
		if ch.Zone == inspect.NoLimit || ch.Value == nil {
			continue
		}
		margin := math.Inf(1)
		if ch.Lower != nil {
			margin = *ch.Value - *ch.Lower
		}
		if ch.Upper != nil {
			margin = min(margin, *ch.Upper-*ch.Value)
		}
		conforms = conforms && margin >= 0
		flip := 0.0
		for _, f := range found.Characteristics {
			if f.Name == ch.Name && f.Track == ch.Track && f.Fret == ch.Fret && f.String == ch.String && f.HeldFret == ch.HeldFret && f.U != nil && *f.U > 0 {
				flip = 0.5 * math.Erfc(math.Abs(margin)/(*f.U*math.Sqrt2))
				c.compare(f, *ch.Value)
			}
		}
		if margin >= 0 {
			sure *= 1 - flip
		} else {
			all *= flip
		}
	}
	if conforms {
		c.risk += 1 - sure
	} else {
		c.risk += sure * all
	}
	mixed := slices.Clone(n.Readings)
	for i := range mixed {
		mixed[i].Laying = 0
	}
	if _, res, err := n.Judge(mixed); err != nil || res.Conforms != conforms {
		c.mixed++
	}
	snap := s.bench.Snapshot()
	if snap.Verdict == nil || snap.Verdict.Disposition == inspect.Remeasure {
		return
	}
	if passed := snap.Verdict.Disposition == inspect.Pass; passed != conforms {
		why := ""
		for _, f := range found.Characteristics {
			if f.Zone == inspect.Nonconforming {
				why += " " + inspect.Words(n.Spec, f)
			}
		}
		c.wrong = append(c.wrong, fmt.Sprintf("%s %s: %s, planted conforms: %t%s", snap.Batch.Spec.Name, serial, snap.Verdict.Disposition, conforms, why))
	}
}
