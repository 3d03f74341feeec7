package sweep

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// swept makes one sweep of a hand over a board with the usual lines.
func swept(t *testing.T, b *board, h hand, seed uint64) *Found {
	t.Helper()
	p, err := trySweep(b, h, seed)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func trySweep(b *board, h hand, seed uint64) (*Found, error) {
	b.lay()
	heights, positions := carriage{usualIndicator, usualEncoder, 123.4, 1.001}.sweep(b, h, rand.New(rand.NewPCG(seed, 30)))
	return Find(heights, positions, options(b))
}

// mostly fails unless all frets but the exceptions are good, one at most asked for again, and
// right to 6 micrometres.
func mostly(t *testing.T, b *board, p *Found, except ...int) {
	t.Helper()
	if len(p.Crowns) != b.frets {
		t.Fatalf("%d crowns for %d frets", len(p.Crowns), b.frets)
	}
	again := 0
next:
	for _, c := range p.Crowns {
		for _, n := range except {
			if c.Fret == n {
				continue next
			}
		}
		if c.State == Doubtful && again == 0 {
			again++
		} else if c.State != Good || c.Why != "" {
			t.Errorf("fret %d is %s: %s", c.Fret, c.State, c.Why)
		} else if e := c.ZMM - b.top(c.Fret); math.Abs(e) > 0.006 {
			t.Errorf("fret %d is wrong by %.4f mm", c.Fret, e)
		}
	}
}

func sound(seed uint64) *board { return soundBoard(rand.New(rand.NewPCG(seed, 31))) }

func TestMissingFret(t *testing.T) {
	b := sound(1)
	b.absent[9] = true
	p := swept(t, b, whole(b), 1)
	mostly(t, b, p, 9)
	if c := p.Crowns[8]; c.State != Missing || !strings.Contains(c.Why, "nothing stood where fret 9") {
		t.Errorf("fret 9 is %s: %s", c.State, c.Why)
	}
}

func TestLateAndEarly(t *testing.T) {
	b := sound(2)
	h := whole(b)
	h.from, h.to = b.x(4)+4, b.x(19)-4
	p := swept(t, b, h, 2)
	mostly(t, b, p, 1, 2, 3, 4, 19, 20, 21, 22)
	for n, want := range map[int]string{1: "nut's end", 4: "nut's end", 19: "body's end", 22: "body's end"} {
		if c := p.Crowns[n-1]; c.State != Missing || !strings.Contains(c.Why, want) {
			t.Errorf("fret %d is %s (%s), want missing at the %s", n, c.State, c.Why, want)
		}
	}
}

// TestHalfACrown: the sweep begins on a crown and ends on one. Neither is a top that was passed over.
func TestHalfACrown(t *testing.T) {
	b := sound(3)
	h := whole(b)
	h.from, h.to = b.x(3)+0.05, b.x(20)-1.5
	p := swept(t, b, h, 3)
	mostly(t, b, p, 1, 2, 3, 20, 21, 22)
	for _, n := range []int{3, 20} {
		if p.Crowns[n-1].State == Good {
			t.Errorf("fret %d is good: it was seen from one side", n)
		}
	}
}

func TestReversed(t *testing.T) {
	b := sound(4)
	h := whole(b)
	h.from, h.to = h.to, h.from
	mostly(t, b, swept(t, b, h, 4))
}

// TestStandsAndGoesBack: the hand rests on a crown's flank, and goes back over another crown.
func TestStandsAndGoesBack(t *testing.T) {
	b := sound(5)
	h := whole(b)
	h.stopAt, h.backAt = b.x(7)-0.6, b.x(15)+1
	mostly(t, b, swept(t, b, h, 5))
}

func TestHighFret(t *testing.T) {
	b := sound(6)
	b.high[10] += 0.15
	mostly(t, b, swept(t, b, whole(b), 6))
}

// TestWornFlat: a crown filed flat by 0.05 mm, 0.68 mm wide (2 sqrt(1.2² - 1.15²)); its top is 0.05 mm lower.
func TestWornFlat(t *testing.T) {
	b := sound(7)
	b.worn[5], b.high[5] = 0.05, b.high[5]-0.05
	h := whole(b)
	h.slow, h.fast = 15, 25
	p := swept(t, b, h, 7)
	mostly(t, b, p)
	if c := p.Crowns[5]; math.Abs(c.FlatMM-0.685) > 0.12 {
		t.Errorf("the flat of fret 6 is %.3f mm wide, it is 0.685", c.FlatMM)
	}
}

// TestBurr: a burr of 0.05 mm beside the top is no clean crown.
func TestBurr(t *testing.T) {
	b := sound(8)
	b.bump[13] = 0.05
	h := whole(b)
	h.slow, h.fast = 15, 20
	p := swept(t, b, h, 8)
	mostly(t, b, p, 13)
	if c := p.Crowns[12]; c.State != Doubtful || !strings.Contains(c.Why, "no clean round crown") {
		t.Errorf("fret 13 is %s (%s), want doubtful", c.State, c.Why)
	}
}

// TestTooFast: at 90 mm/s three or four heights lie on a crown. They are asked for again in words that say why.
func TestTooFast(t *testing.T) {
	b := sound(9)
	h := whole(b)
	h.slow, h.fast = 85, 95
	p := swept(t, b, h, 9)
	for _, c := range p.Crowns {
		if c.State == Good {
			t.Errorf("fret %d is good with %d heights", c.Fret, c.Samples)
		}
	}
	slower := 0
	for _, c := range p.Crowns {
		if strings.Contains(c.Why, "slowly") {
			slower++
		}
	}
	if slower < 15 {
		t.Errorf("only %d of 22 frets are said to want a slower hand", slower)
	}
}

// TestOtherRadius: a taller, wider fret wire and a finer tip than were told of; the sweep shows their radius.
func TestOtherRadius(t *testing.T) {
	for _, r := range [][2]float64{{1.5, 1.5}, {1.0, 1.0}} {
		b := sound(12)
		b.crown, b.tipRadius = r[0], r[1]
		h := whole(b)
		h.fast = 30
		p := swept(t, b, h, 12)
		mostly(t, b, p)
		if math.Abs(p.RadiusMM-r[0]-r[1]) > 0.05 {
			t.Errorf("crown %g and tip %g: found %.3f mm together", r[0], r[1], p.RadiusMM)
		}
	}
}

// TestShortPass: five frets at the body's end are told from their neighbours; four are too few.
func TestShortPass(t *testing.T) {
	right := 0
	for seed := range uint64(40) {
		b := sound(10 + seed)
		h := whole(b)
		h.from, h.to = b.x(16)-5, b.x(20)+5
		p, err := trySweep(b, h, seed)
		if err != nil { // not certain enough: asked for again
			continue
		}
		right++
		mostly(t, b, p, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 21, 22)
	}
	if right < 36 {
		t.Errorf("only %d of 40 short sweeps were recognised", right)
	}
	b := sound(1)
	h := whole(b)
	h.from, h.to = b.x(5)-8, b.x(8)+8
	if _, err := trySweep(b, h, 1); err == nil || !strings.Contains(err.Error(), "found 4 of the 5 frets") {
		t.Errorf("four frets: %v", err)
	}
}

// TestAnotherNeck: a neck of another scale is refused. One that is shorter by exactly a fret's factor stands like this
// neck's frets from 2 on, which no encoder without a zero can tell; its missing fret 1 is asked for.
func TestAnotherNeck(t *testing.T) {
	b := sound(50)
	b.scale = 628
	b.lay()
	heights, positions := carriage{usualIndicator, usualEncoder, 0, 1}.sweep(b, whole(b), rand.New(rand.NewPCG(50, 30)))
	if p, err := Find(heights, positions, Options{FretsMM: evenFrets(648, 22)}); err == nil {
		t.Errorf("a neck of 628 mm scale passed for one of 648 mm: %+v", p.Crowns[10])
	}
	b.scale = 648 * math.Exp2(-1.0/12)
	b.lay()
	heights, positions = carriage{usualIndicator, usualEncoder, 0, 1}.sweep(b, whole(b), rand.New(rand.NewPCG(50, 30)))
	p, err := Find(heights, positions, Options{FretsMM: evenFrets(648, 22)})
	if err == nil && p.Crowns[0].State != Missing {
		t.Errorf("fret 1 of a neck that has none there is %s", p.Crowns[0].State)
	}
}

// TestVeryLate: a position that comes 60 ms after its height puts a crown 2.7 mm off at 45 mm/s; the crowns show it.
func TestVeryLate(t *testing.T) {
	b := sound(70)
	b.lay()
	late := usualEncoder
	late.late = 0.069
	heights, positions := carriage{usualIndicator, late, 0, 1}.sweep(b, whole(b), rand.New(rand.NewPCG(70, 30)))
	p, err := Find(heights, positions, options(b))
	if err != nil {
		t.Fatal(err)
	}
	mostly(t, b, p)
	if math.Abs(p.LatencyS+0.06) > 0.004 {
		t.Errorf("the heights come %.4f s later than the positions, want -0.06", p.LatencyS)
	}
}

// TestOneLine: two fields of one line need no times: what comes is held back for up to a second here.
func TestOneLine(t *testing.T) {
	b := sound(80)
	b.lay()
	r := rand.New(rand.NewPCG(80, 32))
	var heights, positions []Sample
	at := 0.0
	for i, x := range whole(b).push(r) {
		if i%5 != 0 { // every 10 ms
			continue
		}
		at = math.Max(at, float64(i)*wayStep)
		if r.Float64() < 0.02 {
			at += r.Float64()
		}
		heights = append(heights, Sample{AtS: at, MM: math.Round(1000*(b.tip(x)+0.002*r.NormFloat64())) / 1000})
		positions = append(positions, Sample{AtS: at, MM: math.Round(100*(7-x)) / 100})
	}
	p, err := Find(heights, positions, options(b))
	if err != nil {
		t.Fatal(err)
	}
	mostly(t, b, p)
}

// TestOneClock: streams of one clock have no lateness between them and no jitter to take out.
func TestOneClock(t *testing.T) {
	b := sound(60)
	b.lay()
	l := line{hz: 100, resolve: 0.001, noise: 0.002}
	e := line{hz: 100, resolve: 0.01}
	r := rand.New(rand.NewPCG(60, 30))
	heights, _ := carriage{l, e, 5, -1}.sweep(b, whole(b), r)
	_, positions := carriage{l, e, 5, -1}.sweep(b, whole(b), rand.New(rand.NewPCG(60, 30)))
	p, err := Find(heights, positions, options(b))
	if err != nil {
		t.Fatal(err)
	}
	mostly(t, b, p)
	if math.Abs(p.LatencyS) > 0.002 || p.Scale > -0.99 {
		t.Errorf("latency %.4f s and scale %.4f, want 0 and -1", p.LatencyS, p.Scale)
	}
}

// TestRefuses: nothing is made of streams that cannot be a sweep.
func TestRefuses(t *testing.T) {
	var still, short []Sample
	for i := range 400 {
		still = append(still, Sample{AtS: float64(i) / 100, MM: 0.1})
	}
	short = still[:10]
	nan := append([]Sample(nil), still...)
	nan[7].MM = math.NaN()
	back := append([]Sample(nil), still...)
	back[7].AtS = 0
	for want, s := range map[string][2][]Sample{
		"the indicator sent 10 of the 25 readings":        {short, still},
		"the position encoder sent 10 of the 25 readings": {still, short},
		"found 0 of the 5 frets that are needed":          {still, still},
		"reading 8 of the indicator is no":                {nan, still},
		"came before the one in front":                    {still, back},
	} {
		if _, err := Find(s[0], s[1], Options{FretsMM: evenFrets(648, 22)}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
	if _, err := Find(still, still, Options{}); err == nil {
		t.Error("a board without a scale was accepted")
	}
}
