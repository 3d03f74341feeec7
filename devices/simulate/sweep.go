package simulate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// The board under a carriage that is pushed along it, and its indicator's tip.
const (
	crownRadiusMM = 1.2  // of a fret's crown, across the fret
	tipRadiusMM   = 1.5  // of the indicator's ball
	tallMM        = 1.0  // a crown above the wood
	surfaceStepMM = 0.01 // of the surface, as it is laid out
	beyondMM      = 12.0 // how far before fret 1 and beyond the last a sweep goes
)

// tipPath is how high an indicator's tip rides along a track: the surface is laid out point by point, wood with crowns
// that are arcs on it, and the ball is put down wherever it first touches.
type tipPath struct {
	from    float64 // x of the first point
	surface []float64
}

// layOut makes the tip's path along a track. rest is what the carriage's reference adds at x, y.
func layOut(n *Neck, t Track, rest func(x, y float64) float64) *tipPath {
	from, to := n.FretOn(t, 1)-beyondMM-5, n.FretOn(t, n.Frets)+beyondMM+5
	p := &tipPath{from: from, surface: make([]float64, int((to-from)/surfaceStepMM)+1)}
	for i := range p.surface {
		x := from + float64(i)*surfaceStepMM
		y := n.Y(t, x)
		p.surface[i] = n.smooth(x, y) - tallMM + rest(x, y)
	}
	for fret := 1; fret <= n.Frets; fret++ {
		at := n.FretOn(t, fret)
		y := n.Y(t, at)
		top := n.Crown(fret, y) + rest(at, y)
		for i := p.index(at - crownRadiusMM); i <= p.index(at+crownRadiusMM); i++ {
			d := from + float64(i)*surfaceStepMM - at
			if arc := crownRadiusMM*crownRadiusMM - d*d; arc > 0 {
				p.surface[i] = math.Max(p.surface[i], top+math.Sqrt(arc)-crownRadiusMM)
			}
		}
	}
	return p
}

func (p *tipPath) index(x float64) int {
	return max(0, min(len(p.surface)-1, int((x-p.from)/surfaceStepMM)))
}

// at is the height of the tip's lowest point with its middle at x.
func (p *tipPath) at(x float64) float64 {
	z := math.Inf(-1)
	for i := p.index(x - tipRadiusMM); i <= p.index(x+tipRadiusMM); i++ {
		d := p.from + float64(i)*surfaceStepMM - x
		if ball := tipRadiusMM*tipRadiusMM - d*d; ball > 0 {
			z = math.Max(z, p.surface[i]+math.Sqrt(ball)-tipRadiusMM)
		}
	}
	return z
}

// motion is a carriage on its way, in its own seconds.
type motion struct {
	path       *tipPath
	from, to   float64 // x
	offset     float64 // the encoder's place is x + offset: where a track's nut is not at x = 0 the encoder counts from it
	lead, lag  float64 // phases of the hand's speed
	hurry      float64 // times as fast as a hand, with as many times the frames
	done       chan struct{}
	begun      time.Time
	sent       int
	standStill int // frames to send after it has arrived
}

const (
	handHz  = 100.0 // frames a second of a carriage that is pushed
	standsS = 0.5   // s that it stands before fret 1 first
	handMMS = 30.0  // mean speed; it wanders between 17 and 43 mm/s
)

// x is where the carriage is after t seconds of a hand's way: its speed is 30 + 8 cos(1.3 t + lead) + 5 cos(3.1 t + lag).
func (m *motion) x(t float64) float64 {
	way := handMMS*t + 8/1.3*(math.Sin(1.3*t+m.lead)-math.Sin(m.lead)) + 5/3.1*(math.Sin(3.1*t+m.lag)-math.Sin(m.lag))
	return math.Min(m.to, m.from+math.Max(0, way))
}

// next is when the next frame is due, and what there is to show then; ok is false once the way is done.
func (m *motion) next() (due time.Time, height, place float64, ok bool) {
	t := float64(m.sent) / handHz
	x := m.x(t - standsS)
	if x >= m.to {
		if m.standStill--; m.standStill < 0 {
			return due, 0, 0, false
		}
	}
	m.sent++
	return m.begun.Add(time.Duration(t / m.hurry * float64(time.Second))), m.path.at(x), x + m.offset, true
}

// Sweep pushes the carriage along a track of a neck, from before fret 1 to beyond the last, and gives a channel that is
// closed when it has arrived. hurry 1 is a hand's speed; more is as many times as fast with as many times the frames.
func (b *Bench) Sweep(p Placement, hurry float64) (arrived <-chan struct{}, err error) {
	if !(hurry >= 1 && hurry <= 20) {
		return nil, fmt.Errorf("a sweep %g times as fast as a hand: allowed is 1 to 20", hurry)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	n := b.necks[p.Serial]
	if n == nil {
		return nil, fmt.Errorf("no simulated neck %q; the scenario's serial numbers are the only ones", p.Serial)
	}
	b.layDown(p)
	m := &motion{
		path: layOut(n, p.Track, func(x, y float64) float64 { return b.offset + b.along*x + b.across*y }),
		from: n.FretOn(p.Track, 1) - beyondMM, to: n.FretOn(p.Track, n.Frets) + beyondMM, offset: b.encoderZero - n.NutX(p.Track),
		lead: 2 * math.Pi * b.lay.Float64(), lag: 2 * math.Pi * b.lay.Float64(),
		hurry: hurry, done: make(chan struct{}), standStill: 20,
	}
	if err := b.gauges[CarriageID].move(m); err != nil {
		return nil, err
	}
	return m.done, nil
}

// move begins a motion of the carriage. It is refused while another goes on.
func (g *Gauge) move(m *motion) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case g.closed:
		return ErrClosed
	case g.line == nil:
		return ErrUnplugged
	case g.motion != nil:
		return errors.New("the carriage is being pushed already")
	}
	g.motion = m
	g.push <- struct{}{} // it has room: there was no motion
	return nil
}

// pushed sends frames by the gauge's own clock until the motion is done. Frames that are late go out at once.
func (g *Gauge) pushed(noise *rand.Rand) {
	g.mu.Lock()
	m := g.motion
	g.mu.Unlock()
	defer func() {
		g.mu.Lock()
		g.motion = nil
		g.mu.Unlock()
		close(m.done)
	}()
	m.begun = time.Now()
	for {
		due, height, place, ok := m.next()
		if !ok {
			return
		}
		select {
		case <-g.stop:
			return
		case <-time.After(time.Until(due)):
		}
		g.mu.Lock()
		g.shown, g.place = height, place
		g.mu.Unlock()
		g.live(noise, time.Second)
	}
}
