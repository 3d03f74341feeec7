package app

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"
)

// The bounds of what other machines may ask of the pages' server, however slow or greedy they are. Forms and answers have theirs in station/web/site.
const (
	headerWithin = 5 * time.Second // for a request's head
	idleFor      = 2 * time.Minute // a connection without a request
	largestHead  = 32 << 10        // bytes; the server answers 431 to more, and itself adds 4 KiB
	perMachine   = 128             // connections of one other machine: a browser opens six and a stream per window
	ofOthers     = 4096            // connections of all other machines together
	ofThis       = 4096            // connections of this machine: the bench's own page is never kept out by others
	perLine      = 100             // requests at once on one connection (HTTP/2); of requests at once a machine has as many as of connections
)

// newServer is the server of the pages: a handler's context ends with ctx.
func newServer(ctx context.Context, handler http.Handler) *http.Server {
	return &http.Server{
		Handler: handler, ReadHeaderTimeout: headerWithin, IdleTimeout: idleFor, MaxHeaderBytes: largestHead,
		ErrorLog:    slog.NewLogLogger(slog.Default().Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return ctx },
		HTTP2:       &http.HTTP2Config{MaxConcurrentStreams: perLine},
	}
}

// bounded is a listener that closes what a machine opens beyond its share, and with proxies what is from no proxy and not from this machine.
type bounded struct {
	net.Listener
	proxies proxies
	places  places
}

func newBounded(l net.Listener, p proxies) *bounded {
	return &bounded{Listener: l, proxies: p, places: places{open: map[string]int{}, of: "connections"}}
}

// Accept waits for the next connection that has a place.
func (b *bounded) Accept() (net.Conn, error) {
	for {
		c, err := b.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from := machineOf(c.RemoteAddr().String())
		trusted := b.proxies.trust(c.RemoteAddr().String())
		if trusted {
			from = "" // whose requests it hands on is told by each of them
		}
		if trusted || from == "" || len(b.proxies.from) == 0 {
			if leave, ok := b.places.enter(from); ok {
				return &counted{Conn: c, leave: leave}, nil
			}
		}
		_ = c.Close() // nothing was read from it
	}
}

// machineOf is the address of the other end's machine, "" for this one.
func machineOf(hostPort string) string {
	at, err := netip.ParseAddrPort(hostPort)
	if err != nil || at.Addr().Unmap().IsLoopback() {
		return ""
	}
	return at.Addr().Unmap().WithZone("").String()
}

// places are what machines may hold at once, by the machine's address, "" for this one.
type places struct {
	of   string // what they hold, for the log
	mu   sync.Mutex
	open map[string]int
	all  int       // of other machines
	said time.Time // when it was last logged that some were refused
}

// enter takes a place until leave is called.
func (p *places) enter(from string) (leave func(), ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch n := p.open[from]; {
	case from == "" && n >= ofThis, from != "" && (n >= perMachine || p.all >= ofOthers):
		if now := time.Now(); now.Sub(p.said) > time.Minute {
			p.said = now
			slog.Warn(p.of+" refused", "from", from, "open", n, "all", p.all)
		}
		return nil, false
	}
	p.add(from, 1)
	return sync.OnceFunc(func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.add(from, -1)
	}), true
}

func (p *places) add(from string, n int) {
	if p.open[from] += n; p.open[from] == 0 {
		delete(p.open, from)
	}
	if from != "" {
		p.all += n
	}
}

// counted is a connection that gives its place back once.
type counted struct {
	net.Conn
	leave func()
}

func (c *counted) Close() error {
	defer c.leave()
	return c.Conn.Close()
}
