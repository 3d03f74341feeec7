package app

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/devices/simulate"
)

// TestServeEnds ends a station while one page listens and another one has stopped reading: it ends in good time and
// calls that done.
func TestServeEnds(t *testing.T) {
	a, err := Open(t.Context(), Options{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- a.Serve(ctx, nil) }()

	stalled, err := net.Dial("tcp", a.listen.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer stalled.Close()
	if err := stalled.(*net.TCPConn).SetReadBuffer(1 << 12); err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Fprint(stalled, "GET /events HTTP/1.1\r\nHost: bench\r\n\r\n"); err != nil {
		t.Fatal(err)
	}
	resp, err := http.Get(a.URL() + "events")
	if err != nil {
		t.Fatal(err)
	}
	events := make(chan string, 1000)
	go func() { // the page that reads, at last to the end of its stream
		defer close(events)
		defer func() { _ = resp.Body.Close() }()
		for lines := bufio.NewReader(resp.Body); ; {
			line, err := lines.ReadString('\n')
			if err != nil {
				return
			}
			events <- line
		}
	}()
	for i := range 30 { // more than the stalled page's buffers hold
		words := fmt.Sprintf("number %d of a long sentence ", i)
		a.Bench.Refuse(errors.New(strings.Repeat(words, 10000)))
		for told := false; !told; { // as an event of its own
			line, open := <-events
			if !open {
				t.Fatalf("the page that reads was let go at event %d", i)
			}
			told = strings.Contains(line, words)
		}
	}
	go func() {
		for range events { // to the end of the stream
		}
	}()
	end()
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("the pages ended with %v", err)
		}
	case <-time.After(30 * time.Second):
		t.Fatal("the pages did not end")
	}
}

// A demo that was killed leaves links to terminals that may be another program's by now: a station on its record takes
// them away and opens none of them. A file that is no link stays.
func TestLinksOfAKilledDemoAreTakenAway(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "necks [2026") // no pattern of names
	if err := os.Mkdir(dir, 0o750); err != nil {
		t.Fatal(err)
	}
	lines := filepath.Join(dir, SimulatedLines)
	if err := os.Mkdir(lines, 0o750); err != nil {
		t.Fatal(err)
	}
	stranger, err := simulate.OpenLine(filepath.Join(lines, "height"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = stranger.Close() }()
	note := filepath.Join(lines, "note.txt")
	if err := os.WriteFile(note, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	a, err := Open(t.Context(), Options{Dir: dir, Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	if _, err := os.Lstat(filepath.Join(lines, "height")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the link is there: %v", err)
	}
	if _, err := os.Stat(note); err != nil {
		t.Error(err)
	}
}
