package app

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"
)

// The bounds of what other machines may ask of the pages' server, however slow or greedy they are. Forms and answers have theirs in station/web/site.
const (
	headerWithin = 5 * time.Second // for a request's head
	idleFor      = 2 * time.Minute // a connection without a request
	largestHead  = 32 << 10        // bytes; the server answers 431 to more, and itself adds 4 KiB
	perMachine   = 128             // connections of one other machine: a browser opens six and a stream per window
	ofOthers     = 2048            // connections of all other machines together
	ofThis       = 2048            // connections of this machine: the bench's own page is never kept out by others
)

// newServer is the server of the pages: a handler's context ends with ctx.
func newServer(ctx context.Context, handler http.Handler) *http.Server {
	return &http.Server{
		Handler: handler, ReadHeaderTimeout: headerWithin, IdleTimeout: idleFor, MaxHeaderBytes: largestHead,
		ErrorLog:    slog.NewLogLogger(slog.Default().Handler(), slog.LevelWarn),
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
}

// bounded is a listener that closes what a machine opens beyond its share.
type bounded struct {
	net.Listener
	mu   sync.Mutex
	open map[string]int // connections by the other end's address; "" for this machine
	all  int            // of other machines
	said time.Time      // when it was last logged that some were refused
}

func newBounded(l net.Listener) *bounded { return &bounded{Listener: l, open: map[string]int{}} }

// Accept waits for the next connection that has a place.
func (b *bounded) Accept() (net.Conn, error) {
	for {
		c, err := b.Listener.Accept()
		if err != nil {
			return nil, err
		}
		from := machineOf(c.RemoteAddr())
		if b.enter(from) {
			return &counted{Conn: c, leave: sync.OnceFunc(func() { b.left(from) })}, nil
		}
		_ = c.Close() // nothing was read from it
	}
}

// machineOf is the address of the other end's machine, "" for this one.
func machineOf(a net.Addr) string {
	tcp, ok := a.(*net.TCPAddr)
	if !ok || tcp.IP.IsLoopback() {
		return ""
	}
	return tcp.IP.String()
}

func (b *bounded) enter(from string) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch n := b.open[from]; {
	case from == "" && n >= ofThis, from != "" && (n >= perMachine || b.all >= ofOthers):
		if now := time.Now(); now.Sub(b.said) > time.Minute {
			b.said = now
			slog.Warn("connections refused", "from", from, "open", n, "all", b.all)
		}
		return false
	}
	b.open[from]++
	if from != "" {
		b.all++
	}
	return true
}

func (b *bounded) left(from string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.open[from]--; b.open[from] == 0 {
		delete(b.open, from)
	}
	if from != "" {
		b.all--
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
