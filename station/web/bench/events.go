package bench

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/site"
)

const (
	beatEvery    = time.Second           // so that both ends notice a dead line: a page that hears nothing for three seconds says so
	writeWithin  = 10 * time.Second      // a page that does not read for this long is let go
	shortestStep = 40 * time.Millisecond // between two events to one page: several changes become one
)

// regions are the parts of the bench page that its live stream replaces, by element id.
var regions = []string{"said", "strip", "stage", "notice", "sofar", "next", "board", "profile", "cautions", "forms", "characteristics", "steps", "parked", "settings", "cables", "keys", "demo", "alarm-count", "seen", "windows"}

// renderRegions makes every part of the bench page.
func (s *server) renderRegions(v *benchView) (map[string]string, error) {
	parts := make(map[string]string, len(regions))
	for _, name := range regions {
		text, err := s.group.Part("part-"+name, v)
		if err != nil {
			return nil, err
		}
		parts[name] = text
	}
	return parts, nil
}

// events is the live stream: one event carries the parts that changed since this page's last one, as JSON of element id
// to HTML. The page is rendered from the newest snapshot when it is ready for it; the bench never waits for it.
func (s *server) events(c *site.Request) error {
	leave, err := c.Stream()
	if err != nil {
		return err
	}
	defer leave()
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no")
	control := http.NewResponseController(c.Writer)
	changed, stop := s.opt.Bench.Watch()
	defer stop()
	name := c.Query("window")
	others, leave := s.windows.join(name, c.Request.RemoteAddr)
	defer leave()
	beat := time.NewTicker(beatEvery)
	defer beat.Stop()
	lengths := c.Unit()
	sent := map[string]string{}
	write := func(text string) bool {
		if err := control.SetWriteDeadline(time.Now().Add(writeWithin)); err != nil {
			return false
		}
		if _, err := fmt.Fprint(c.Writer, text); err != nil {
			return false
		}
		return control.Flush() == nil
	}
	update := func() bool {
		event, err := s.event(c, s.opt.Bench.Snapshot(), lengths, name, sent)
		if err != nil {
			if c.Request.Context().Err() == nil { // else the page has left
				slog.Error("the live stream failed", "error", err)
			}
			return false
		}
		return event == "" || write(event)
	}
	if !write("retry: 1000\n\n") || !update() {
		return nil
	}
	step := func() bool {
		if !update() {
			return false
		}
		select {
		case <-time.After(shortestStep):
			return true
		case <-c.Request.Context().Done():
			return false
		}
	}
	for {
		select {
		case <-changed:
			if !step() {
				return nil
			}
		case <-others:
			if !step() {
				return nil
			}
		case <-beat.C:
			if s.opt.Bench.Snapshot().Stage == bench.Idle && !update() { // what others wrote meanwhile: notes, and how long what waits has waited
				return nil
			}
			if !write(fmt.Sprintf("event: beat\ndata: %d\n\n", s.opt.Now().UnixMilli())) {
				return nil
			}
		case <-c.Request.Context().Done():
			return nil
		}
	}
}

// event writes the parts that differ from what was sent to a window, and remembers them; empty when nothing differs.
func (s *server) event(c *site.Request, snap *bench.Snapshot, lengths unit.Unit, name string, sent map[string]string) (string, error) {
	v, err := s.benchView(c.Request.Context(), snap, lengths)
	if err != nil {
		return "", err
	}
	var answers []answer
	v.Others, v.LastKey, answers = s.windows.said(name)
	parts, err := s.renderRegions(v)
	if err != nil {
		return "", err
	}
	differs := map[string]string{}
	for name, text := range parts {
		if was, known := sent[name]; !known || was != text { // an empty part clears what an older stream left there
			differs[name], sent[name] = text, text
		}
	}
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
	}{differs, snap.Taken, sounds, snap.Scene, s.opt.Now().UnixMilli(), answers, fmt.Sprint(s.run)})
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
