package devices

import (
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
)

// instrument answers queries as IEEE 488.2 has it: what it does not understand gets no answer but an entry in its error
// queue. asked lists what came.
type instrument struct {
	mu    sync.Mutex
	knows map[string]string
	queue []string
	asked []string
}

func (i *instrument) answer(query string) string {
	i.mu.Lock()
	defer i.mu.Unlock()
	query = strings.TrimSuffix(query, "\n")
	i.asked = append(i.asked, query)
	answer, known := i.knows[query]
	switch {
	case query == "SYST:ERR?" && len(i.queue) > 0:
		answer, i.queue = i.queue[0], i.queue[1:]
	case query == "SYST:ERR?":
		answer = `0,"No error"`
	case !known:
		i.queue = append(i.queue, `-113,"Undefined header"`)
		return ""
	}
	return answer + "\n"
}

// TestAnUnansweredQueryIsFollowedByTheErrorQueue: the reason is shown, and once the query is understood, readings come.
func TestAnUnansweredQueryIsFollowedByTheErrorQueue(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w, i := newWire(t, "probe"), &instrument{knows: map[string]string{}}
		w.answers(i.answer)
		b := run(t, Options{Open: wired(w)}, Gauge{ID: "probe", Path: w.name, Decoder: builtin(t, "queried number, millimetres"), Capture: CaptureStream})
		eventually(t, "the reason", func() bool { return strings.Contains(b.Health()[0].Words, "error -113: Undefined header") })
		if got := b.history("probe"); !slices.Contains(got, StateSilent) {
			t.Errorf("states %q, want silent among them", got)
		}
		i.mu.Lock()
		if want := []string{"MEAS?", "SYST:ERR?"}; !slices.Equal(i.asked[:2], want) || slices.Contains(i.asked, "*IDN?") {
			t.Errorf("asked %q, want %q first, and never what it is: its decoder is known", i.asked, want)
		}
		i.knows["MEAS?"] = "+1.950E+00"
		i.mu.Unlock()
		eventually(t, "a reading", func() bool { return slices.Contains(b.numbers("probe"), "+1.950E+00") })
	})
}

// TestLearnAsksWhatItIs: an unknown instrument is asked, and its answer is among what is told.
func TestLearnAsksWhatItIs(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w, i := newWire(t, "probe"), &instrument{knows: map[string]string{"*IDN?": "QUILLMERE,PROBE 4,0042,1.07", "MEAS?": "+1.950E+00"}}
		w.answers(i.answer)
		synctest.Wait()
		l, err := learnt(t, w, true, func(l Lesson) bool { return l.Settled })
		if err != nil || l.Who != "QUILLMERE,PROBE 4,0042,1.07" || string(l.Request) != "MEAS?\n" {
			t.Errorf("%+v, %v", l, err)
		}
	})
}
