package batch

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"sagitta/inspect"
	"sagitta/inspect/laying"
)

// laidNeck is a neck with two tracks of 22 frets whose crowns are read by a gauge with a scatter.
type laidNeck struct {
	spec   *inspect.Spec
	points []Point
	truth  map[Point]float64
	random *rand.Rand
	rows   []Reading
	plane  [3]float64 // of the present laying
	laying int
}

const scatter = 0.004

func newLaidNeck(seed uint64) *laidNeck {
	n := &laidNeck{truth: map[Point]float64{}, random: rand.New(rand.NewPCG(seed, 12)), laying: 1}
	upper, zone := 0.5, 0.2
	n.spec = (&inspect.Spec{
		Name: "QM Bolt 648", Revision: "A", Neck: inspect.NeckSpec{ScaleMM: 648, Frets: 22, JointFret: 16, Rod: "double"},
		Strings:     []inspect.String{{Number: 1, Name: "e", PitchHz: 329.6, YNutMM: 17.5, YSaddleMM: 26, DiameterMM: 0.25, PlainString: true}, {Number: 2, Name: "E", PitchHz: 82.4, YNutMM: -17.5, YSaddleMM: -26, DiameterMM: 1.1, PlainString: true}},
		Uncertainty: inspect.UncertaintySpec{ResolutionMM: 0.001, RepeatabilityMM: scatter},
		Limits: []inspect.Limit{{Characteristic: inspect.Relief, Track: "each", UpperMM: &upper}, {Characteristic: inspect.LevelZone, UpperMM: &zone},
			{Characteristic: inspect.Twist, UpperDeg: &upper}},
	}).WithDefaults()
	x := func(fret int) float64 { return inspect.FretX(648, fret) }
	xb := x(16)
	for _, track := range []string{"bass", "treble"} {
		for fret := 1; fret <= 22; fret++ {
			p := Point{Kind: Crown, Track: track, Fret: fret}
			n.points = append(n.points, p)
			z := -0.15 * (x(fret) - xb) / (x(22) - xb)
			if fret < 16 {
				z = 0.28 * (xb - x(fret)) * (xb - x(fret)) / ((x(7) - x(1)) * (xb - x(7)))
			}
			n.truth[p] = z + 0.01*n.random.NormFloat64()
		}
	}
	return n
}

// lay lays the neck anew.
func (n *laidNeck) lay() {
	n.laying++
	n.plane = [3]float64{0.2 * n.random.NormFloat64(), 4e-4 * n.random.NormFloat64(), 2e-3 * n.random.NormFloat64()}
}

// read takes a crown in the present laying.
func (n *laidNeck) read(p Point) {
	x, y := inspect.FretX(648, p.Fret), -17.5
	if p.Track == "treble" {
		y = 17.5
	}
	y = inspect.TrackY(y, y*26/17.5, 648, x)
	z := n.truth[p] + n.plane[0] + n.plane[1]*x + n.plane[2]*y + scatter*n.random.NormFloat64()
	r := Reading{ID: fmt.Sprint("r", len(n.rows)), Seq: int64(len(n.rows) + 1), Point: p, Round: 1, Laying: n.laying, Value: z, U: 0.005, URepeat: scatter,
		At: time.Unix(int64(1e9+10*len(n.rows)), 0)}
	for _, s := range Standing(n.rows) {
		if s.Point == p {
			r.Supersedes = s.ID
		}
	}
	n.rows = append(n.rows, r)
}

// takeBack takes the last row back.
func (n *laidNeck) takeBack() {
	last := n.rows[len(n.rows)-1]
	n.rows = append(n.rows, Reading{ID: fmt.Sprint("r", len(n.rows)), Seq: int64(len(n.rows) + 1), Point: last.Point, Round: 1, Laying: last.Laying, Withdrawn: true,
		Supersedes: last.ID, Reason: "taken back"})
}

// link measures what is asked for before going on.
func (n *laidNeck) link() {
	for _, p := range n.ask().Links {
		n.read(p)
	}
}

func (n *laidNeck) ask() Laid { return Lay(n.spec, n.rows, Present{Laying: n.laying}) }

func (n *laidNeck) judge(t *testing.T) *inspect.Result {
	t.Helper()
	res, err := inspect.Evaluate(n.spec, Assemble(n.spec, Inspection{Serial: "QM-1"}, n.rows, nil), inspect.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// whole reads the neck in one laying; interrupted in several, laid anew after each of the crowns given.
func (n *laidNeck) interrupted(links bool, after ...int) {
	for i, p := range n.points {
		for _, a := range after {
			if a == i {
				n.lay()
				if links {
					n.link()
				} else {
					n.laying = 1
				}
			}
		}
		n.read(p)
	}
}

// far is by how many of its uncertainties the worst characteristic differs from that of the same neck measured exactly.
func far(t *testing.T, n *laidNeck) float64 {
	t.Helper()
	exact := &laidNeck{spec: n.spec, points: n.points, truth: n.truth}
	for _, p := range n.points {
		exact.rows = append(exact.rows, Reading{ID: fmt.Sprint(len(exact.rows)), Point: p, Round: 1, Laying: 1, Value: n.truth[p]})
	}
	want, got := exact.judge(t), n.judge(t)
	worst := 0.0
	for _, w := range want.Characteristics {
		for _, g := range got.Characteristics {
			if g.Name == w.Name && g.Track == w.Track && g.Fret == w.Fret && g.Value != nil && w.Value != nil && (g.Name == inspect.Relief || g.Name == inspect.Twist || g.Name == inspect.Rocker || g.Name == inspect.FallAway) {
				worst = math.Max(worst, math.Abs(*g.Value-*w.Value) / *g.U)
			}
		}
	}
	return worst
}

// TestInterruptedNecks: a neck that was laid anew, once or twice, with links gives what it has within its uncertainty; without links it
// does not.
func TestInterruptedNecks(t *testing.T) {
	necks, wrong := 0, 0
	for seed := range uint64(12) {
		for _, after := range [][]int{{9}, {16}, {30}, {40}, {9, 30}, {30, 35}} {
			n := newLaidNeck(seed)
			n.interrupted(true, after...)
			if l := n.ask(); l.State != LinksAgree || len(l.Links) != 0 || len(l.Withdraw) != 0 {
				t.Fatalf("%d, laid anew after %d: %v, links %v, fit %+v", seed, after, l.State, l.Links, l.Fit)
			}
			// 48 values: of a million such necks 1 has one beyond 5.5 of its uncertainties.
			if f := far(t, n); f > 5.5 {
				t.Errorf("%d, laid anew after %d: %.1f uncertainties off", seed, after, f)
			}
			naive := newLaidNeck(seed)
			naive.interrupted(false, after...)
			necks++
			if far(t, naive) > 5.5 {
				wrong++
			}
		}
	}
	t.Logf("mixed without links %d of %d necks are wrong", wrong, necks)
	if wrong < necks*3/4 {
		t.Errorf("only %d of %d necks that were mixed without links are wrong: the planes are too small to show anything", wrong, necks)
	}
}

// TestLinksAskedFor follows an interruption step by step.
func TestLinksAskedFor(t *testing.T) {
	n := newLaidNeck(1)
	for _, p := range n.points[:30] {
		n.read(p)
	}
	before := n.judge(t)
	if l := n.ask(); l.State != NothingOld || l.Laying != 1 {
		t.Fatalf("%+v", l.State)
	}
	n.lay()
	l := n.ask()
	var frets []int
	for _, p := range l.Links {
		frets = append(frets, p.Fret)
	}
	if l.State != Linking || !reflect.DeepEqual(frets, []int{1, 9, 22, 1, 4, 8}) {
		t.Fatalf("%v asks for %v", l.State, frets)
	}
	if res := n.judge(t); !reflect.DeepEqual(res, before) {
		t.Error("a laying without a crown changes the result")
	}
	for i, p := range l.Links {
		n.read(p)
		in := Assemble(n.spec, Inspection{}, n.rows, nil)
		if count := crowns(in); i < 5 && count != i+1 || i == 5 && count != 30 {
			t.Fatalf("after %d links %d crowns take part", i+1, count)
		}
	}
	n.takeBack()
	if l := n.ask(); l.State != Linking || len(l.Links) != 1 || l.Links[0].Fret != 8 {
		t.Fatalf("a link taken back: %v, %v", l.State, l.Links)
	}
	n.lay() // before the links were in: the same are asked for again
	if l := n.ask(); l.State != Linking || len(l.Links) != 6 || len(l.Withdraw) != 5 {
		t.Fatalf("laid once more: %v, %v, %d to be taken back", l.State, l.Links, len(l.Withdraw))
	}
	n.link()
	if l := n.ask(); l.State != LinksAgree || len(l.Withdraw) != 0 {
		t.Fatalf("%v, %v", l.State, l.Fit)
	}
	for _, p := range n.points[30:] {
		n.read(p)
	}
	if f := far(t, n); f > 5.5 {
		t.Errorf("%.1f uncertainties off", f)
	}
}

func crowns(r *inspect.Readings) (count int) {
	for _, t := range r.Profile {
		for _, z := range t.ZMM {
			if z != nil {
				count++
			}
		}
	}
	return count
}

// withdraw appends what the bench does with rows that no longer count.
func (n *laidNeck) withdraw(rows []Reading) {
	for _, r := range rows {
		n.rows = append(n.rows, Reading{ID: fmt.Sprint("w", len(n.rows)), Seq: int64(len(n.rows) + 1), Point: r.Point, Round: r.Round, Laying: r.Laying, Withdrawn: true,
			Supersedes: r.ID, Reason: "moved"})
	}
}

// TestOldCrownsWithdrawn: where links disagree, or carrying is not worth it, old crowns take no part, before and after they are withdrawn.
func TestOldCrownsWithdrawn(t *testing.T) {
	for _, c := range []struct {
		name         string
		read         int
		spoil        func(n *laidNeck)
		want         Carrying
		part, remain int // crowns that take part; rows to be withdrawn
	}{
		{"a link off by 0.1 mm", 30, func(n *laidNeck) { n.link(); n.rows[len(n.rows)-2].Value += 0.1 }, LinksDisagree, 6, 24},
		{"five crowns", 5, func(*laidNeck) {}, TooFew, 0, 5},
		{"a night between", 30, func(n *laidNeck) { n.link(); n.late(9 * time.Hour) }, TooOld, 6, 24},
	} {
		n := newLaidNeck(3)
		for _, p := range n.points[:c.read] {
			n.read(p)
		}
		n.lay()
		c.spoil(n)
		l := n.ask()
		if l.State != c.want || len(l.Withdraw) != c.remain || len(l.Links) != 0 {
			t.Errorf("%s: %v, %d to be taken back, links %v", c.name, l.State, len(l.Withdraw), l.Links)
		}
		if got := crowns(Assemble(n.spec, Inspection{}, n.rows, nil)); c.part > 0 && got != c.part {
			t.Errorf("%s: %d crowns take part", c.name, got)
		}
		n.withdraw(l.Withdraw)
		if l := n.ask(); l.State != NothingOld || len(l.Withdraw) != 0 || len(l.Links) != 0 {
			t.Errorf("%s, taken back: %v, %d, %v", c.name, l.State, len(l.Withdraw), l.Links)
		}
		for _, p := range n.points {
			n.read(p)
		}
		if f := far(t, n); f > 5.5 {
			t.Errorf("%s: measured anew it is %.1f uncertainties off", c.name, f)
		}
	}
}

// late moves the present laying's rows.
func (n *laidNeck) late(by time.Duration) {
	for i := range n.rows {
		if n.rows[i].Laying == n.laying {
			n.rows[i].At = n.rows[i].At.Add(by)
		}
	}
}

// TestCarriedUncertainty: the uncertainties of carried crowns against the spread of 2,000 draws of all rows, each carried anew (JCGM
// 101:2008), good to 1.6 %; and the budget's.
func TestCarriedUncertainty(t *testing.T) {
	n := newLaidNeck(5)
	n.interrupted(true, 12, 30)
	for i := range n.rows { // all of it random
		n.rows[i].U, n.rows[i].URepeat = scatter, scatter
	}
	in := Assemble(n.spec, Inspection{Serial: "QM-1"}, n.rows, nil)
	res := n.judge(t)
	kept := make([]float64, len(n.rows))
	for i := range n.rows {
		kept[i] = n.rows[i].Value
	}
	sums, squares := make([]float64, len(res.Characteristics)), make([]float64, len(res.Characteristics))
	const draws = 2000
	for range draws {
		for i := range n.rows {
			n.rows[i].Value = kept[i] + 0.3*scatter*n.random.NormFloat64() // smaller, so that the links agree and kinks are rare
		}
		one, err := inspect.Evaluate(n.spec, Assemble(n.spec, Inspection{Serial: "QM-1"}, n.rows, nil), inspect.Options{SkipUncertainty: true})
		if err != nil {
			t.Fatal(err)
		}
		for i := range res.Characteristics {
			d := (*one.Characteristics[i].Value - *res.Characteristics[i].Value) / 0.3
			sums[i] += d
			squares[i] += d * d
		}
	}
	checked, worst, alone := 0, 0.0, 0
	for i, c := range res.Characteristics {
		sd := math.Sqrt((squares[i] - sums[i]*sums[i]/draws) / draws)
		switch c.Name {
		case inspect.Relief, inspect.SideDifference, inspect.Twist, inspect.Rocker:
			checked++
			ratio := math.Abs(sd / *c.U - 1)
			worst = math.Max(worst, ratio)
			if ratio > 0.07 {
				t.Errorf("%s: propagated %.5f, sampled %.5f", inspect.Words(n.spec, c), *c.U, sd)
			}
			if checked%5 == 0 {
				if _, u, err := inspect.Budget(n.spec, in, c); err != nil || math.Abs(u-*c.U) > 1e-9 {
					t.Errorf("%s: budget %v, propagated %v, %v", inspect.Words(n.spec, c), u, *c.U, err)
				}
				alone++
			}
		}
	}
	if checked < 40 || alone < 5 || len(in.Carried) == 0 {
		t.Errorf("%d checked, %d budgets, %d readings shared", checked, alone, len(in.Carried))
	}
	t.Logf("JCGM 101, %d draws: %d characteristics within %.1f %%; %d readings that several crowns rest on", draws, checked, 100*worst, len(in.Carried))
}

// TestLayingNeck: the places are those that inspect computes with.
func TestLayingNeck(t *testing.T) {
	n := newLaidNeck(1)
	neck := LayingNeck(n.spec)
	if _, err := laying.Links(neck, []laying.Crown{{Track: 0, Fret: 1}}); err != nil || len(neck.Tracks) != 3 || neck.Joint != 16 || neck.Relief != 7 || neck.Tracks[0].Y[0] != -17.5 {
		t.Errorf("%+v, %v", neck, err)
	}
}
