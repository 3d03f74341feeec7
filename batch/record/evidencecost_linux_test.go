package record

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"modernc.org/sqlite"

	"sagitta/batch"
)

// spent is what this process has used.
type spent struct {
	cpu    time.Duration
	wall   time.Time
	writes int64 // calls that write
}

func spentNow(b *testing.B) (s spent) {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	s.cpu, s.wall = time.Duration(u.Utime.Nano()+u.Stime.Nano()), time.Now()
	for line := range strings.Lines(string(must(os.ReadFile("/proc/self/io"))(b))) {
		if _, err := fmt.Sscanf(line, "syscw: %d", &s.writes); err == nil {
			break
		}
	}
	return s
}

// unattested takes the evidence from a record.
func unattested(b *testing.B, s *shop) {
	b.Helper()
	conn := must(s.writer.Conn(s.ctx))(b)
	defer func() { s.ok(conn.Close()) }()
	s.ok(conn.Raw(func(c any) error { c.(sqlite.HookRegisterer).RegisterPreUpdateHook(nil); return nil }))
	s.evidence.tables = nil
}

// What evidence costs a commit: one reading, and 1,000 at once, with it and without, in turns, so that both meet the same machine. Told are
// the medians of the turns: processor time with, without and the part that is more, wall time and writing calls.
func BenchmarkEvidence(b *testing.B) {
	for _, n := range []int{1, 1000} {
		b.Run(fmt.Sprintf("%d", n), func(b *testing.B) {
			with, without := newShop(b, serials(1)...), newShop(b, serials(1)...)
			unattested(b, without)
			group := make([]batch.Reading, n)
			const commits = 40 // to a turn, of one reading each
			turn := func(s *shop, in batch.Inspection) spent {
				for i := range group {
					group[i] = crown(in, 1+i%22, 0.1)
				}
				before := spentNow(b)
				times := max(1, commits/n)
				for range times {
					must(s.AppendReadings(s.ctx, group))(b)
				}
				after := spentNow(b)
				return spent{(after.cpu - before.cpu) / time.Duration(times), time.Unix(0, int64(after.wall.Sub(before.wall))/int64(times)), (after.writes - before.writes) * 100 / int64(times)}
			}
			ins := [2]batch.Inspection{with.start("QM-2611-0001"), without.start("QM-2611-0001")}
			var turns [2][]spent
			for b.Loop() {
				turns[0] = append(turns[0], turn(with, ins[0]))
				turns[1] = append(turns[1], turn(without, ins[1]))
			}
			median := func(k int, of func(s spent) float64) float64 {
				all := make([]float64, len(turns[k]))
				for i, s := range turns[k] {
					all[i] = of(s)
				}
				slices.Sort(all)
				return all[len(all)/2]
			}
			var cpu [2]float64
			for k, name := range []string{"with", "without"} {
				cpu[k] = median(k, func(s spent) float64 { return float64(s.cpu.Microseconds()) })
				b.ReportMetric(cpu[k], "cpu-µs-"+name)
				b.ReportMetric(median(k, func(s spent) float64 { return float64(s.wall.UnixNano()) / 1000 }), "wall-µs-"+name)
				b.ReportMetric(median(k, func(s spent) float64 { return float64(s.writes) / 100 }), "writes-"+name)
			}
			b.ReportMetric(100*(cpu[0]/cpu[1]-1), "%-more")
		})
	}
}
