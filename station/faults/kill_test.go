package faults

import (
	"bufio"
	"compress/gzip"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch/record"
	"sagitta/station/copies"
)

var kills = flag.Int("kills", 12, "how often a station is killed at work")

// said is what a child said.
type said struct {
	states  []state // after its opening and each act, the newest last
	acts    []string
	refused []string
	kept    []int64 // the newest entry of the trail in the copies, after each day
	closed  bool    // or brought back
	other   []string
}

func (s *said) line(text string) error {
	switch {
	case strings.HasPrefix(text, "state "):
		f := strings.SplitN(text, " ", 3)
		st, err := parseState(f[1])
		if err != nil {
			return err
		}
		s.states, s.acts = append(s.states, st), append(s.acts, f[2])
	case strings.HasPrefix(text, "refused "):
		s.refused = append(s.refused, text)
	case strings.HasPrefix(text, "kept "):
		n, err := strconv.ParseInt(text[len("kept "):], 10, 64)
		if err != nil {
			return err
		}
		s.kept = append(s.kept, n)
	case text == "closed":
		s.closed = true
	default:
		s.other = append(s.other, text)
	}
	return nil
}

// child is this test's program, which works on a record.
func child(path string, rounds int, more ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), childRecord+"="+path, fmt.Sprint(childRounds, "=", rounds)), more...)
	cmd.Stderr = os.Stderr
	return cmd
}

// Stations are killed at random moments of all kinds of work, one after the other on the same record: what was acknowledged is
// there, unchanged, nothing is there by half, and the next one goes on. The long form: go test ./station/faults -run Killed
// -kills 10000 -timeout 5h.
func TestKilledAtWork(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	rng := rand.New(rand.NewPCG(seed, 0))
	t.Logf("seed %d", seed)
	atAct := map[string]int{}
	path, acknowledged, old := "", 0, oldRecords(t)
	for n := range *kills {
		rounds := 1000
		switch {
		case n%25 == 0: // a record that grew is slow to compare
			path = newRecord(t)
		case n%25 > 20: // brought up to date from an old one
			path, rounds = unpacked(t, old[rng.IntN(len(old))]), 0
		case n%10 == 5:
			rounds = 0
		}
		got := killed(t, path, rounds, rng)
		if len(got.refused)+len(got.other) > 0 {
			t.Fatalf("kill %d: %q %q", n, got.refused, got.other)
		}
		acknowledged += max(0, len(got.acts)-1)
		last := "opening"
		if len(got.acts) > 0 {
			last = got.acts[len(got.acts)-1]
			now, err := stateAside(t, path, got.states[len(got.states)-1])
			if err != nil {
				t.Fatalf("kill %d, after %s: %v", n, last, err)
			}
			if d := got.states[len(got.states)-1].only(now).differs(now); d != "" {
				t.Fatalf("kill %d, after %s: what was acknowledged is not there: %s", n, last, d)
			}
		}
		atAct[last]++
		db, err := record.Open(path, record.Options{Station: "bench 1"})
		if err != nil {
			t.Fatalf("kill %d, after %s: %v", n, last, err)
		}
		if err := db.VerifyAudit(t.Context()); err != nil {
			t.Fatalf("kill %d, after %s: %v", n, last, err)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		if err := dropCopies(t, path); err != nil {
			t.Fatalf("kill %d, after %s: %v", n, last, err)
		}
		if n%500 == 499 {
			t.Logf("%d kills, %d acts acknowledged, none lost", n+1, acknowledged)
		}
	}
	t.Logf("%d kills, %d acts acknowledged, none lost; killed after %v", *kills, acknowledged, atAct)
	if acknowledged < *kills {
		t.Errorf("only %d acts were acknowledged in %d kills", acknowledged, *kills)
	}
}

// killed lets a station work and kills it at a random moment: often between two acts, sometimes as it opens the record.
func killed(t *testing.T, path string, rounds int, rng *rand.Rand) (got said) {
	t.Helper()
	cmd := child(path, rounds)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	acts := rng.IntN(40)
	after := time.Duration(rng.Int64N(int64(15 * time.Millisecond)))
	lines := bufio.NewReader(out)
	gone := make(chan struct{})
	dying := false
	kill := func() {
		dying = true
		go func() {
			defer close(gone)
			time.Sleep(after)
			_ = cmd.Process.Kill()
		}()
	}
	if rounds == 0 { // it opens the record, and no more
		after = time.Duration(rng.Int64N(int64(400 * time.Millisecond)))
		kill()
	}
	for {
		text, err := lines.ReadString('\n')
		if err != nil { // a line cut short was not said
			if err != io.EOF {
				t.Error(err)
			}
			break
		}
		if err := got.line(strings.TrimSuffix(text, "\n")); err != nil {
			t.Fatal(err)
		}
		if !dying && len(got.acts) > acts {
			kill()
		}
	}
	if dying {
		<-gone
	}
	_ = cmd.Wait() // killed
	return got
}

// dropCopies removes the copies that a station has made, of which each that has its name is whole.
func dropCopies(t *testing.T, path string) error {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(filepath.Dir(path), "copy-*"))
	for _, file := range all {
		into := t.TempDir()
		_, bad := copies.Prove(t.Context(), file, nil, into)
		if bad != nil {
			bad = fmt.Errorf("%s: %w", file, bad)
		}
		err = errors.Join(err, bad, os.RemoveAll(into), os.Remove(file))
	}
	return err
}

// oldRecords are records of every schema that was shipped.
func oldRecords(t testing.TB) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join("..", "..", "testdata", "record", "v*.db*"))
	if err != nil || len(all) < 20 {
		t.Fatalf("%d old records, %v", len(all), err)
	}
	return all
}

// unpacked is a copy of an old record, in a folder of the test's own.
func unpacked(t testing.TB, file string) string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	var from io.Reader = f
	if strings.HasSuffix(file, ".gz") {
		if from, err = gzip.NewReader(f); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(t.TempDir(), "record.db")
	content, err := io.ReadAll(from)
	if err == nil {
		err = os.WriteFile(path, content, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// The work that stations are killed at is done as it is meant: every act is acknowledged, and changes what the record holds.
func TestWork(t *testing.T) {
	path := newRecord(t)
	out, err := child(path, 1).Output()
	if err != nil {
		t.Fatal(err)
	}
	var got said
	for text := range strings.Lines(string(out)) {
		if err := got.line(strings.TrimSuffix(text, "\n")); err != nil {
			t.Fatal(err)
		}
	}
	if want := len((&worker{}).acts()) + 1; len(got.acts) != want || !got.closed || len(got.refused)+len(got.other) > 0 {
		t.Fatalf("%d acts of %d, %q %q", len(got.acts), want, got.refused, got.other)
	}
	for i := 1; i < len(got.states); i++ {
		same := got.states[i].differs(got.states[i-1]) == ""
		if silent := got.acts[i] == "backup" || got.acts[i] == "archive" || got.acts[i] == "log into the file"; same != silent {
			t.Errorf("%s: the record holds the same as before: %v", got.acts[i], same)
		}
	}
}
