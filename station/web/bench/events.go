package bench

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/site"
)

const (
	beatEvery    = time.Second           // so that both ends notice a dead line: a page that hears nothing for three seconds says so
	writeWithin  = 10 * time.Second      // a page that does not read for this long is let go
	shortestStep = 40 * time.Millisecond // between two events to one page: several changes become one
)

// regions are the parts of the bench page that its live stream replaces, by element id, but for windowsRegion, which is another in each window.
var regions = []string{"said", "strip", "stage", "notice", "sofar", "next", "board", "profile", "cautions", "forms", "characteristics", "steps", "parked", "settings", "cables", "keys", "demo", "alarm-count", "seen", "who-here"}

const windowsRegion = "windows"

// renderRegions makes every region of the bench page, in the words of a house.
func (s *server) renderRegions(v *benchView, house batch.House) (map[string]string, error) {
	parts := make(map[string]string, len(regions))
	for _, name := range regions {
		text, err := s.group.Part(house, "part-"+name, v)
		if err != nil {
			return nil, err
		}
		parts[name] = text
	}
	return parts, nil
}

// stream is one window's live stream.
type stream struct {
	s       *server
	c       *site.Request
	control *http.ResponseController
	window  string // its own name, "" for none
	sent    map[string]string
	me      string // who is signed on in it, "" for nobody
	hand    string // who was at the bench when that was looked up
	beats   int
}

// write sends a text at once; false where the page takes it no longer.
func (l *stream) write(text string) bool {
	if err := l.control.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
		return false
	}
	if _, err := fmt.Fprint(l.c.Writer, text); err != nil {
		return false
	}
	return l.control.Flush() == nil
}

// update sends what differs from what was sent.
func (l *stream) update() bool {
	if hand := l.s.opt.Bench.Snapshot().Inspector; hand != l.hand && !l.look(hand) {
		return false
	}
	event, err := l.s.event(l.c, l.window, l.me, l.sent)
	if err != nil {
		if l.c.Request.Context().Err() == nil { // else the page has left
			slog.Error("the live stream failed", "error", err)
		}
		return false
	}
	return event == "" || l.write(event)
}

// lookEvery is how many beats pass between two looks at whether the window's session goes on.
const lookEvery = 10

// look looks up who is signed on in the window now; false where nobody is any more who may see the bench.
func (l *stream) look(hand string) bool {
	session, err := l.c.Still()
	if err != nil {
		slog.Error("the live stream does not know who reads it", "error", err)
		return false
	}
	l.me, l.hand = session.Person.Name, hand
	return l.me != "" || !l.c.SignsOn() || l.c.Here()
}

// step is update, and lets several changes become one.
func (l *stream) step() bool {
	if !l.update() {
		return false
	}
	select {
	case <-time.After(shortestStep):
		return true
	case <-l.c.Request.Context().Done():
		return false
	}
}

// beat tells the time, and while the bench waits what others wrote meanwhile: notes, and how long what waits has waited.
func (l *stream) beat() bool {
	snap, was := l.s.opt.Bench.Snapshot(), l.me
	if l.beats++; snap.SignsOn && l.beats%lookEvery == 0 && !l.look(snap.Inspector) {
		return false
	}
	if (snap.Stage == bench.Idle || l.me != was) && !l.update() {
		return false
	}
	return l.write(fmt.Sprintf("event: beat\ndata: %d\n\n", l.s.opt.Now().UnixMilli()))
}

// events is the live stream: one event carries the parts that changed since this page's last one, as JSON of element id
// to HTML. The page is rendered from the newest snapshot when it is ready for it; the bench never waits for it.
func (s *server) events(c *site.Request) error {
	if !maySee(c) {
		return batch.Unproven.Errorf("Nobody is signed on in this window. Sign on first.")
	}
	end, err := c.Stream()
	if err != nil {
		return err
	}
	defer end()
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	l := &stream{s: s, c: c, control: http.NewResponseController(c.Writer), window: c.Query("window"), sent: map[string]string{}, me: c.Session().Person.Name, hand: s.opt.Bench.Snapshot().Inspector}
	changed, stop := s.opt.Bench.Watch()
	defer stop()
	others, leave := s.windows.join(l.window, c.Request.RemoteAddr)
	defer leave()
	beat := time.NewTicker(beatEvery)
	defer beat.Stop()
	for open := l.write("retry: 1000\n\n") && l.update(); open; {
		select {
		case <-changed:
			open = l.step()
		case <-others:
			open = l.step()
		case <-beat.C:
			open = l.beat()
		case <-c.Request.Context().Done():
			open = false
		}
	}
	return nil
}

// event writes the parts that differ from what was sent to a window, and remembers them; empty when nothing differs.
func (s *server) event(c *site.Request, name, me string, sent map[string]string) (string, error) {
	s.turn.Lock()
	defer s.turn.Unlock()
	snap, parts, err := s.drawnNow(c.Request.Context(), c.Unit(), me, c.House())
	if err != nil {
		return "", err
	}
	others, lastKey, answers := s.windows.said(name)
	own, err := s.group.Part(c.House(), "part-"+windowsRegion, &benchView{Others: others, LastKey: lastKey})
	if err != nil {
		return "", err
	}
	differs := map[string]string{}
	differ := func(name, text string) {
		if was, known := sent[name]; !known || was != text { // an empty part clears what an older stream left there
			differs[name], sent[name] = text, text
		}
	}
	for name, text := range parts {
		differ(name, text)
	}
	differ(windowsRegion, own)
	sounds := soundsOf(snap)
	unseen := fmt.Sprint(sounds, answers) // is news where everything looks as before
	if len(differs) == 0 && unseen == sent["unseen"] {
		return "", nil
	}
	sent["unseen"] = unseen
	data, err := json.Marshal(struct {
		Parts  map[string]string `json:"parts"`
		Taken  int               `json:"taken"`
		Sounds []heardSound      `json:"sounds"`
		Scene  uint64            `json:"scene"`
		Now    int64             `json:"now"` // the station's time, ms: by it a page stamps its commands

		Answers []answer `json:"answers,omitempty"`
		Run     string   `json:"run"`
	}{differs, snap.Taken, sounds, snap.Scene, s.opt.Now().UnixMilli(), answers, s.run})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("id: %d\nevent: bench\ndata: %s\n\n", snap.Version, data), nil
}

// heardSound is one sound for the page's module.
type heardSound struct {
	ID   uint64      `json:"id"`
	Name bench.Sound `json:"name"`
}

// soundsOf are the newest sounds; a page plays those that it has not played.
func soundsOf(s *bench.Snapshot) []heardSound {
	all := []heardSound{}
	for _, h := range s.Sounds {
		all = append(all, heardSound{h.ID, h.Sound})
	}
	return all
}
