package life

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

var lives = flag.Int("lives", 250, "simulated necks of each plan")

// plan is a neck whose truth is known.
type plan struct {
	slope  float64 // mm per % RH
	visits int
	worked func(visit int) bool // the rod is turned, and the neck measured once more
	share  float64              // of the spread that a visit's measurements have in common
	spread float64              // from visit to visit, mm
	u      float64              // of a measurement, mm
}

func everyOther(v int) bool { return v%2 == 1 }
func never(int) bool        { return false }
func always(int) bool       { return true }

var plans = map[string]plan{
	"clean":                   {visits: 8, worked: never, share: 1, spread: 0.02, u: 0.005},
	"clean, few":              {visits: 4, worked: never, share: 1, spread: 0.02, u: 0.005},
	"work at every visit":     {visits: 8, worked: always, share: 1, spread: 0.02, u: 0.005},
	"spread of the hand":      {visits: 8, worked: always, share: 0, spread: 0.02, u: 0.005},
	"work at every other":     {visits: 8, worked: everyOther, share: 1, spread: 0.02, u: 0.005},
	"hand at every other":     {visits: 8, worked: everyOther, share: 0, spread: 0.02, u: 0.005},
	"leaves":                  {visits: 8, worked: everyOther, share: 0.5, spread: 0.01, u: 0.015},
	"sixteen visits":          {visits: 16, worked: everyOther, share: 0.5, spread: 0.03, u: 0.005},
	"no spread but a gauge's": {visits: 8, worked: everyOther, share: 0.5, spread: 0, u: 0.01},
}

// live makes a neck of a plan and how it would be found at a humidity later, before anything else is done to it.
func (p plan) live(r *rand.Rand) (n Neck, found func(humidity float64) float64) {
	level := 0.25
	at := time.Date(2021, 1, 15, 10, 0, 0, 0, time.UTC)
	var air, both float64
	measured := func() float64 {
		return level + p.slope*(air-47) + both + p.spread*math.Sqrt(1-p.share)*r.NormFloat64() + p.u*r.NormFloat64()
	}
	visit := func() {
		both = p.spread * math.Sqrt(p.share) * r.NormFloat64()
	}
	for v := range p.visits {
		air = 47 + 11*math.Sin(float64(v)*math.Pi/2+0.4) + 2*r.NormFloat64()
		visit()
		measure := func() {
			h := air
			n.Measured = append(n.Measured, Measurement{At: at, Visit: v + 1, HumidityPercent: &h, Relief: []Relief{{Track: "bass", First: 1, Second: 14, Fret: 7, MM: measured(), U: p.u}}})
			at = at.Add(time.Hour)
		}
		measure()
		if p.worked(v) {
			n.Done = append(n.Done, Work{At: at, Visit: v + 1, Bends: true})
			at = at.Add(time.Hour)
			level += 0.1 * r.NormFloat64()
			measure()
		}
		at = at.AddDate(0, 3, 0)
	}
	return n, func(humidity float64) float64 {
		air = humidity
		visit()
		return measured()
	}
}

// rate fails where a count of so many lies more than four standard errors beyond what it may be.
func rate(t *testing.T, what string, count, of int, least, most float64) {
	t.Helper()
	share := float64(count) / float64(of)
	se := math.Sqrt(0.05 * 0.95 / float64(of))
	t.Logf("%s: %.3f of %d", what, share, of)
	if share < least-4*se || share > most+4*se {
		t.Errorf("%s: %.3f of %d, want from %.2f to %.2f", what, share, of, least, most)
	}
}

// The slope's interval holds the planted slope in near 95 of 100 necks, whether what spreads the visits lies in the wood or in the hand;
// of necks that humidity does nothing to, no more than 5 of 100 are told a sign, and a sign that is told of the others is the planted one.
func TestSlopeIntervals(t *testing.T) {
	for name, p := range plans {
		t.Run(name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(3, uint64(p.visits)))
			held, signs, wrong, told := 0, 0, 0, 0
			for range *lives {
				p.slope = 0.004
				n, _ := p.live(r)
				h := n.HumidityOf()
				if h.Is == AlikeAir { // by chance
					held++
					continue
				}
				if h.Low <= p.slope && p.slope <= h.High {
					held++
				}
				if h.Known() {
					told++
				}
				if h.Is == Falls {
					wrong++
				}
				p.slope = 0
				n, _ = p.live(r)
				if h := n.HumidityOf(); h.Known() {
					signs++
				}
			}
			rate(t, "intervals that hold the slope", held, *lives, 0.95, 1)
			rate(t, "signs told where there is none", signs, *lives, 0, 0.05)
			rate(t, "wrong signs of 0.04 mm per 10 % RH", wrong, *lives, 0, 0)
			t.Logf("told of 0.04 mm per 10 %% RH: %.2f", float64(told)/float64(*lives))
			if p.visits >= 8 && told == 0 {
				t.Error("nothing is ever told")
			}
		})
	}
}

// What is expected holds the relief that a later measurement shows in near 95 of 100.
func TestExpectedHolds(t *testing.T) {
	for name, p := range plans {
		t.Run(name, func(t *testing.T) {
			p.slope = 0.012 // great enough that nearly every neck has its sign told: those alone that err upwards would be a choice
			r := rand.New(rand.NewPCG(5, uint64(p.visits)))
			held, told := 0, 0
			for range *lives {
				n, found := p.live(r)
				h := n.HumidityOf()
				month := Air{Days: 20, Mean: h.Driest + (h.Dampest-h.Driest)*r.Float64(), SD: 3}
				e := n.Expect(h, month)
				if e.Is != Told {
					continue
				}
				told++
				if mm := found(month.Mean + month.SD*r.NormFloat64()); e.Low <= mm && mm <= e.High {
					held++
				}
			}
			if told < *lives*2/3 {
				t.Fatalf("told of %d of %d", told, *lives)
			}
			rate(t, "intervals that hold the relief", held, told, 0.95, 1)
		})
	}
}

// After as many more visits as are said to be wanting, in air as varied, the interval is narrow enough in about half of the necks or more.
func TestMoreVisitsAreEnough(t *testing.T) {
	p := plan{slope: 0.001, visits: 6, worked: never, share: 1, spread: 0.02, u: 0.005}
	r := rand.New(rand.NewPCG(11, 1))
	enough, asked := 0, 0
	for range *lives {
		n, _ := p.live(r)
		h := n.HumidityOf()
		if h.Is != CannotTell || h.More > MostMoreVisit {
			continue
		}
		asked++
		later := p
		later.visits += h.More
		m, _ := later.live(r) // another neck of the same kind: what this one's chance was is left behind
		wide := m.HumidityOf()
		if (wide.High-wide.Low)/2 <= max(math.Abs(h.Slope), SlightPer10/10)*1.25 {
			enough++
		}
	}
	t.Logf("%d of %d", enough, asked)
	if asked < *lives/4 || enough < asked/2 {
		t.Errorf("of %d necks that were asked for more visits, %d had enough of them", asked, enough)
	}
}

// What the neck gave to other strings holds the planted truth, whose pulls err as their masses do: mostly alike.
func TestGivingHolds(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 1))
	const truth = 0.0009
	held, holds, own := 0, 0, 0
	for range *lives {
		light, heavy := Strings{Name: "light", PullN: 380, U: 10}, Strings{Name: "heavy", PullN: 470, U: 12}
		alike := r.NormFloat64()
		errs := func(s Strings) float64 {
			return s.U * (math.Sqrt(1-eachOwn*eachOwn)*alike + eachOwn*r.NormFloat64())
		}
		pulls := errs(light) - errs(heavy)
		n := Neck{}
		at := time.Date(2022, 3, 1, 9, 0, 0, 0, time.UTC)
		for v := 1; v <= 2; v++ {
			both := 0.02 * r.NormFloat64()
			for i, s := range []Strings{light, heavy} {
				change := float64(i) * truth * (heavy.PullN - light.PullN - pulls)
				n.Measured = append(n.Measured, Measurement{At: at, Visit: v, Strings: s, Relief: []Relief{{Track: "bass", First: 1, Second: 14, Fret: 7, MM: 0.2 + both + change + 0.006*r.NormFloat64(), U: 0.006}}})
				at = at.Add(time.Hour)
			}
			n.Done = append(n.Done, Work{At: at, Visit: v, Bends: true})
			at = at.AddDate(0, 6, 0)
		}
		g := n.GivingOf()
		if g.Pairs != 2 {
			t.Fatalf("%+v", g)
		}
		if g.Low <= truth && truth <= g.High {
			held++
		}
		if !g.OwnSign() {
			continue
		}
		own++
		back, ok := g.Restring(heavy, light)
		if !ok || !back.Own {
			t.Fatalf("%+v", back)
		}
		if is := -truth * (heavy.PullN - light.PullN - pulls); back.Low <= is && is <= back.High {
			holds++
		}
	}
	rate(t, "intervals that hold what it gives", held, *lives, 0.95, 1)
	rate(t, "intervals that hold the change", holds, own, 0.95, 1)
}
