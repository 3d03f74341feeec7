package bench

import (
	"fmt"
	"net"
	"sync"
	"time"

	"sagitta/batch/tell"
)

// answer is what became of a command: by its number it is the page's own.
type answer struct {
	Press   uint64 `json:"press"`
	Done    bool   `json:"done"`    // the bench has carried it out or refused it; else it is still at it
	Refused string `json:"refused"` // why, "" where it was carried out
}

// window is a page of the bench, by the name that it gives itself.
type window struct {
	address string
	streams int // live streams that it holds: it is open while it has one
	left    time.Time
	answers []answer // to its newest commands
}

const (
	keptAnswers = 16              // of a window
	longestName = 64              // bytes of a window's name
	keptFor     = 2 * time.Minute // a window that has gone: it may come back for an answer
)

// windows are the pages of the bench: each is told of the others and of what became of its commands.
type windows struct {
	now func() time.Time

	mu     sync.Mutex
	known  map[string]*window
	wakes  map[chan struct{}]bool // of the live streams
	newest string                 // the window whose command came last
}

// join notes that a window's live stream begins; a page without a name is none. The channel tells that something of the windows changed.
func (w *windows) join(name, address string) (changed <-chan struct{}, leave func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	wake := make(chan struct{}, 1)
	w.wakes[wake] = true
	if name != "" {
		of := w.of(name)
		of.address, of.streams = hostOf(address), of.streams+1
		w.wake()
	}
	return wake, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.wakes, wake)
		if name != "" {
			of := w.of(name)
			of.streams, of.left = of.streams-1, w.now()
			w.wake()
		}
	}
}

// of is a window that is known from now on; those that went long ago are forgotten.
func (w *windows) of(name string) *window {
	for old, of := range w.known {
		if of.streams == 0 && old != name && w.now().Sub(of.left) > keptFor {
			delete(w.known, old)
		}
	}
	if w.known[name] == nil {
		w.known[name] = &window{left: w.now()}
	}
	return w.known[name]
}

func (w *windows) wake() {
	for ch := range w.wakes {
		select {
		case ch <- struct{}{}:
		default:
		}
	}
}

// came notes a window's command before it is carried out. One that came before is not to be carried out again: it returns what is known
// of that.
func (w *windows) came(name string, press uint64) (before answer, again bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	of := w.of(name)
	for _, a := range of.answers {
		if a.Press == press {
			return a, true
		}
	}
	of.answers = append(of.answers[max(0, len(of.answers)-keptAnswers+1):len(of.answers):len(of.answers)], answer{Press: press})
	if w.newest != name {
		w.newest = name
		w.wake()
	}
	return answer{}, false
}

// became notes what became of a command that came.
func (w *windows) became(name string, press uint64, refused error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	of := w.of(name)
	for i := range of.answers {
		if a := &of.answers[i]; a.Press == press {
			if a.Done = true; refused != nil {
				a.Refused = tell.Sentence(refused)
			}
		}
	}
	w.wake()
}

// said is what a window is told: which others are open and which acted last, "" where it is the only one; and what became of its commands.
func (w *windows) said(name string) (others, last string, answers []answer) {
	if name == "" {
		return "", "", nil
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	n, away := 0, 0
	for other, of := range w.known {
		if other == name || of.streams == 0 {
			continue
		}
		if n++; of.address != w.of(name).address {
			away++
		}
	}
	answers = append(answers, w.of(name).answers...)
	switch {
	case n == 0:
		return "", "", answers
	case n == 1 && away == 1:
		others = "Open on another device too: keys count in both."
	case n == 1:
		others = "Open in another window too: keys count in both."
	default:
		others = fmt.Sprintf("Open in %d other windows too: keys count in all.", n)
	}
	switch {
	case w.newest == name:
		last = "The last key was pressed here."
	case w.newest != "":
		last = "The last key was pressed elsewhere."
	}
	return others, last, answers
}

// hostOf is an address without its port.
func hostOf(address string) string {
	if host, _, err := net.SplitHostPort(address); err == nil {
		return host
	}
	return address
}
