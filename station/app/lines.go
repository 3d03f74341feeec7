package app

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"sagitta/devices"
	"sagitta/devices/decode"
)

// freeLines listens to ports that no gauge's line has open, for the pages.
type freeLines struct {
	until   context.Context // the pages', which end before the station is closed
	running *sync.WaitGroup
}

// Learn listens to an unknown gauge until ctx ends, or the pages do.
func (f freeLines) Learn(ctx context.Context, port string, ask bool, told func(devices.Lesson)) error {
	f.running.Add(1)
	defer f.running.Done()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	defer context.AfterFunc(f.until, cancel)()
	return devices.Learn(ctx, port, devices.Learning{Ask: ask, Tell: told})
}

// WhichSends returns the first of several ports that sends anything.
func (freeLines) WhichSends(ctx context.Context, ports []string, line decode.Line, listen time.Duration) (string, error) {
	return devices.WhichSends(ctx, nil, ports, line, listen)
}

// openLines are the gauges' lines that are open. Those of gauges that share a port, or could be taken for each other, are one family,
// which is opened and closed together; every other stays open when an entry changes.
type openLines struct {
	changing sync.Mutex // one change at a time
	mu       sync.Mutex // of families
	families []*family
	health   watch
}

// family is the gauges behind one port, or behind adapters that only sockets or serial numbers tell apart, or all that type.
type family struct {
	gauges []devices.Gauge
	sup    *devices.Supervisor
	end    context.CancelFunc
	ended  chan struct{}
}

// Watch opens the lines of all gauges in the record: those of entries that did not change stay open. Where an entry cannot be used
// it says why and all lines stay as they are.
func (a *App) Watch(ctx context.Context) error {
	l := &a.lines
	l.changing.Lock()
	defer l.changing.Unlock()
	entries, err := a.Record.Gauges(ctx)
	if err != nil {
		return err
	}
	var gauges []devices.Gauge
	for _, g := range entries {
		if !g.RetiredAt.IsZero() || g.ByEye() {
			continue
		}
		line, err := gaugeLine(g)
		if err != nil {
			return err
		}
		gauges = append(gauges, line)
	}
	opt := devices.Options{
		Open:       a.openPort,
		OnReading:  a.Bench.Reading,
		OnFault:    a.Bench.Fault,
		OnHealth:   l.health.health,
		BackoffMin: a.retry,

		OnFootPress:  func(p devices.FootPress) { _ = a.Bench.FootPress(context.WithoutCancel(ctx), p.Long) }, // the bench shows what it refuses
		OnUnanswered: a.Bench.Unanswered,
	}
	if _, err := devices.New(gauges, opt); err != nil { // that all go together
		return err
	}
	var kept, opening []*family
	old := l.open()
	for _, of := range familiesOf(gauges) {
		if i := slices.IndexFunc(old, func(f *family) bool { return slices.EqualFunc(f.gauges, of, sameLine) }); i >= 0 {
			kept = append(kept, old[i])
			continue
		}
		sup, err := devices.New(of, opt)
		if err != nil {
			return err
		}
		opening = append(opening, &family{gauges: of, sup: sup, ended: make(chan struct{})})
	}
	if err := a.Bench.ReloadGauges(ctx); err != nil {
		return err
	}
	l.set(kept)
	for _, f := range old {
		if !slices.Contains(kept, f) {
			f.close()
		}
	}
	for _, f := range opening {
		running, cancel := context.WithCancel(context.WithoutCancel(ctx))
		f.end = cancel
		f.sup.Shine(devices.Light(a.light.Load()))
		go func() { defer close(f.ended); f.sup.Run(running) }()
	}
	l.set(append(kept, opening...))
	return nil
}

// familiesOf parts gauges into those whose lines are opened and closed together, in the gauges' order.
func familiesOf(gauges []devices.Gauge) [][]devices.Gauge {
	var families [][]devices.Gauge
	for _, g := range gauges {
		if i := slices.IndexFunc(families, func(f []devices.Gauge) bool { return akin(f[0], g) }); i >= 0 {
			families[i] = append(families[i], g)
		} else {
			families = append(families, []devices.Gauge{g})
		}
	}
	return families
}

// akin tells whether two gauges share a port, have adapters of one make, or type.
func akin(a, b devices.Gauge) bool {
	if a.Capture == devices.CaptureTyped || b.Capture == devices.CaptureTyped {
		return a.Capture == b.Capture
	}
	return a.Identity.Vendor == b.Identity.Vendor && a.Identity.Product == b.Identity.Product && (!a.Identity.IsZero() || a.Path == b.Path)
}

// sameLine tells whether a gauge's line would be opened and read as it is. A decoder is the same that says the same.
func sameLine(a, b devices.Gauge) bool {
	if (a.Decoder == nil) != (b.Decoder == nil) || a.Decoder != nil && a.Decoder.ID() != b.Decoder.ID() {
		return false
	}
	a.Decoder, b.Decoder = nil, nil
	a.Name, b.Name = "", ""
	return a == b
}

// open are the families that are open now.
func (l *openLines) open() []*family {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.families
}

func (l *openLines) set(families []*family) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.families = families
}

// close ends the family's lines and waits for it.
func (f *family) close() {
	f.end()
	<-f.ended
}

// close ends every open line and waits for it.
func (l *openLines) close() {
	l.changing.Lock()
	defer l.changing.Unlock()
	old := l.open()
	l.set(nil)
	for _, f := range old {
		f.close()
	}
}

// ask has a gauge asked for a reading.
func (l *openLines) ask(gaugeID string) error {
	for _, f := range l.open() {
		if slices.ContainsFunc(f.gauges, func(g devices.Gauge) bool { return g.ID == gaugeID }) {
			return f.sup.Ask(gaugeID)
		}
	}
	return errors.New("no line of this gauge is open")
}

// typed gives a burst of keys to the gauge that typed it; "" when none did.
func (l *openLines) typed(b devices.Burst) (gaugeID string) {
	for _, f := range l.open() {
		if id := f.sup.Typed(b); id != "" {
			return id
		}
	}
	return ""
}

// shine has every lamp show a light.
func (l *openLines) shine(light devices.Light) {
	for _, f := range l.open() {
		f.sup.Shine(light)
	}
}
