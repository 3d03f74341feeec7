//go:build linux

package app

import (
	"bufio"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
	"sagitta/station/bench"
	"sagitta/station/bench/benchtest"
	"sagitta/station/web"
)

// A crowd at the pages.
const (
	idleOnes    = 2000 // connections that have shaken hands and say nothing
	streamsOpen = 300  // live pages
	gaugesOpen  = 64
)

// BenchmarkCrowd measures with 64 gauges that send 100 frames a second each, the carriage's key pressed five times a second for the point asked for, first
// undisturbed, then while 2,000 connections are open and 300 live pages drawn, by TLS from many addresses, then undisturbed again: how long a press
// takes from its frame's write until its commit is acknowledged, in one run (-benchtime 2000x is 20 s of each).
func BenchmarkCrowd(b *testing.B) {
	c := furnishCrowd(b)
	b.ResetTimer()
	before := c.measure(b.N)
	events := c.crowd(c.serve())
	amid := c.measure(b.N)
	drawn := events.Load()
	c.disperse()
	after := c.measure(b.N)
	b.StopTimer()
	for name, late := range map[string][]time.Duration{"before": before, "amid": amid, "after": after} {
		slices.Sort(late)
		if len(late) == 0 {
			b.Fatalf("%s: nothing was measured", name)
		}
		for p, share := range map[string]float64{"p50": 0.5, "p99": 0.99} {
			b.ReportMetric(float64(late[int(share*float64(len(late)-1))])/float64(time.Millisecond), name+"-"+p+"-ms")
		}
	}
	b.ReportMetric(float64(len(before)+len(amid)+len(after)), "presses")
	b.ReportMetric(float64(drawn)/(float64(b.N)/100), "events/s")
	b.ReportMetric(float64(c.faults.Load()), "faults")
}

// crowded is a bench with many gauges, its pages, and who looks at them.
type crowded struct {
	b      *testing.B
	db     *record.DB
	bench  *bench.Bench
	lines  []*simulate.Line
	necks  []string
	began  time.Time
	faults atomic.Int64

	pressedAt atomic.Int64
	taken     chan time.Duration

	leave context.CancelFunc
	all   sync.WaitGroup
	held  []net.Conn
}

func furnishCrowd(b *testing.B) *crowded {
	ctx := b.Context()
	c := &crowded{b: b, began: time.Now(), taken: make(chan time.Duration, 1)}
	c.db, _ = recordtest.Record(b, nil)
	recordtest.Must(c.db.AddPerson(ctx, "", benchtest.Inspector, batch.Inspector))(b)
	recordtest.Gauges(b, c.db)
	recordtest.ThreeNecks(b, c.db, "QM-2611", "qm-bolt-648.toml")
	ids := []string{recordtest.Carriage, recordtest.Height, recordtest.Beam}
	for i := range gaugesOpen - len(ids) {
		g := batch.Gauge{
			ID: fmt.Sprintf("extra-%02d", i), Name: fmt.Sprintf("indicator %d", i), Measures: []batch.Kind{batch.BeamReading}, Capture: "stream", KeyChannel: "K", Sense: 1,
			ResolutionMM: 0.001, RepeatabilityU: 0.002, CalibrationU: 0.002, Path: "/dev/none", Decoder: "channel and value", CheckHours: 8, FeetMM: [2]float64{36.2, 403}, PlungerMM: 214,
		}
		recordtest.Must(c.db.SaveGauge(ctx, "", g))(b)
		ids = append(ids, g.ID)
	}
	for i := range 3*b.N/20/30 + 6 {
		c.necks = append(c.necks, fmt.Sprintf("QM-2611-L%05d", i))
	}
	c.bench = recordtest.Must(bench.New(ctx, bench.Options{Record: c.db}))(b)
	for _, id := range ids {
		c.bench.Health(devices.Health{Gauge: id, State: devices.StateLive, Since: time.Now()})
	}
	c.ok(c.bench.SetInspector(ctx, benchtest.Inspector))
	c.ok(c.bench.OpenBatch(ctx, "QM-2611"))
	recordtest.Must(c.db.AddNecks(ctx, "", c.bench.Snapshot().Batch.ID, c.necks))(b)
	c.open(ids)
	c.check(recordtest.Carriage)
	return c
}

func (c *crowded) ok(err error) {
	c.b.Helper()
	if err != nil {
		c.b.Fatal(err)
	}
}

// open opens every gauge's line.
func (c *crowded) open(ids []string) {
	d, err := decode.Find("channel and value")
	c.ok(err)
	dir := c.b.TempDir()
	var gauges []devices.Gauge
	for _, id := range ids {
		path := filepath.Join(dir, id)
		line, err := simulate.OpenLine(path)
		c.ok(err)
		c.b.Cleanup(func() { _ = line.Close() })
		c.lines = append(c.lines, line)
		gauges = append(gauges, devices.Gauge{ID: id, Name: id, Path: path, Decoder: d, KeyChannel: "K", Capture: devices.CaptureStream})
	}
	super, err := devices.New(gauges, devices.Options{OnReading: c.hears, OnFault: func(devices.Fault) { c.faults.Add(1) }})
	c.ok(err)
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	c.b.Cleanup(func() { cancel(); <-ended })
	for _, line := range c.lines {
		for !line.Open() {
			time.Sleep(time.Millisecond)
		}
	}
	for _, line := range c.lines { // an end mark alone is refused, and the next byte begins a frame
		c.ok(line.Send([]byte("\r\n"), 10*time.Second))
	}
	for c.faults.Load() < int64(len(c.lines)) {
		time.Sleep(time.Millisecond)
	}
	c.faults.Store(0)
}

func (c *crowded) hears(r devices.Reading) {
	c.bench.Reading(r)
	if r.Key {
		c.taken <- time.Since(c.began) - time.Duration(c.pressedAt.Load())
	}
}

// press has the carriage's key pressed where it reads mm, and waits until that is committed.
func (c *crowded) press(mm float64) time.Duration {
	c.pressedAt.Store(int64(time.Since(c.began)))
	c.ok(c.lines[0].Send(fmt.Appendf(nil, "K:%+.3fmm\r\n", mm), 10*time.Second))
	return <-c.taken
}

// lift moves the carriage between two presses, and lets the time go by that a hand takes.
func (c *crowded) lift() {
	for i := range 15 {
		c.ok(c.lines[0].Send(fmt.Appendf(nil, "L:-1.%d00mm\r\n", i%5), 10*time.Second))
		time.Sleep(10 * time.Millisecond)
	}
}

// check checks a gauge on its zero and its 1 mm master.
func (c *crowded) check(gauge string) {
	c.ok(c.bench.CheckGauge(c.b.Context(), gauge))
	for _, mm := range []float64{0, 1} {
		c.lift()
		time.Sleep(500 * time.Millisecond)
		c.press(mm)
	}
	if s := c.bench.Snapshot(); s.Stage != bench.Idle {
		c.b.Fatalf("the check goes on: %+v", s.Notice)
	}
}

// measure sends n ticks of 10 ms of every gauge's live frames, and meanwhile presses for the crowns of neck after neck.
func (c *crowded) measure(n int) (late []time.Duration) {
	ticking := make(chan struct{})
	go func() {
		defer close(ticking)
		start := time.Now()
		for i := range n {
			time.Sleep(time.Until(start.Add(time.Duration(i) * 10 * time.Millisecond)))
			for _, line := range c.lines[1:] { // the carriage's are sent between its presses
				_ = line.Send(fmt.Appendf(nil, "L:%+.3fmm\r\n", float64(i%10)/10), time.Second)
			}
		}
	}()
	for {
		select {
		case <-ticking:
			return late
		default:
		}
		c.lift()
		snap := c.point()
		p := snap.Points[snap.Next]
		mm := benchtest.Sound.At(p, snap.Batch.Spec.Spec) + 0.001*float64(len(c.necks)%5*(p.Point.Fret%2)) // no two necks are alike
		if p.Point.Track == "treble" {
			mm += 0.002 // the same height at once after the bass side's last crown would be asked about
		}
		took := c.press(mm)
		if now := c.bench.Snapshot(); now.Taken == snap.Taken {
			c.b.Fatalf("not taken: the bench says %+v, asks %+v", now.Notice, now.Question)
		}
		late = append(late, took)
	}
}

// point is the bench with a crown asked for, of the next neck where this one has no more.
func (c *crowded) point() *bench.Snapshot {
	ctx := c.b.Context()
	snap := c.bench.Snapshot()
	if snap.Next >= 0 && snap.Points[snap.Next].Point.Kind == batch.Crown {
		return snap
	}
	if snap.Stage == bench.Measuring {
		c.ok(c.bench.Park(ctx, "next"))
	}
	if len(c.necks) == 0 {
		c.b.Fatal("no neck is left")
	}
	c.ok(c.bench.Entry(ctx, c.necks[0], "mm"))
	c.necks = c.necks[1:]
	c.ok(c.bench.Declare(ctx))
	return c.bench.Snapshot()
}

// serve serves the pages to other machines and returns their port.
func (c *crowded) serve() string {
	l, err := net.Listen("tcp", ":0")
	c.ok(err)
	r, err := reachOf(c.b.Context(), l.Addr(), c.b.TempDir(), Network{}, signing)
	c.ok(err)
	handler, err := web.New(web.Options{Bench: c.bench, Record: c.db})
	c.ok(err)
	ctx, end := context.WithCancel(context.Background())
	server := newServer(ctx, r.handler(handler))
	ended := make(chan error, 1)
	go func() { ended <- r.serve(server, l) }()
	c.b.Cleanup(func() {
		end()
		_ = server.Close()
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
			c.b.Error(err)
		}
	})
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return port
}

// crowd opens the connections and the live pages from 20 addresses, and returns once every page knows of all others: how many events come from then on.
func (c *crowded) crowd(port string) *atomic.Int64 {
	events := new(atomic.Int64)
	var ctx context.Context
	ctx, c.leave = context.WithCancel(context.Background())
	for i := range idleOnes + streamsOpen {
		local := &net.TCPAddr{IP: net.IPv4(127, 0, 1, byte(1+i%20))}
		line, err := tls.DialWithDialer(&net.Dialer{LocalAddr: local}, "tcp", "127.0.0.1:"+port, &tls.Config{InsecureSkipVerify: true, NextProtos: []string{"http/1.1"}})
		if err != nil {
			c.b.Fatalf("connection %d: %v", i+1, err)
		}
		c.held = append(c.held, line)
	}
	var ready sync.WaitGroup
	everybody := fmt.Sprintf("Open in %d other windows", streamsOpen-1)
	for i, line := range c.held[:streamsOpen] {
		_, err := fmt.Fprintf(line, "GET /events?window=w%d HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n", i)
		c.ok(err)
		ready.Add(1)
		c.all.Go(func() {
			once := sync.OnceFunc(ready.Done)
			in := bufio.NewReader(line)
			for {
				text, err := in.ReadString('\n')
				if err != nil {
					if ctx.Err() == nil && !errors.Is(err, io.EOF) {
						c.b.Error(err)
					}
					once()
					return
				}
				if strings.Contains(text, "HTTP/1.1 ") && !strings.Contains(text, "200") {
					c.b.Errorf("a live page is refused: %s", text)
				}
				if strings.Contains(text, "data: {") {
					events.Add(1)
				}
				if strings.Contains(text, everybody) {
					once()
				}
			}
		})
	}
	ready.Wait()
	events.Store(0)
	return events
}

// disperse closes what is open.
func (c *crowded) disperse() {
	c.leave()
	for _, line := range c.held {
		_ = line.Close()
	}
	c.all.Wait()
}
