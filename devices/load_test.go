//go:build linux

package devices

import (
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// cpu is the processor time of this process or thread so far.
func cpu(b *testing.B, who int) time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(who, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// percentile of sorted durations, in microseconds.
func percentile(sorted []time.Duration, p float64) float64 {
	return float64(sorted[int(p*float64(len(sorted)-1))]) / float64(time.Microsecond)
}

// BenchmarkLoad sends a frame to each of 64 gauges every 10 ms: an operation is such a tick, so -benchtime 6000x is a
// minute of 100 frames a second from each. No frame may be lost. It reports the time from a frame's write to its reading, and
// the share of one core that reading takes (the sender, on a thread of its own, left out).
func BenchmarkLoad(b *testing.B) {
	const gauges = 64
	sent := make([][]atomic.Int64, gauges) // when frame n of a gauge went out, ns since began
	late := make([][]time.Duration, gauges)
	for i := range sent {
		sent[i] = make([]atomic.Int64, b.N)
	}
	began := time.Now()
	sockets, all := streaming(b, gauges)
	var read, faults atomic.Int64
	super, stop := start(b, Options{
		OnReading: func(r Reading) {
			at := int64(time.Since(began))
			i, _ := strconv.Atoi(r.Gauge)
			n, _ := strconv.Atoi(strings.Replace(r.Value.Digits[1:], ".", "", 1))
			late[i] = append(late[i], time.Duration(at-sent[i][n].Load()))
			read.Add(1)
		},
		OnFault: func(Fault) { faults.Add(1) },
	}, all...)
	standing(b, super)
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	whole, own := cpu(b, unix.RUSAGE_SELF), cpu(b, unix.RUSAGE_THREAD)
	b.ResetTimer()
	start := time.Now()
	for n := range b.N {
		time.Sleep(time.Until(start.Add(time.Duration(n) * 10 * time.Millisecond)))
		for i, s := range sockets {
			frame := fmt.Appendf(nil, "+%03d.%04dmm\r\n", n/10000, n%10000)
			sent[i][n].Store(int64(time.Since(began)))
			if _, err := s.master.Write(frame); err != nil {
				b.Fatal(err)
			}
		}
	}
	took := time.Since(start)
	b.StopTimer()
	busy := cpu(b, unix.RUSAGE_SELF) - whole - (cpu(b, unix.RUSAGE_THREAD) - own)
	eventually(b, "every frame", func() bool { return read.Load()+faults.Load() >= int64(gauges*b.N) })
	stop()
	var every []time.Duration
	for _, l := range late {
		every = append(every, l...)
	}
	slices.Sort(every)
	if faults.Load() != 0 || len(every) != gauges*b.N {
		b.Errorf("%d frames sent, %d read, %d refused", gauges*b.N, len(every), faults.Load())
	}
	b.ReportMetric(percentile(every, 0.5), "p50-µs")
	b.ReportMetric(percentile(every, 0.99), "p99-µs")
	b.ReportMetric(percentile(every, 0.999), "p99.9-µs")
	b.ReportMetric(percentile(every, 1), "max-µs")
	b.ReportMetric(100*busy.Seconds()/took.Seconds(), "%core")
}

// BenchmarkFlood sends frames as fast as they are taken, through one port and through 64 at once, to the program and to a
// bare loop that reads the same ports with the same library and does nothing with the bytes. An operation is a frame. On a busy machine compare the processor time, the writers' included.
func BenchmarkFlood(b *testing.B) {
	piece := strings.Repeat("+1.950mm\r\n", 100)
	for _, ports := range []int{1, 64} {
		b.Run(fmt.Sprintf("program-%d", ports), func(b *testing.B) {
			sockets, all := streaming(b, ports)
			var read, faults atomic.Int64
			super, stop := start(b, Options{OnReading: func(Reading) { read.Add(1) }, OnFault: func(Fault) { faults.Add(1) }}, all...)
			standing(b, super)
			before := cpu(b, unix.RUSAGE_SELF)
			b.ResetTimer()
			want := flood(b, sockets, piece)
			for read.Load()+faults.Load() < want {
				time.Sleep(50 * time.Microsecond)
			}
			b.StopTimer()
			busy := cpu(b, unix.RUSAGE_SELF) - before
			stop()
			b.ReportMetric(float64(want)/b.Elapsed().Seconds(), "frames/s")
			b.ReportMetric(float64(busy.Nanoseconds())/float64(want), "cpu-ns/frame")
			b.ReportMetric(float64(want-read.Load()), "lost")
		})
		b.Run(fmt.Sprintf("bare-%d", ports), func(b *testing.B) {
			var sockets []*socket
			var read atomic.Int64
			var readers sync.WaitGroup
			var open []serial.Port
			for range ports {
				s := newSocket(b)
				sockets = append(sockets, s)
				p, err := serial.Open(s.path, &serial.Mode{BaudRate: 9600})
				if err != nil {
					b.Fatal(err)
				}
				if err := p.SetReadTimeout(readWait); err != nil {
					b.Fatal(err)
				}
				open = append(open, p)
			}
			var stop atomic.Bool
			for _, p := range open {
				readers.Go(func() {
					buf := make([]byte, 1024)
					for !stop.Load() {
						n, err := p.Read(buf)
						if err != nil {
							return
						}
						read.Add(int64(n))
					}
				})
			}
			before := cpu(b, unix.RUSAGE_SELF)
			b.ResetTimer()
			want := flood(b, sockets, piece)
			for read.Load() < want*10 {
				time.Sleep(50 * time.Microsecond)
			}
			b.StopTimer()
			busy := cpu(b, unix.RUSAGE_SELF) - before
			stop.Store(true)
			readers.Wait()
			for _, p := range open {
				p.Close()
			}
			b.ReportMetric(float64(want)/b.Elapsed().Seconds(), "frames/s")
			b.ReportMetric(float64(busy.Nanoseconds())/float64(want), "cpu-ns/frame")
		})
	}
}

// flood writes b.N frames, rounded up to whole pieces, to all sockets together and says how many that were.
func flood(b *testing.B, sockets []*socket, piece string) (sent int64) {
	pieces := (b.N + 100*len(sockets) - 1) / (100 * len(sockets))
	var writers sync.WaitGroup
	for _, s := range sockets {
		writers.Go(func() {
			for range pieces {
				if _, err := io.WriteString(s.master, piece); err != nil && !os.IsTimeout(err) {
					b.Error(err)
					return
				}
			}
		})
	}
	writers.Wait()
	return int64(pieces * 100 * len(sockets))
}
