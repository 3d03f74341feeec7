package sweep

import (
	"math"
	"math/rand/v2"
)

// board is a fretted board seen along one track, of known shape. Its heights share no formula with what is tested: the
// surface is laid out point by point, and the tip is put down on it wherever it would first touch.
type board struct {
	scale     float64
	frets     int
	crown     float64 // radius of the crowns, mm
	tall      float64 // crowns above the wood, mm
	base      func(x float64) float64
	high      []float64 // each crown above base, fret 1 first
	worn      []float64 // taken off flat
	absent    map[int]bool
	bump      map[int]float64 // a burr on a crown: height, mm
	moved     []float64       // fret off its place, mm
	step      float64         // of the laid out surface, mm
	from      float64
	surface   []float64
	tipRadius float64
	falls     float64 // the carriage lets the plunger fall this far below the crowns, mm
}

func (b *board) x(n int) float64 { return b.scale * (1 - math.Exp2(-float64(n)/12)) }

// top is the true height of a crown.
func (b *board) top(n int) float64 { return b.base(b.x(n)) + b.high[n-1] }

// lay computes the surface: wood, and crowns that are arcs of a circle, cut flat where worn.
func (b *board) lay() {
	b.step, b.from = 0.025, -40
	to := b.x(b.frets) + 60
	b.surface = make([]float64, int((to-b.from)/b.step)+1)
	for i := range b.surface {
		b.surface[i] = b.base(b.from+float64(i)*b.step) - b.tall
	}
	for n := 1; n <= b.frets; n++ {
		if b.absent[n] {
			continue
		}
		at := b.x(n) + b.moved[n-1]
		for i := int((at - b.crown - b.from) / b.step); i <= int((at+b.crown-b.from)/b.step); i++ {
			d := b.from + float64(i)*b.step - at
			if math.Abs(d) >= b.crown {
				continue
			}
			arc := math.Sqrt(b.crown*b.crown-d*d) - b.crown + b.worn[n-1]
			z := b.top(n) + math.Min(0, arc)
			z += b.bump[n] * math.Exp(-(d-0.3)*(d-0.3)/(2*0.06*0.06))
			b.surface[i] = math.Max(b.surface[i], z)
		}
	}
}

// tip is where the tip's lowest point comes to rest at x: nothing of the surface may stand inside the ball.
func (b *board) tip(x float64) float64 {
	z := b.base(x) - b.falls
	lo := max(0, int((x-b.tipRadius-b.from)/b.step)+1)
	hi := min(len(b.surface)-1, int((x+b.tipRadius-b.from)/b.step))
	for i := lo; i <= hi; i++ {
		d := b.from + float64(i)*b.step - x
		z = math.Max(z, b.surface[i]+math.Sqrt(b.tipRadius*b.tipRadius-d*d)-b.tipRadius)
	}
	return z
}

// hand is a carriage pushed by hand.
type hand struct {
	from, to   float64 // mm
	slow, fast float64 // mm/s
	stopAt     float64 // mm; NaN: it does not stop
	backAt     float64 // where it goes back a little; NaN: it does not
}

// wayStep is the time between two of the carriage's places, s.
const wayStep = 2e-3

// push gives the carriage's place every wayStep. The speed wanders between slow and fast with a time constant of a
// quarter second; a tremor of 10 Hz and 0.02 mm lies over it.
func (h hand) push(r *rand.Rand) []float64 {
	const dt = wayStep
	sense := 1.0
	if h.to < h.from {
		sense = -1
	}
	at := make([]float64, 0, 20_000)
	x, wander, still, back := h.from, r.NormFloat64(), 0.4, 0.0
	stopped, returned := math.IsNaN(h.stopAt), math.IsNaN(h.backAt)
	speed := 0.0
	phase := r.Float64() * 2 * math.Pi
	end := 0.3
	for len(at) < 120_000 {
		wander += -wander*dt/0.25 + math.Sqrt(2*dt/0.25)*r.NormFloat64()
		want := h.slow + (h.fast-h.slow)/(1+math.Exp(-1.5*wander))
		done := (x-h.to)*sense >= 0
		switch {
		case done:
			want, end = 0, end-dt
		case !stopped && (x-h.stopAt)*sense >= 0:
			stopped, still = true, 0.4+0.7*r.Float64()
		case !returned && (x-h.backAt)*sense >= 0:
			returned, back = true, 0.15+0.15*r.Float64()
		}
		if still > 0 {
			still, want = still-dt, 0
		} else if back > 0 {
			back, want = back-dt, -h.slow
		}
		speed += (want - speed) * dt / 0.03 // the carriage's mass
		x += sense * speed * dt
		t := float64(len(at)) * dt
		at = append(at, x+0.02*math.Sin(2*math.Pi*10*t+phase)*math.Min(1, speed/10))
		if done && end <= 0 {
			break
		}
	}
	return at
}

// line is how a gauge's frames come in.
type line struct {
	hz      float64
	late    float64 // s, constant
	jitter  float64 // s, mean of an exponential delay on top
	poll    float64 // s: the adapter hands bytes over this often
	stalls  float64 // share of frames that the system delays by up to 20 ms
	lost    float64 // share of frames that never come
	resolve float64 // mm
	noise   float64 // mm
}

// send samples what the gauge shows at its own even times and gives the frames as they come in.
func (l line) send(seconds float64, show func(t float64) float64, r *rand.Rand) []Sample {
	period := (1 + 2e-4*r.NormFloat64()) / l.hz // a cheap crystal
	var out []Sample
	last := 0.0
	for t := r.Float64() * period; t < seconds; t += period {
		mm := math.Round((show(t)+l.noise*r.NormFloat64())/l.resolve) * l.resolve
		at := t + l.late + l.jitter*r.ExpFloat64()
		if r.Float64() < l.stalls {
			at += 0.02 * r.Float64()
		}
		if l.poll > 0 {
			at = math.Ceil(at/l.poll) * l.poll
		}
		at = math.Max(at, last) // bytes keep their order
		last = at
		if r.Float64() >= l.lost {
			out = append(out, Sample{AtS: at, MM: mm})
		}
	}
	return out
}

// carriage holds both gauges.
type carriage struct {
	indicator, encoder line
	offset, scale      float64 // the encoder's: position = offset + scale x
}

// sweep gives both streams of one sweep.
func (c carriage) sweep(b *board, h hand, r *rand.Rand) (heights, positions []Sample) {
	way := h.push(r)
	at := func(t float64) float64 {
		i := t / wayStep
		j := min(int(i), len(way)-2)
		return way[j] + (way[j+1]-way[j])*(i-float64(j))
	}
	seconds := float64(len(way)-1) * wayStep
	heights = c.indicator.send(seconds, func(t float64) float64 { return b.tip(at(t)) }, r)
	positions = c.encoder.send(seconds, func(t float64) float64 { return c.offset + c.scale*at(t) }, r)
	return heights, positions
}

// usual lines: 100 frames a second each, their own clocks, an adapter that hands over every millisecond, a busy system.
var (
	usualIndicator = line{hz: 100, late: 0.009, jitter: 3e-4, poll: 1e-3, stalls: 0.01, lost: 0.002, resolve: 0.001, noise: 0.002}
	usualEncoder   = line{hz: 100, late: 0.003, jitter: 3e-4, poll: 1e-3, stalls: 0.01, lost: 0.002, resolve: 0.01}
)

// soundBoard is a bowed, tilted board whose crowns scatter as a shop's do.
func soundBoard(r *rand.Rand) *board {
	b := &board{scale: 648, frets: 22, crown: 1.2, tall: 0.9 + 0.3*r.Float64(), tipRadius: 1.5, falls: 2, absent: map[int]bool{}, bump: map[int]float64{}}
	bow := (r.Float64()*0.6 - 0.1) / (200 * 200)
	tilt, lift := (r.Float64()-0.5)*2e-3, r.Float64()-0.5
	b.base = func(x float64) float64 {
		v := 405 - x
		if v < 0 {
			return lift + tilt*x - 0.15*(v/60)*(v/60)/10
		}
		return lift + tilt*x + bow*v*v/2
	}
	for range b.frets {
		b.high = append(b.high, 0.01*r.NormFloat64())
		b.worn = append(b.worn, 0)
		b.moved = append(b.moved, 0.03*r.NormFloat64())
	}
	return b
}

func options(b *board) Options { return Options{FretsMM: evenFrets(b.scale, b.frets)} }

// evenFrets are the places of frets on a scale: x_n = L (1 - 2^(-n/12)), twelve-tone equal temperament.
func evenFrets(scale float64, frets int) []float64 {
	x := make([]float64, frets)
	for i := range x {
		x[i] = scale * (1 - math.Exp2(-float64(i+1)/12))
	}
	return x
}
