package simulate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"sync"
	"time"
)

// GaugeOptions say how a simulated gauge measures and sends.
type GaugeOptions struct {
	Path         string // symlink to make to the pseudo-terminal; "" for none
	Format       Format
	ResolutionMM float64 // what it shows is a multiple of this; 0: its last digit
	NoiseMM      float64 // standard deviation of one reading
	BiasMM       float64 // error of every reading, on the flat too
	DriftMM      float64 // further error for every press after DriftAfter presses
	DriftAfter   int
	Reversed     bool                    // mounted so that it reads less when the surface is higher
	Every        time.Duration           // live frames come this often; 0: only presses are sent
	Place        func(mm float64) []byte // frame of a position encoder on the same line, after every live frame; nil: none
	PlaceStepMM  float64                 // the encoder's last digit
	Seed         uint64                  // of its noise; the same seed and presses give the same frames
}

// Errors of a gauge that cannot send.
var (
	ErrUnplugged = errors.New("the gauge is unplugged")
	ErrNobody    = errors.New("no program has the gauge's port open")
	ErrFull      = errors.New("the program that has the gauge's port open does not read it")
	ErrClosed    = errors.New("the gauge is closed")
)

// Damage is what happens to one frame on its way.
type Damage int

// Kinds of damage to one frame.
const (
	DamageNone   Damage = iota
	DamageCut           // its second half never comes
	DamageGarble        // one character arrives as another
)

// Gauge is a simulated gauge on a pseudo-terminal. It is safe for concurrent use.
type Gauge struct {
	opt GaugeOptions

	mu      sync.Mutex
	line    *Line // nil while unplugged
	shown   float64
	presses int
	noise   *rand.Rand // of presses
	bounce  bool
	damage  Damage
	low     bool
	closed  bool
	place   float64 // what the encoder shows
	motion  *motion // the carriage is being pushed

	stop    chan struct{}
	push    chan struct{} // a motion has begun
	streams sync.WaitGroup
}

// OpenGauge makes the pseudo-terminal, the symlink and, for a gauge with live frames, the goroutine that sends them.
// Close releases them. A file at Path that is no symlink is refused.
func OpenGauge(opt GaugeOptions) (*Gauge, error) {
	if opt.Format.Number == nil {
		return nil, errors.New("a simulated gauge needs a format")
	}
	if opt.ResolutionMM == 0 {
		opt.ResolutionMM = opt.Format.StepMM
	}
	g := &Gauge{opt: opt, noise: rand.New(rand.NewPCG(opt.Seed, 1)), stop: make(chan struct{}), push: make(chan struct{}, 1)}
	if err := g.Replug(); err != nil {
		return nil, err
	}
	if opt.Every > 0 {
		g.streams.Add(1)
		go g.stream()
	}
	return g, nil
}

// Port is the path to open: the symlink, or the pseudo-terminal's own name. "" while unplugged without a symlink.
func (g *Gauge) Port() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case g.opt.Path != "":
		return g.opt.Path
	case g.line != nil:
		return g.line.name
	}
	return ""
}

// Show puts a true value, mm, under the plunger.
func (g *Gauge) Show(trueMM float64) {
	g.mu.Lock()
	g.shown = trueMM
	g.mu.Unlock()
}

// between is how far a plunger falls on its way from one place to another, as between two frets, mm.
const between = 1.2

// Move lifts the gauge and sets it down where it shows another true value, mm: one that sends all the time shows the way.
func (g *Gauge) Move(trueMM float64) {
	if g.opt.Every > 0 {
		g.mu.Lock()
		g.shown = min(g.shown, trueMM) - between
		noise := rand.New(rand.NewPCG(g.opt.Seed, 3))
		g.mu.Unlock()
		for range 3 {
			g.live(noise, 50*time.Millisecond)
		}
	}
	g.Show(trueMM)
}

// Knock shifts what the gauge shows by mm from now on, as a fall or a knock does to a zero.
func (g *Gauge) Knock(mm float64) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.opt.BiasMM += mm
}

// reading is what the gauge makes of the true value: its errors, then its resolution.
func (g *Gauge) reading(noise *rand.Rand) float64 {
	mm := g.shown
	if g.opt.Reversed {
		mm = -mm
	}
	mm += g.opt.BiasMM + g.opt.NoiseMM*noise.NormFloat64()
	if late := g.presses - g.opt.DriftAfter; late > 0 {
		mm += g.opt.DriftMM * float64(late)
	}
	return math.Round(mm/g.opt.ResolutionMM) * g.opt.ResolutionMM
}

// frame is what is sent for a reading: with a low battery the word for it, where the format has one.
func (g *Gauge) frame(noise *rand.Rand, key bool) []byte {
	mm := g.reading(noise)
	if g.low && g.opt.Format.Word != nil {
		return g.opt.Format.Word("BAT", key)
	}
	return g.opt.Format.Number(mm, key)
}

// Press presses the data key and gives the bytes that were sent. It never waits for long: ErrUnplugged, ErrNobody when
// no program has the port open, ErrFull when that program does not read. The press is lost then.
func (g *Gauge) Press() ([]byte, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case g.closed:
		return nil, ErrClosed
	case g.line == nil:
		return nil, ErrUnplugged
	}
	g.presses++
	sent := g.frame(g.noise, true)
	switch g.damage {
	case DamageCut:
		sent = sent[:len(sent)/2]
	case DamageGarble:
		sent[len(sent)/2] ^= 0x40
	}
	if g.bounce {
		sent = append(sent, sent...)
	}
	g.damage, g.bounce = DamageNone, false
	if err := g.send(sent, time.Second); err != nil {
		return nil, err
	}
	return sent, nil
}

// send puts bytes on the line. A program that set its line another way than the gauge's reads what its receiver makes of
// them.
func (g *Gauge) send(b []byte, wait time.Duration) error {
	if own := g.opt.Format.Line; own.Baud > 0 {
		if theirs := g.line.setting(own); theirs.Baud > 0 && (theirs.Baud != own.Baud || theirs.Parity != own.Parity) {
			b = Garble(b, own, theirs)
		}
	}
	return g.line.Send(b, wait)
}

// stream sends live frames until Close. What nobody reads is dropped, as on a real line.
func (g *Gauge) stream() {
	defer g.streams.Done()
	noise := rand.New(rand.NewPCG(g.opt.Seed, 2))
	tick := time.NewTicker(g.opt.Every)
	defer tick.Stop()
	for {
		select {
		case <-g.stop:
			return
		case <-g.push:
			g.pushed(noise)
		case <-tick.C:
			g.live(noise, 5*time.Millisecond)
		}
	}
}

// live sends one live frame, and the encoder's with it. What the line does not take within the wait is lost: the next
// frame follows.
func (g *Gauge) live(noise *rand.Rand, wait time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.line == nil {
		return
	}
	sent := g.frame(noise, false)
	if g.opt.Place != nil {
		sent = append(sent, g.opt.Place(math.Round(g.place/g.opt.PlaceStepMM)*g.opt.PlaceStepMM)...)
	}
	_ = g.send(sent, wait)
}

// BounceNext makes the next press send its frame twice, as a worn key does.
func (g *Gauge) BounceNext() {
	g.mu.Lock()
	g.bounce = true
	g.mu.Unlock()
}

// DamageNext damages the next pressed frame.
func (g *Gauge) DamageNext(d Damage) {
	g.mu.Lock()
	g.damage = d
	g.mu.Unlock()
}

// LowBattery makes the gauge send its word for a low battery instead of numbers, until it is called with false. A gauge
// whose format has no such word goes on sending numbers.
func (g *Gauge) LowBattery(low bool) {
	g.mu.Lock()
	g.low = low
	g.mu.Unlock()
}

// Unplug takes the port away, symlink too, as pulling a USB adapter does. Unplugging twice changes nothing.
func (g *Gauge) Unplug() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.unplug()
}

func (g *Gauge) unplug() error {
	if g.line == nil {
		return nil
	}
	err := g.line.Close()
	g.line = nil
	return err
}

// Replug brings the gauge back on a new pseudo-terminal under the same symlink. A plugged gauge stays as it is.
func (g *Gauge) Replug() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	switch {
	case g.closed:
		return ErrClosed
	case g.line != nil:
		return nil
	}
	l, err := OpenLine(g.opt.Path)
	if err != nil {
		return fmt.Errorf("simulated gauge: %w", err)
	}
	g.line = l
	return nil
}

// link makes path a symlink to the port, in one step, in place of an older symlink only.
func link(port, path string) error {
	if info, err := os.Lstat(path); err == nil && info.Mode()&os.ModeSymlink == 0 {
		return fmt.Errorf("%s exists and is no symlink; choose another path", path)
	}
	fresh := path + ".new"
	if err := os.Remove(fresh); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("symlink: %w", err)
	}
	if err := os.Symlink(port, fresh); err != nil {
		return fmt.Errorf("symlink: %w", err)
	}
	if err := os.Rename(fresh, path); err != nil {
		return errors.Join(fmt.Errorf("symlink: %w", err), os.Remove(fresh))
	}
	return nil
}

// Close unplugs the gauge for good and ends its goroutine.
func (g *Gauge) Close() error {
	g.mu.Lock()
	if g.closed {
		g.mu.Unlock()
		return nil
	}
	g.closed = true
	close(g.stop)
	err := g.unplug()
	g.mu.Unlock()
	g.streams.Wait()
	return err
}
