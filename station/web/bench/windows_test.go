package bench

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"
)

// TestWindowsKnowOfEachOther: a window counts while it holds a stream, by its name, and each is told of the others, on which machine they
// are and where the last key was pressed.
func TestWindowsKnowOfEachOther(t *testing.T) {
	now := time.Now()
	w := windows{now: func() time.Time { return now }, known: map[string]*window{}, wakes: map[chan struct{}]bool{}}
	says := func(name, others, last string) {
		t.Helper()
		if o, l, _ := w.said(name); !strings.HasPrefix(o, others) || o == "" != (others == "") || l != last {
			t.Errorf("%s is told %q, %q, want %q, %q", name, o, l, others, last)
		}
	}
	_, leaveA := w.join("a", "127.0.0.1:4000")
	says("a", "", "")
	changed, leaveAgain := w.join("a", "127.0.0.1:4001") // its line was lost, and the station has not heard of it yet
	leaveA()
	says("a", "", "")
	<-changed
	_, leaveB := w.join("b", "127.0.0.1:4002")
	<-changed
	says("a", "Open in another window too", "")
	says("b", "Open in another window too", "")
	w.came("b", 1)
	<-changed
	says("a", "Open in another window too", "The last key was pressed elsewhere.")
	says("b", "Open in another window too", "The last key was pressed here.")
	_, leaveC := w.join("c", "192.0.2.7:4000")
	says("a", "Open in 2 other windows too", "The last key was pressed elsewhere.")
	leaveB()
	says("a", "Open on another device too", "The last key was pressed elsewhere.")
	leaveC()
	says("a", "", "")
	leaveAgain()
	says("", "", "")
	now = now.Add(keptFor + time.Second)
	_, leaveD := w.join("d", "127.0.0.1:4003")
	defer leaveD()
	if len(w.known) != 1 {
		t.Errorf("%d windows are kept, want the one that is open", len(w.known))
	}
}

// TestAnswersAreKept: what became of a window's newest commands is told to it alone, whatever order they end in.
func TestAnswersAreKept(t *testing.T) {
	w := windows{now: time.Now, known: map[string]*window{}, wakes: map[chan struct{}]bool{}}
	w.came("a", 7)
	w.came("a", 8)
	w.became("a", 8, errors.New("nothing has been taken"))
	_, _, got := w.said("a")
	if want := []answer{{Press: 7}, {Press: 8, Done: true, Refused: "Nothing has been taken."}}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if _, _, other := w.said("b"); len(other) > 0 {
		t.Errorf("another window is told %v", other)
	}
	if before, again := w.came("a", 8); !again || before.Refused != "Nothing has been taken." {
		t.Errorf("of the press that comes again is known %+v, %v", before, again)
	}
	if before, again := w.came("a", 7); !again || before.Done {
		t.Errorf("of the press that is still carried out is known %+v, %v", before, again)
	}
	for press := range uint64(40) {
		w.came("a", 100+press)
		w.became("a", 100+press, nil)
	}
	if _, _, got := w.said("a"); len(got) != keptAnswers || got[len(got)-1] != (answer{Press: 139, Done: true}) {
		t.Errorf("kept: %v", got)
	}
}
