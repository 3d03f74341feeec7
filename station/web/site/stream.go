package site

import (
	"fmt"
	"net"
	"net/http"
	"sync"
)

// A live stream holds a goroutine and draws its page again at every change, so a machine may have so many.
const (
	streamsOfOne = 24  // of one machine
	streamsOfAll = 300 // of all other machines; those of this machine are not counted among them
)

// streams counts the live streams that are open, by the machine that reads them.
type streams struct {
	mu   sync.Mutex
	open map[string]int
	all  int
}

// Stream takes a place among the live streams until done is called. Its error has status 429.
func (c *Request) Stream() (done func(), err error) {
	host, _, _ := net.SplitHostPort(c.Request.RemoteAddr)
	return c.group.site.streams.take(host, c.Here())
}

func (s *streams) take(host string, here bool) (done func(), err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.open[host] >= streamsOfOne {
		return nil, refusal{fmt.Errorf("%d windows of this machine are open already: close one and load this page again.", s.open[host]), http.StatusTooManyRequests}
	}
	if !here && s.all >= streamsOfAll {
		return nil, refusal{fmt.Errorf("%d windows of other machines are open already: close one and load this page again.", s.all), http.StatusTooManyRequests}
	}
	add := func(n int) {
		if s.open[host] += n; s.open[host] == 0 {
			delete(s.open, host)
		}
		if !here {
			s.all += n
		}
	}
	add(1)
	return sync.OnceFunc(func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		add(-1)
	}), nil
}
