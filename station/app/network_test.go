package app

import (
	"errors"
	"net"
	"testing"
)

// lineFrom is a connection from an address of the test's choice.
type lineFrom struct {
	net.Conn
	from   net.Addr
	closed bool
}

func (l *lineFrom) RemoteAddr() net.Addr { return l.from }
func (l *lineFrom) Close() error         { l.closed = true; return nil }

// callers is a listener at which the given connections arrive.
type callers struct {
	net.Listener
	waiting []*lineFrom
}

func (c *callers) Accept() (net.Conn, error) {
	if len(c.waiting) == 0 {
		return nil, errors.New("nobody calls")
	}
	next := c.waiting[0]
	c.waiting = c.waiting[1:]
	return next, nil
}

func (c *callers) call(address string) *lineFrom {
	l := &lineFrom{from: &net.TCPAddr{IP: net.ParseIP(address), Port: 40000}}
	c.waiting = append(c.waiting, l)
	return l
}

// A greedy machine gets its share and no more; others, and this machine above all, are still heard; a closed connection gives its place back once.
func TestConnectionsAreBounded(t *testing.T) {
	at := &callers{}
	b := newBounded(at, proxies{})
	var held []net.Conn
	for range perMachine {
		at.call("192.0.2.7")
		c, err := b.Accept()
		if err != nil {
			t.Fatal(err)
		}
		held = append(held, c)
	}
	refused, other, own := at.call("192.0.2.7"), at.call("192.0.2.8"), at.call("127.0.0.1")
	c, err := b.Accept()
	if err != nil || c.RemoteAddr() != other.from || !refused.closed {
		t.Fatalf("after %d connections of one machine came %v (%v), its next was closed: %v", perMachine, c, err, refused.closed)
	}
	if c, err = b.Accept(); err != nil || c.RemoteAddr() != own.from {
		t.Fatalf("this machine's own connection: %v, %v", c, err)
	}
	for range 2 {
		if err := held[0].Close(); err != nil {
			t.Fatal(err)
		}
	}
	first, second := at.call("192.0.2.7"), at.call("192.0.2.7")
	if c, err = b.Accept(); err != nil || c.RemoteAddr() != first.from {
		t.Fatalf("after one was closed: %v, %v", c, err)
	}
	if _, err = b.Accept(); err == nil || !second.closed {
		t.Errorf("one place was given back, two were taken")
	}
}

// Many machines together cannot keep this one out.
func TestOthersLeaveRoomForThisMachine(t *testing.T) {
	at := &callers{}
	b := newBounded(at, proxies{})
	for i := range ofOthers + 5 {
		at.call(net.IPv4(198, 51, byte(i/100), byte(i%100+1)).String())
	}
	for i := range ofOthers {
		if _, err := b.Accept(); err != nil {
			t.Fatalf("connection %d: %v", i+1, err)
		}
	}
	own := at.call("::1")
	if c, err := b.Accept(); err != nil || c.RemoteAddr() != own.from {
		t.Errorf("with %d connections of others this machine's came as %v, %v", ofOthers, c, err)
	}
}
