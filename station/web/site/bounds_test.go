package site

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"sagitta/batch"
)

// bareSite is a site with one page, which a form may be sent to.
func bareSite(t *testing.T) *Site {
	t.Helper()
	s, err := New(Options{People: func(context.Context) ([]batch.Person, error) { return nil, nil }, Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	g, err := s.Group("", fstest.MapFS{"it.html": {Data: []byte(`{{define "content"}}<p>found</p>{{end}}`)}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	g.GET("/it", func(c *Request) error { return c.Show(http.StatusOK, "it", "It", nil) })
	g.POST("/it", func(c *Request) error { return c.To("/it") })
	return s
}

func ask(t *testing.T, to *httptest.Server, method, path, body string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, to.URL+path, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer, string(text)
}

// What no page of ours sends is the request's fault, and the answer says which.
func TestRequestsThatAreNoneOfOurs(t *testing.T) {
	to := httptest.NewServer(bareSite(t).Handler())
	defer to.Close()
	for _, c := range []struct {
		method, path, body string
		status             int
		says               string
	}{
		{"GET", "/it", "", 200, "found"},
		{"POST", "/it", "note=two%0Alines%09and+%C3%A9", 303, ""},
		{"POST", "/it", "note=a%00b", 400, "What was sent holds"},
		{"POST", "/it", "a%00b=c", 400, "What was sent holds"},
		{"POST", "/it", "note=%ff", 400, "What was sent holds"},
		{"POST", "/it", "note=%1b%5b2J", 400, "What was sent holds"},
		{"GET", "/it%00", "", 400, "The address holds"},
		{"GET", "/%ff", "", 400, "The address holds"},
		{"GET", "/it?q=%00", "", 400, "What the address asks"},
		{"GET", "/it?q=%zz", "", 400, "What the address asks"},
		{"GET", "/it?q=" + strings.Repeat("a", longestQuery), "", 414, "longer than 2000 bytes, or what it asks longer than 8000"},
		{"GET", "/" + strings.Repeat("a", longestPath), "", 414, "longer than 2000"},
		{"DELETE", "/it", "", 405, "takes GET and POST, not DELETE"},
		{"PUT", "/health", "", 405, "takes GET, not PUT"},
		{"GET", "/nothing", "", 404, "no page at /nothing"},
		{"POST", "/it", "a=" + strings.Repeat("b", largestRequest), 413, "longer than 4 MB"},
	} {
		t.Run(fmt.Sprintf("%s %.20s %.20s", c.method, c.path, c.body), func(t *testing.T) {
			answer, text := ask(t, to, c.method, c.path, c.body)
			if answer.StatusCode != c.status || !strings.Contains(text, c.says) {
				t.Errorf("status %d, want %d with %q\n%.300s", answer.StatusCode, c.status, c.says, text)
			}
			if got := answer.Header.Get("Cache-Control"); got != "no-store" {
				t.Errorf("it may be kept: %q", got)
			}
			policy := answer.Header.Get("Content-Security-Policy")
			for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin"} {
				if got := answer.Header.Get(name); got != want {
					t.Errorf("%s: %q", name, got)
				}
			}
			if kind := answer.Header.Get("Content-Type"); len(text) > 0 && !strings.HasSuffix(kind, "; charset=utf-8") {
				t.Errorf("its kind is %q", kind)
			}
			for _, part := range []string{"object-src 'none'", "base-uri 'none'", "form-action 'self'", "frame-ancestors 'none'"} {
				if !strings.Contains(policy, part) {
					t.Errorf("the policy %q lacks %s", policy, part)
				}
			}
		})
	}
}

// HEAD has the head of GET's answer, without its body.
func TestHeadIsAnswered(t *testing.T) {
	to := httptest.NewServer(bareSite(t).Handler())
	defer to.Close()
	want, page := ask(t, to, http.MethodGet, "/it", "")
	got, body := ask(t, to, http.MethodHead, "/it", "")
	if got.StatusCode != 200 || body != "" || got.ContentLength != int64(len(page)) || got.Header.Get("Content-Type") != want.Header.Get("Content-Type") {
		t.Errorf("HEAD: status %d, length %d (the page has %d), %q", got.StatusCode, got.ContentLength, len(page), body)
	}
	if missing, _ := ask(t, to, http.MethodHead, "/nothing", ""); missing.StatusCode != 404 {
		t.Errorf("HEAD of no page: status %d", missing.StatusCode)
	}
}

// A form that stops in its middle is let go, and told so.
func TestSlowFormIsLetGo(t *testing.T) {
	s := bareSite(t)
	s.bodyWithin = 50 * time.Millisecond
	to := httptest.NewServer(s.Handler())
	defer to.Close()
	line, err := net.Dial("tcp", to.Listener.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer line.Close()
	fmt.Fprintf(line, "POST /it HTTP/1.1\r\nHost: %s\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 100\r\n\r\nnote=a", to.Listener.Addr())
	answer, err := http.ReadResponse(bufio.NewReader(line), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if text, _ := io.ReadAll(answer.Body); answer.StatusCode != http.StatusRequestTimeout || !strings.Contains(string(text), "did not arrive") {
		t.Errorf("status %d\n%s", answer.StatusCode, text)
	}
}

// One machine's windows are bounded, others' too, and neither keeps this machine's own from its page.
func TestStreamsAreBounded(t *testing.T) {
	s := streams{open: map[string]int{}}
	var leave func()
	for range streamsOfOne {
		done, err := s.take("192.0.2.7", false)
		if err != nil {
			t.Fatal(err)
		}
		leave = done
	}
	if _, err := s.take("192.0.2.7", false); err == nil || !strings.Contains(err.Error(), "24 windows of this machine") {
		t.Errorf("one more of the same machine: %v", err)
	}
	leave()
	leave()
	if _, err := s.take("192.0.2.7", false); err != nil {
		t.Errorf("after one closed: %v", err)
	}
	if _, err := s.take("192.0.2.7", false); err == nil {
		t.Error("one that closed twice gave two places back")
	}
	for i := range streamsOfAll - streamsOfOne {
		if _, err := s.take(fmt.Sprintf("198.51.100.%d", i), false); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.take("203.0.113.1", false); err == nil {
		t.Error("no bound for all other machines")
	}
	if _, err := s.take("127.0.0.1", true); err != nil {
		t.Errorf("this machine is kept out by others: %v", err)
	}
}
