package devices

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"sagitta/devices/decode"
)

// probe feeds a rest detector frames of a gauge with a resolution of 0.001 mm, every 20 ms unless told otherwise.
type probe struct {
	rest  *rest
	at    time.Time
	every time.Duration
	step  float64
	noise *rand.Rand
	taken []float64
}

func newProbe() *probe {
	return &probe{rest: newRest(0.001, 1), at: time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC), every: 20 * time.Millisecond, step: 0.001,
		noise: rand.New(rand.NewPCG(1, 2))}
}

// show shows what of tells for so long; t runs from 0 to 1.
func (p *probe) show(lasting time.Duration, of func(t float64) float64) {
	n := int(lasting / p.every)
	for i := range n {
		p.at = p.at.Add(p.every)
		mm := math.Round(of(float64(i+1)/float64(n))/p.step) * p.step
		if p.rest.frame(p.at, decode.Value{Digits: "x", MM: mm}) {
			p.taken = append(p.taken, mm)
		}
	}
}

// noisy is a value that wanders by a step to either side.
func (p *probe) noisy(mm float64) func(float64) float64 {
	return func(float64) float64 { return mm + float64(p.noise.IntN(3)-1)*p.step }
}

func ramp(from, to float64) func(float64) float64 {
	return func(t float64) float64 { return from + t*(to-from) }
}

// word sends a word instead of a number.
func (p *probe) word(status string) {
	p.at = p.at.Add(p.every)
	if p.rest.frame(p.at, decode.Value{Status: status}) {
		p.taken = append(p.taken, math.NaN())
	}
}

// took checks what was taken, to within a step.
func (p *probe) took(t *testing.T, after string, want ...float64) {
	t.Helper()
	ok := len(p.taken) == len(want)
	for i := range want {
		ok = ok && math.Abs(p.taken[i]-want[i]) <= 1.001*p.step
	}
	if !ok {
		t.Fatalf("after %s: took %v, want %v", after, p.taken, want)
	}
}

func TestRestTakesOneReadingOfEachPlacement(t *testing.T) {
	t.Parallel()
	p := newProbe()
	p.show(2*time.Second, p.noisy(-3))
	p.took(t, "hanging still in the air")
	p.show(200*time.Millisecond, ramp(-3, 0.412))
	p.took(t, "coming down")
	p.show(280*time.Millisecond, p.noisy(0.412))
	p.took(t, "less than 300 ms of rest")
	p.show(60*time.Millisecond, p.noisy(0.412))
	p.took(t, "300 ms of rest", 0.412)
	p.show(time.Minute, p.noisy(0.412))
	p.took(t, "a minute of rest", 0.412)
	p.show(time.Second, ramp(0.412, 0.412-0.15))
	p.show(time.Second, p.noisy(0.262))
	p.took(t, "sinking by less than the clear distance", 0.412)
	p.show(150*time.Millisecond, ramp(0.262, -0.7))
	p.show(2*time.Second, p.noisy(-0.7))
	p.took(t, "resting between two frets", 0.412)
	p.show(150*time.Millisecond, ramp(-0.7, 0.398))
	p.show(time.Second, p.noisy(0.398))
	p.took(t, "the next fret", 0.412, 0.398)
}

func TestRestIsNotFooled(t *testing.T) {
	t.Parallel()
	t.Run("by what it lies on from the beginning", func(t *testing.T) {
		p := newProbe()
		p.show(5*time.Second, p.noisy(0.3))
		p.took(t, "no lift-off")
	})
	t.Run("by a slow approach", func(t *testing.T) { // 0.05 mm/s: 15 steps in 300 ms
		p := newProbe()
		p.show(time.Second, p.noisy(-1))
		p.show(26*time.Second, ramp(-1, 0.3))
		p.took(t, "the approach")
		p.show(time.Second, p.noisy(0.3))
		p.took(t, "its end", 0.3)
	})
	t.Run("by drift", func(t *testing.T) { // 0.4 mm in five minutes: twice the clear distance, but nobody lifted anything
		for _, to := range []float64{-0.4, 0.4} {
			p := newProbe()
			p.show(time.Second, p.noisy(-2))
			p.show(time.Second, p.noisy(0))
			p.show(5*time.Minute, ramp(0, to))
			p.show(10*time.Second, p.noisy(to))
			p.took(t, "drift", 0)
		}
	})
	t.Run("by one disturbed frame", func(t *testing.T) {
		p := newProbe()
		p.show(time.Second, p.noisy(-2))
		p.show(time.Second, p.noisy(0.1))
		p.show(p.every, ramp(-9, -9))
		p.show(time.Second, p.noisy(0.1))
		p.took(t, "a single frame far below", 0.1)
	})
	t.Run("by noise above two steps", func(t *testing.T) {
		p := newProbe()
		p.show(time.Second, p.noisy(-2))
		up := 0.0
		p.show(10*time.Second, func(float64) float64 { up = 0.003 - up; return up })
		p.took(t, "frames 3 steps apart")
	})
	t.Run("by a gap in the stream", func(t *testing.T) {
		p := newProbe()
		p.show(time.Second, p.noisy(-2))
		p.show(200*time.Millisecond, p.noisy(0.1))
		p.at = p.at.Add(400 * time.Millisecond)
		p.show(280*time.Millisecond, p.noisy(0.1))
		p.took(t, "too little rest on each side of the gap")
		p.show(40*time.Millisecond, p.noisy(0.1))
		p.took(t, "300 ms after the gap", 0.1)
		p.at = p.at.Add(10 * time.Second)
		p.show(time.Second, p.noisy(0.1))
		p.took(t, "a gap during a placement", 0.1)
	})
}

func TestRestKnowsNoContactAndTheGaugesSense(t *testing.T) {
	t.Parallel()
	p := newProbe()
	p.show(time.Second, p.noisy(0.2))
	p.word("overload") // in the air; it comes back without having been seen lower
	p.show(time.Second, p.noisy(0.2))
	p.took(t, "no contact, then rest", 0.2)
	p.word("low battery") // says nothing about the tip
	p.show(time.Second, p.noisy(0.2))
	p.took(t, "a low battery", 0.2)

	down := newProbe()
	down.rest = newRest(0.001, -1)
	down.show(time.Second, down.noisy(3))
	down.show(time.Second, down.noisy(-0.2))
	down.show(time.Second, down.noisy(0.9))
	down.took(t, "lifted: a reversed gauge reads more in the air", -0.2)
	down.show(time.Second, down.noisy(-0.25))
	down.took(t, "the next place", -0.2, -0.25)
}

func TestRestOfASlowStreamNeedsThreeFrames(t *testing.T) {
	t.Parallel()
	p := newProbe()
	p.every = 200 * time.Millisecond
	p.show(time.Second, p.noisy(-2))
	p.show(400*time.Millisecond, p.noisy(0.1))
	p.took(t, "two frames at rest")
	p.show(200*time.Millisecond, p.noisy(0.1))
	p.took(t, "three", 0.1)
}

// FuzzRest wants a lift-off between any two readings taken, whatever is sent.
func FuzzRest(f *testing.F) {
	f.Add([]byte{0, 0, 0, 200, 200, 200, 200, 200, 200, 10, 10, 200, 200, 200, 200})
	f.Add([]byte{5, 255, 90, 90, 90, 90, 90, 0, 0, 90, 90, 90, 90, 90})
	f.Fuzz(func(t *testing.T, moves []byte) {
		r := newRest(0.01, 1)
		at := time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC)
		high, off := math.Inf(-1), true // since the last one taken
		for _, m := range moves {
			at = at.Add(100 * time.Millisecond)
			v := decode.Value{Digits: "x", MM: float64(m) * 0.01}
			if m == 255 {
				v = decode.Value{Status: "overload"}
			}
			took := r.frame(at, v)
			switch {
			case took && (!off || !v.IsNumber()):
				t.Fatalf("took %v without a lift-off before it", v)
			case took:
				high, off = v.MM, false
			case !v.IsNumber():
				off = true
			default:
				high = max(high, v.MM)
				off = off || v.MM < high-clearMM
			}
		}
	})
}

// A gauge that wanders on one place, or sends too slowly, gives no reading, and the watch says why: once every 5 s, and not
// while it is carried about or has been taken.
func TestUnrestIsTold(t *testing.T) {
	told := func(p *probe, lasting time.Duration, of func(float64) float64) (all []Unrest) {
		for range int(lasting / p.every) {
			p.show(p.every, of)
			if p.rest.unrest != nil {
				all = append(all, *p.rest.unrest)
			}
		}
		return all
	}
	swing := func(by float64) func(float64) float64 {
		up := false
		return func(float64) float64 {
			up = !up
			if up {
				return by
			}
			return 0
		}
	}
	p := newProbe()
	p.show(time.Second, ramp(-5, 0))
	got := told(p, 11*time.Second, swing(0.006))
	if len(got) != 2 || math.Abs(got[0].MovesMM-0.006) > 1e-9 || got[0].MostMM != 0.002 || got[0].Slow {
		t.Errorf("a gauge that swings by 0.006 mm: %+v", got)
	}
	p = newProbe()
	p.show(time.Second, ramp(-5, 0))
	p.every = 500 * time.Millisecond
	if got = told(p, 6*time.Second, swing(0)); len(got) != 1 || !got[0].Slow || got[0].Every != p.every {
		t.Errorf("a gauge that sends twice a second: %+v", got)
	}
	p = newProbe()
	p.show(time.Second, ramp(-5, 0))
	if got = told(p, 6*time.Second, swing(1)); len(got) != 0 {
		t.Errorf("a gauge that is carried about: %+v", got)
	}
	p = newProbe()
	p.show(time.Second, ramp(-5, 0))
	p.show(time.Second, swing(0))
	if got = told(p, 6*time.Second, swing(0.006)); len(got) != 0 || len(p.taken) != 1 {
		t.Errorf("a gauge that was taken: %+v, %v", got, p.taken)
	}
}
