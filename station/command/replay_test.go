package command

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/devices/decode"
	"sagitta/devices/simulate"
)

// gather is a buffer that two goroutines may use.
type gather struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (g *gather) Write(p []byte) (int, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.b.Write(p)
}

func (g *gather) String() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.b.String()
}

// patience is how long what a test waits for may take, on a busy machine too.
const patience = 30 * time.Second

// until waits for something that another goroutine or process brings about.
func until(t *testing.T, what string, ok func() bool) {
	t.Helper()
	for end := time.Now().Add(patience); !ok(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			t.Errorf("not within %v: %s", patience, what)
			return
		}
	}
}

func readCapture(t *testing.T, path string) *decode.Capture {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	c, err := decode.ReadCapture(path, bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func joined(c *decode.Capture) (all []byte) {
	for _, chunk := range c.Chunks {
		all = append(all, chunk.Bytes...)
	}
	return all
}

// playAndListen replays a capture to a listener that records, and gives what it recorded and printed.
func playAndListen(t *testing.T, file string, more ...string) (*decode.Capture, string) {
	dir := t.TempDir()
	port, kept := filepath.Join(dir, "port"), filepath.Join(dir, "kept.capture")
	source := readCapture(t, file)
	decoder := source.Header[1][1]
	if strings.HasSuffix(decoder, ".toml") {
		decoder = filepath.Join(filepath.Dir(file), decoder)
	}
	var played sync.WaitGroup
	played.Go(func() {
		var out, errs gather
		code := Run(t.Context(), append([]string{"replay", file, "--link", port}, more...), strings.NewReader(""), &out, &errs)
		if code != exitDone || out.String() != port+"\n" {
			t.Errorf("%s: replay ended with %d, %q, %q", file, code, out.String(), errs.String())
		}
	})
	until(t, "the pseudo-terminal is there", func() bool { _, err := os.Stat(port); return err == nil })
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	var heard sync.WaitGroup
	var out, errs gather
	heard.Go(func() {
		if code := Run(ctx, []string{"listen", port, "--decoder", decoder, "--record", kept}, strings.NewReader(""), &out, &errs); code != exitDone {
			t.Errorf("%s: listen ended with %d: %s", file, code, errs.String())
		}
	})
	played.Wait()
	stop()
	heard.Wait()
	return readCapture(t, kept), out.String()
}

// Every capture, replayed as fast as it is read, is recorded again byte for byte.
func TestReplayedBytesAreRecordedWhole(t *testing.T) {
	files, err := filepath.Glob("../../testdata/captures/*.capture")
	if err != nil || len(files) < 40 {
		t.Fatalf("%d captures, %v", len(files), err)
	}
	var all sync.WaitGroup
	for _, file := range files {
		all.Go(func() {
			got, _ := playAndListen(t, file, "--fast")
			if want := joined(readCapture(t, file)); !bytes.Equal(joined(got), want) {
				t.Errorf("%s: recorded %x, played %x", file, joined(got), want)
			}
			if len(got.Header) != 5 || got.Header[2][1] == "" || !strings.Contains(got.Header[4][1], "revision") {
				t.Errorf("%s: header %q", file, got.Header)
			}
		})
	}
	all.Wait()
}

// With its timing a capture gives a listener the same readings and the same faults, silences included. These captures have
// no pause that is nearly a silence, so that a busy machine changes nothing.
func TestReplayKeepsTheTiming(t *testing.T) {
	for _, name := range []string{"height-cut", "probe-polled", "probe-query-damaged"} {
		file := filepath.Join("..", "..", "testdata", "captures", name+".capture")
		source := readCapture(t, file)
		got, printed := playAndListen(t, file)
		for n := 0; stalled(got, source) && n < 5; n++ { // a machine that stood still makes silences of its own
			got, printed = playAndListen(t, file)
		}
		d, err := decode.Find(source.Header[1][1])
		if err != nil {
			t.Fatal(err)
		}
		var a, b bytes.Buffer
		want := source.Decode(d)
		for _, e := range want {
			if e.Value != nil && !strings.Contains(printed, e.Value.Digits) {
				t.Errorf("%s: %s is not printed:\n%s", name, e.Value.Digits, printed)
			}
		}
		again := got.Decode(d)
		last := len(got.Chunks) - 1
		if took, span := got.Chunks[last].At-got.Chunks[0].At, source.Chunks[len(source.Chunks)-1].At; took < span/2 {
			t.Errorf("%s: %v long, replayed in %v", name, span, took)
		}
		for i := range again {
			again[i].At = want[min(i, len(want)-1)].At
		}
		if err := decode.WriteJSON(&a, want); err != nil {
			t.Fatal(err)
		}
		if err := decode.WriteJSON(&b, again); err != nil {
			t.Fatal(err)
		}
		if a.String() != b.String() {
			t.Errorf("%s:\n%sreplayed:\n%s", name, a.String(), b.String())
		}
	}
}

// stalled tells whether the times of what was recorded differ by more than a silence inside a frame may last from those of
// what was played: a frame's end may then have come after such a silence.
func stalled(got, source *decode.Capture) bool {
	when := func(c *decode.Capture) (at []time.Duration) { // of each byte, from the first
		for _, chunk := range c.Chunks {
			for range chunk.Bytes {
				at = append(at, chunk.At-c.Chunks[0].At)
			}
		}
		return at
	}
	was, is := when(source), when(got)
	for i := range min(len(was), len(is)) {
		if (is[i] - was[i]).Abs() > 80*time.Millisecond {
			return true
		}
	}
	return false
}

func TestRecordRefusesToOverwrite(t *testing.T) {
	kept := filepath.Join(t.TempDir(), "kept.capture")
	if err := os.WriteFile(kept, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	code, _, errs := sagitta(t, "", "listen", "/dev/none", "--decoder", "decimal comma", "--record", kept)
	if text, err := os.ReadFile(kept); code != exitFailed || !strings.Contains(errs, "not overwritten") || err != nil || string(text) != "mine" {
		t.Errorf("code %d, %q, the file holds %q, %v", code, errs, text, err)
	}
	code, _, errs = sagitta(t, "", "replay", kept)
	if code != exitFailed || !strings.Contains(errs, "kept.capture:1") {
		t.Errorf("what is no capture: code %d, %q", code, errs)
	}
	empty := filepath.Join(t.TempDir(), "empty.capture")
	if err := os.WriteFile(empty, []byte("# gauge: x\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := sagitta(t, "", "replay", empty); code != exitFailed || !strings.Contains(errs, "no bytes") {
		t.Errorf("an empty capture: code %d, %q", code, errs)
	}
}

// A kill of the recording program leaves everything that it had shown.
func TestAKillLeavesTheRecording(t *testing.T) {
	dir := t.TempDir()
	port, kept := filepath.Join(dir, "port"), filepath.Join(dir, "kept.capture")
	line, err := simulate.OpenLine(port)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = line.Close() }()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), strings.Join([]string{"SAGITTA_RUN=listen", port, "--decoder", "signed decimal with unit", "--record", kept}, "\n"))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = cmd.Process.Kill() }()
	until(t, "it listens", line.Open)
	shown := bufio.NewReader(out)
	var sent []byte
	for _, frame := range []string{"\r\n", "+1.950mm\r\n", "-0.004mm\r\n", "+1.9?0mm\r\n", "+1.951mm\r\n"} {
		if err := line.Send([]byte(frame), patience); err != nil {
			t.Fatal(err)
		}
		sent = append(sent, frame...)
		if _, err := shown.ReadString('\n'); err != nil {
			t.Fatal(err)
		}
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_, _ = io.Copy(io.Discard, out)
	_ = cmd.Wait()
	if got := joined(readCapture(t, kept)); !bytes.Equal(got, sent) {
		t.Errorf("kept %q, shown %q", got, sent)
	}
}
