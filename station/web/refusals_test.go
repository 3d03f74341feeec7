package web

import (
	"bytes"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// TestRefusalsAreLogged: who was not allowed what is in the log, a line each whatever the address holds, and no secret is.
func TestRefusalsAreLogged(t *testing.T) {
	s := openSigned(t)
	var log bytes.Buffer
	before := slog.Default()
	slog.SetDefault(slog.New(slog.NewTextHandler(&log, nil)))
	defer slog.SetDefault(before)
	if status, _, _ := s.ask(http.MethodPost, "/batches/x%22%20level=INFO%20msg=%22/close", s.cookie("Ossian Reed", batch.ByPassword), url.Values{"password": {password}}); status != http.StatusForbidden {
		t.Errorf("an inspector closes a batch: status %d", status)
	}
	foreign := webtest.Request(http.MethodPost, "/handover", strings.NewReader("text=x"))
	foreign.Header.Set("Sec-Fetch-Site", "cross-site")
	if w := s.Do(foreign); w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "another site") {
		t.Errorf("a form of another site: status %d, %s", w.Code, w.Body)
	}
	lines := strings.Split(strings.TrimSpace(log.String()), "\n")
	if len(lines) != 2 || !strings.Contains(lines[0], `who="Ossian Reed"`) || !strings.Contains(lines[0], `path="/batches/x\" level=INFO msg=\"/close"`) || !strings.Contains(lines[1], `who="a page of another site"`) {
		t.Errorf("the log says\n%s", log.String())
	}
	if strings.Contains(log.String(), password) {
		t.Error("the log holds a password")
	}
}
