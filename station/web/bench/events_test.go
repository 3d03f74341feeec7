package bench

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// update is one event of the live stream as the page reads it.
type update struct {
	Parts  map[string]string
	Sounds []heardSound `json:"sounds"`
}

// listen opens the live stream of a window, "" for none; the channel closes with the connection.
func listen(t *testing.T, ctx context.Context, address, window string) <-chan update {
	t.Helper()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address+"/events?window="+window, nil)
	if err != nil {
		t.Fatal(err)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	if got := resp.Header.Get("Content-Type"); got != "text/event-stream" {
		t.Fatalf("content type %q", got)
	}
	out := make(chan update, 64)
	go func() {
		defer close(out)
		defer resp.Body.Close()
		lines := bufio.NewScanner(resp.Body)
		lines.Buffer(nil, 4<<20)
		for lines.Scan() {
			if data, is := strings.CutPrefix(lines.Text(), "data: {"); is { // a beat holds a number
				var u update
				if json.Unmarshal([]byte("{"+data), &u) != nil {
					return
				}
				select {
				case out <- u:
				case <-ctx.Done():
					return
				}
			}
		}
	}()
	return out
}

// next waits for one event.
func next(t *testing.T, events <-chan update) update {
	t.Helper()
	select {
	case u, open := <-events:
		if !open {
			t.Fatal("the stream ended")
		}
		return u
	case <-time.After(time.Minute):
		t.Fatal("no event within 5 s")
	}
	return update{}
}

// TestEventsCarryOnlyWhatChanged: all parts at first, then those that differ, nothing where nothing does.
func TestEventsCarryOnlyWhatChanged(t *testing.T) {
	b, s := storybook(t)
	srv := httptest.NewServer(s.Handler)
	defer srv.Close()
	ctx, end := context.WithCancel(t.Context())
	defer end()
	events := listen(t, ctx, srv.URL, "")
	if u := next(t, events); len(u.Parts) != len(regions)+1 {
		t.Fatalf("%d parts at first, want all %d", len(u.Parts), len(regions)+1)
	}
	snap := idle(s)
	b.show(snap) // nothing to see
	snap.Notice = &bench.Notice{ID: 7, Refused: true, Text: "The gauge did not answer."}
	snap.Sounds = []bench.Heard{{ID: 7, Sound: bench.Refused}}
	b.show(snap)
	u := next(t, events)
	if len(u.Parts) != 1 || !contains(u.Parts["notice"], "The gauge did not answer.") || len(u.Sounds) != 1 || u.Sounds[0] != (heardSound{7, bench.Refused}) {
		t.Errorf("parts %v with sounds %v, want the notice alone", u.Parts, u.Sounds)
	}
	snap.Sounds = []bench.Heard{{ID: 7, Sound: bench.Refused}, {ID: 8, Sound: bench.Refused}}
	b.show(snap) // refused once more in the same words
	if u := next(t, events); len(u.Parts) != 0 || len(u.Sounds) != 2 {
		t.Errorf("parts %v with sounds %v, want the second refusal", u.Parts, u.Sounds)
	}
	mid := measuring(s, crowned{relief: 0.3}, 30)
	b.show(mid)
	next(t, events)
	mid.Live.MM += 0.001
	b.show(mid)
	if u := next(t, events); len(u.Parts) != 1 || !contains(u.Parts["stage"], "−0.126") {
		t.Errorf("a new frame changes %d parts, want the live reading alone", len(u.Parts))
	}
}

// TestPagesLeaveWhileTheBenchChanges opens 50 pages that leave at different moments; none is left behind.
func TestPagesLeaveWhileTheBenchChanges(t *testing.T) {
	b, s := storybook(t)
	srv := httptest.NewServer(s.Handler)
	defer srv.Close()
	done := make(chan struct{})
	changed := make(chan struct{})
	go func() {
		defer close(changed)
		for i := uint64(0); ; i++ {
			select {
			case <-done:
				return
			case <-time.After(time.Millisecond):
				snap := idle(s)
				snap.Notice = &bench.Notice{ID: i, Text: fmt.Sprint("change ", i)}
				b.show(snap)
			}
		}
	}()
	var leave []context.CancelFunc
	defer func() { // before the server's end, which waits for them
		for _, end := range leave {
			end()
		}
	}()
	const stay = 16 // pages later; one machine has a bounded number of streams
	for range 50 {
		ctx, end := context.WithCancel(t.Context())
		leave = append(leave, end)
		events := listen(t, ctx, srv.URL, "")
		next(t, events)
		if len(leave)%2 == 0 { // every second page leaves at once, the others while later ones come
			end()
		} else if k := len(leave) - stay; k > 0 {
			leave[k-1]()
		}
	}
	for _, end := range leave {
		end()
	}
	close(done)
	<-changed
	for deadline := time.Now().Add(time.Minute); b.watching() > 0; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%d pages are still watched after all have left", b.watching())
		}
	}
}

// TestStalledPageDelaysNobody opens a page that never reads beside one that does, and changes the bench more than the
// stalled one's buffers hold.
func TestStalledPageDelaysNobody(t *testing.T) {
	b, s := storybook(t)
	srv := httptest.NewServer(s.Handler)
	defer srv.Close()
	stalled, err := net.Dial("tcp", srv.Listener.Addr().String())
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
	ctx, end := context.WithCancel(t.Context())
	defer end()
	events := listen(t, ctx, srv.URL, "")
	next(t, events)
	filler := strings.Repeat("a reading's long note ", 10000) // 220 kB an event
	for i := range 25 {
		snap := idle(s)
		want := fmt.Sprintf("change %d ", i)
		snap.Notice = &bench.Notice{ID: uint64(i), Text: want + filler}
		b.show(snap)
		for u := next(t, events); !contains(u.Parts["notice"], want); u = next(t, events) {
		}
	}
}

// socket is a page's end of the live stream in a test's own time.
type socket struct {
	http.ResponseWriter
	mu       sync.Mutex
	text     strings.Builder
	deadline time.Time
	gone     bool // every write fails
}

func (w *socket) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.gone {
		return 0, net.ErrClosed
	}
	return w.text.Write(p)
}

func (w *socket) Flush() {}

func (w *socket) SetWriteDeadline(at time.Time) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.deadline = at
	return nil
}

// got is what came since it was last asked.
func (w *socket) got() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	text := w.text.String()
	w.text.Reset()
	return text
}

// attend opens the live stream on a socket.
func attend(s *webtest.Shop, ctx context.Context) *socket {
	w := &socket{ResponseWriter: httptest.NewRecorder()}
	go s.Handler.ServeHTTP(w, webtest.Request(http.MethodGet, "/events", nil).WithContext(ctx))
	synctest.Wait()
	return w
}

// TestEventsByTheClock follows a quiet stream, a burst of changes, a line that broke and one that was closed. The bubble
// fails the test where one of their goroutines stays behind.
func TestEventsByTheClock(t *testing.T) {
	b, s := storybook(t)
	synctest.Test(t, func(t *testing.T) {
		ctx, leave := context.WithCancel(t.Context())
		w := attend(s, ctx)
		if first := w.got(); !strings.HasPrefix(first, "retry: 1000\n\n") || strings.Count(first, "event: bench\n") != 1 {
			t.Errorf("the stream begins with %.200q", first)
		}
		time.Sleep(time.Minute + time.Second)
		if quiet := w.got(); strings.Count(quiet, "event: beat\ndata: ") < 60 || contains(quiet, "event: bench") {
			t.Errorf("in a minute without changes came %q, want a beat every second", quiet)
		}
		w.mu.Lock()
		if left := time.Until(w.deadline); left > writeWithin || left < writeWithin-beatEvery {
			t.Errorf("a write may take until %s from now", left)
		}
		w.mu.Unlock()
		for i := range 400 { // a reading every 5 ms for 2 s
			snap := idle(s)
			snap.Notice = &bench.Notice{ID: uint64(i), Text: fmt.Sprint("change ", i)}
			b.show(snap)
			time.Sleep(5 * time.Millisecond)
		}
		synctest.Wait()
		burst := w.got() // one every 40 ms, the first, and with each of two beats what is news just then
		if n := strings.Count(burst, "event: bench\n"); n < 40 || n > 53 || !contains(burst, "change 399") {
			t.Errorf("400 changes in 2 s came as %d events, want about one every 40 ms and the last one among them", n)
		}
		leave()
		synctest.Wait()
		if n := b.watching(); n != 0 {
			t.Errorf("%d pages are watched after the only one has left", n)
		}
		broken := attend(s, t.Context())
		broken.mu.Lock()
		broken.gone = true
		broken.mu.Unlock()
		time.Sleep(2 * beatEvery)
		synctest.Wait()
		if n := b.watching(); n != 0 {
			t.Errorf("%d pages are watched after the line to the only one broke", n)
		}
	})
}
