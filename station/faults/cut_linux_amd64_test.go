package faults

import (
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"sagitta/batch/record"
)

var cuts = flag.Int("cuts", 24, "how often the power is cut")

// heard is what the child had said before an operation.
func heard(t *testing.T, ops []op) (s said) {
	t.Helper()
	for _, o := range ops {
		if o.kind == opSaid {
			if err := s.line(strings.TrimSuffix(string(o.data), "\n")); err != nil {
				t.Fatal(err)
			}
		}
	}
	return s
}

// moment chooses where the power is cut: anywhere, and as often beside a sync.
func moment(ops []op, rng *rand.Rand) int {
	at := rng.IntN(len(ops) + 1)
	if rng.IntN(2) == 0 {
		for at > 0 && ops[at-1].kind != opSync && ops[at-1].kind != opFolderSync {
			at--
		}
		at = max(0, at-rng.IntN(2))
	}
	return at
}

// The power is cut at random moments of all kinds of work, and the disk has kept of what was not synced what it liked. The record opens,
// verifies whole, and holds what it held after the newest act that was acknowledged, or after the one in progress: nothing else. A
// backup that has its name is whole. The long form: go test ./station/faults -run Power -cuts 2000 -timeout 2h.
func TestPowerCutAtWork(t *testing.T) {
	path := newRecord(t)
	before := folderAt(t, filepath.Dir(path))
	start, err := stateAside(t, path, nil)
	if err != nil {
		t.Fatal(err)
	}
	ops, _, status := traced(t, path, 1, fault{})
	all := heard(t, ops)
	if status != 0 || !all.closed || len(all.refused)+len(all.other) > 0 {
		t.Fatalf("the child ended with %v: %q %q", status, all.refused, all.other)
	}
	states := append([]state{start}, all.states...)
	seed := uint64(time.Now().UnixNano())
	t.Logf("%d operations, %d acts, seed %d", len(ops), len(all.acts), seed)
	for n := range *cuts {
		if err := cutAt(t, before, ops, states, rand.New(rand.NewPCG(seed, uint64(n)))); err != nil {
			t.Fatalf("cut %d: %v", n, err)
		}
	}
	// The same on a disk that loses what it says is synced: something acknowledged is lost, and that is seen.
	lies := slices.Clone(ops)
	for i := range lies {
		if lies[i].kind == opSync {
			lies[i] = op{kind: opSaid}
		}
	}
	const enough = 24
	found := 0
	for n := range uint64(enough) {
		if cutAt(t, before, lies, states, rand.New(rand.NewPCG(seed, n))) != nil {
			found++
		}
	}
	if t.Logf("%d cuts and nothing acknowledged lost; without syncs %d of %d lost something", *cuts, found, enough); found == 0 {
		t.Error("on a disk that loses what was synced nothing was lost: the cuts are none")
	}
}

// cutAt cuts the power once and says what is wrong with the record that is left.
func cutAt(t *testing.T, before folder, ops []op, states []state, rng *rand.Rand) (err error) {
	t.Helper()
	cut, keep := moment(ops, rng), kept(rng.IntN(int(keptKinds)))
	acked := len(heard(t, ops[:cut]).states) // states[acked] is the newest that was acknowledged
	where := afterCut(before, ops, cut, keep, rng).put(t)
	defer func() {
		if err != nil {
			err = fmt.Errorf("before operation %d, kept %d, acknowledged %d: %w", cut, keep, acked, err)
		}
		err = errors.Join(err, os.RemoveAll(filepath.Dir(where)))
	}()
	now, err := stateAside(t, where, nil)
	if err != nil {
		return err
	}
	may := states[acked:min(acked+2, len(states))] // the act in progress is done, or not
	if !slices.ContainsFunc(may, func(s state) bool { return s.differs(now) == "" }) {
		return fmt.Errorf("the record holds something else: %s", may[0].differs(now))
	}
	return wholeAt(t, where)
}

// wholeAt opens a record, verifies it, and every copy beside it that has its name.
func wholeAt(t *testing.T, path string) error {
	db, err := record.Open(path, record.Options{Station: "bench 1"})
	if err != nil {
		return err
	}
	return errors.Join(dropCopies(t, path), db.VerifyAudit(t.Context()), db.Close())
}

// The power is cut while an old record is brought up to date, and while a new one is made: it opens, whole, and holds what it
// would hold without the cut; what is made is there whole or not at all.
func TestPowerCutWhileMigrating(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	rng := rand.New(rand.NewPCG(seed, 0))
	old := oldRecords(t)
	for range max(1, *cuts/12) {
		file := old[rng.IntN(len(old))]
		t.Run(filepath.Base(file), func(t *testing.T) { cutOpening(t, unpacked(t, file), 6, rng) })
	}
	t.Run("new", func(t *testing.T) { cutOpening(t, filepath.Join(t.TempDir(), "record.db"), max(4, *cuts/12), rng) })
	t.Logf("seed %d", seed)
}

func cutOpening(t *testing.T, path string, times int, rng *rand.Rand) {
	before := folderAt(t, filepath.Dir(path))
	ops, _, status := traced(t, path, 0, fault{})
	all := heard(t, ops)
	if status != 0 || !all.closed || len(all.states) != 1 {
		t.Fatalf("the child ended with %v: %q %q", status, all.refused, all.other)
	}
	want, err := sealedAside(t, path)
	if err != nil {
		t.Fatal(err)
	}
	for n := range times {
		cut, keep := moment(ops, rng), kept(rng.IntN(int(keptKinds)))
		disk := afterCut(before, ops, cut, keep, rng)
		where := disk.put(t)
		err := wholeAt(t, where)
		if err == nil {
			now, again := stateAside(t, where, nil)
			if err = again; err == nil {
				if d := all.states[0].apart().differs(now.apart()); d != "" {
					err = errors.New(d)
				}
			}
			if got, again := sealedAside(t, where); again != nil || got != want {
				err = errors.Join(err, again, fmt.Errorf("the trail and the evidence hold %q, want %q", got, want))
			}
		}
		if err != nil {
			t.Fatalf("cut %d, before operation %d of %d, kept %d: %v; left in %s", n, cut, len(ops), keep, err, filepath.Dir(where))
		}
		if err := os.RemoveAll(filepath.Dir(where)); err != nil {
			t.Error(err)
		}
	}
}

var diskFaults = flag.Int("diskfaults", 10, "how often the disk fails")

// Reads, writes, syncs and the making of names fail at random moments, the disk is full for a while, reads and writes come short. The
// station does not fall over; what it acknowledged is there, what it refused left nothing, and the record verifies whole. The long
// form: go test ./station/faults -run Disk -diskfaults 1000 -timeout 2h.
func TestDiskFails(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	refused, failed, acts := 0, 0, 0
	for n := range *diskFaults {
		rng := rand.New(rand.NewPCG(seed, uint64(n)))
		f := fault{call: callWrite, first: 1 + rng.IntN(900), times: 1 + rng.IntN(40), errno: syscall.ENOSPC} // a full disk
		switch rng.IntN(5) {
		case 0:
			f = fault{call: callWrite, first: 1 + rng.IntN(900), times: 1, errno: syscall.EIO}
		case 1:
			f = fault{call: callRead, first: 1 + rng.IntN(500), times: 1 + rng.IntN(3), errno: syscall.EIO}
		case 2:
			f = fault{call: callSync, first: 1 + rng.IntN(60), times: 1 + rng.IntN(3), errno: syscall.EIO}
		case 3:
			f = fault{call: []string{callRead, callWrite}[rng.IntN(2)], first: 1 + rng.IntN(500), times: 200, short: true}
		}
		if rng.IntN(8) == 0 {
			f = fault{call: callName, first: 1 + rng.IntN(12), times: 1, errno: syscall.ENOSPC}
		}
		path := newRecord(t)
		before := folderAt(t, filepath.Dir(path))
		start, err := stateAside(t, path, nil)
		if err != nil {
			t.Fatal(err)
		}
		ops, broken, status := traced(t, path, 1, f)
		got := heard(t, ops)
		if status != 0 || len(got.other) > 0 {
			t.Fatalf("fault %d, %+v: the child ended with %v: %q", n, f, status, got.other)
		}
		refused, failed, acts = refused+len(got.refused), failed+broken, acts+len(got.acts)
		if f.short && len(got.refused) > 0 {
			t.Errorf("fault %d, %+v: what came short was not asked for again: %q", n, f, got.refused)
		}
		last := append([]state{start}, got.states...)[len(got.states)]
		now, err := stateAside(t, path, last)
		if err != nil {
			t.Fatalf("fault %d, %+v: %v", n, f, err)
		}
		if d := last.only(now).differs(now); d != "" {
			t.Errorf("fault %d, %+v: what was acknowledged is not there: %s", n, f, d)
		}
		if err := wholeAt(t, path); err != nil {
			t.Errorf("fault %d, %+v: %v", n, f, err)
		}
		for range 3 { // and the power is cut as well
			cut := moment(ops, rng)
			last := append([]state{start}, heard(t, ops[:cut]).states...)
			where := afterCut(before, ops, cut, keptAll, rng).put(t)
			now, err := stateAside(t, where, last[len(last)-1])
			if d := last[len(last)-1].only(now).differs(now); err != nil || d != "" {
				t.Errorf("fault %d, %+v, cut before operation %d: what was acknowledged is not there: %s, %v", n, f, cut, d, err)
			}
			if err := wholeAt(t, where); err != nil {
				t.Errorf("fault %d, %+v, cut before operation %d: %v", n, f, cut, err)
			}
			if err := os.RemoveAll(filepath.Dir(where)); err != nil {
				t.Error(err)
			}
		}
		if t.Failed() {
			t.FailNow()
		}
	}
	t.Logf("%d times, %d calls failed, %d acts refused, %d acknowledged and none lost", *diskFaults, failed, refused, acts)
}

// The disk fails at each of the first moments of opening a record that was not closed, once: the next opening finds it whole.
func TestDiskFailsWhileOpening(t *testing.T) {
	path := newRecord(t)
	killed(t, path, 1, rand.New(rand.NewPCG(1, 0)))
	left := folderAt(t, filepath.Dir(path))
	for call, most := range map[string]int{callWrite: 8, callSync: 8, callName: 3, callRead: 12} {
		for first := 1; first <= most; first++ {
			where := left.put(t)
			ops, failed, status := traced(t, where, 0, fault{call: call, first: first, times: 1, errno: syscall.EIO})
			if got := heard(t, ops); status != 0 || failed != 1 {
				t.Errorf("%s %d: %d failed; the child ended with %v: %q %q", call, first, failed, status, got.refused, got.other)
			}
			if err := wholeAt(t, where); err != nil {
				t.Errorf("%s %d: %v", call, first, err)
			}
			if err := os.RemoveAll(filepath.Dir(where)); err != nil {
				t.Error(err)
			}
		}
	}
}
