package devices

import (
	"bufio"
	"context"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/devices/decode"
)

// instrument answers queries on a socket's far side as IEEE 488.2 has it: what it does not understand gets no answer but
// an entry in its error queue. asked lists what came.
type instrument struct {
	mu      sync.Mutex
	answers map[string]string
	queue   []string
	asked   []string
	ended   chan struct{}
}

func (i *instrument) serve(s *socket) {
	s.mu.Lock()
	master := s.master
	s.mu.Unlock()
	defer close(i.ended)
	for lines := bufio.NewScanner(master); lines.Scan(); {
		query := lines.Text()
		i.mu.Lock()
		i.asked = append(i.asked, query)
		answer, known := i.answers[query]
		switch {
		case query == "SYST:ERR?" && len(i.queue) > 0:
			answer, i.queue = i.queue[0], i.queue[1:]
		case query == "SYST:ERR?":
			answer = `0,"No error"`
		case !known:
			i.queue = append(i.queue, `-113,"Undefined header"`)
		}
		i.mu.Unlock()
		if answer != "" {
			if _, err := master.WriteString(answer + "\n"); err != nil {
				return
			}
		}
	}
}

func newInstrument(s *socket, answers map[string]string) *instrument {
	i := &instrument{answers: answers, ended: make(chan struct{})}
	go i.serve(s)
	return i
}

// TestAnUnansweredQueryIsFollowedByTheErrorQueue: the reason is shown, and once the query is understood, readings come.
func TestAnUnansweredQueryIsFollowedByTheErrorQueue(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	i := newInstrument(s, map[string]string{})
	b := run(t, Options{}, Gauge{ID: "probe", Path: s.path, Decoder: builtin(t, "queried number, millimetres"), Capture: CaptureStream})
	eventually(t, "the reason", func() bool { return strings.Contains(b.Health()[0].Words, "error -113: Undefined header") })
	if got := b.history("probe"); !slices.Contains(got, StateSilent) {
		t.Errorf("states %q, want silent among them", got)
	}
	i.mu.Lock()
	i.answers["MEAS?"] = "+1.950E+00"
	i.mu.Unlock()
	eventually(t, "a reading", func() bool { return slices.Contains(b.numbers("probe"), "+1.950E+00") })
	i.mu.Lock()
	for n, query := range i.asked {
		if want := []string{"MEAS?", "SYST:ERR?"}[min(n, n%2)]; n < 2 && query != want {
			t.Errorf("query %d is %s, want %s", n+1, query, want)
		}
		if query == "*IDN?" {
			t.Error("asked for its identity although its decoder is known")
		}
	}
	i.mu.Unlock()
	b.stop()
	s.unplug()
	<-i.ended
}

// TestIdentifyAsksWhatItIs: an unknown instrument is asked, and its answer is among what is shown.
func TestIdentifyAsksWhatItIs(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	i := newInstrument(s, map[string]string{"*IDN?": "QUILLMERE,PROBE 4,0042,1.07"})
	d := builtin(t, "queried number, millimetres")
	found, err := Identify(context.Background(), s.path, Identifying{Decoders: []*decode.Decoder{d}, Listen: 2500 * time.Millisecond, Ask: true})
	if err != nil || len(found.Fits) != 1 || found.Heard == 0 || !strings.Contains(found.Fits[0].Why, "QUILLMERE") {
		t.Errorf("%+v, %v", found, err)
	}
	s.unplug()
	<-i.ended
}
