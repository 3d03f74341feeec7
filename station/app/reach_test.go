package app

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/station/certificate"
	"sagitta/station/signon"
)

// echo answers with whose request it is, and whether its cookies are kept to TLS.
var echo = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("X-Secure", fmt.Sprint(signon.IsSecure(r)))
	fmt.Fprint(w, r.RemoteAddr)
})

func signing(context.Context) (bool, error)     { return true, nil }
func nobodySigns(context.Context) (bool, error) { return false, nil }

// running serves a handler as a station would where people sign on, at every address of this machine or at this machine's own.
func running(t *testing.T, at string, n Network, handler http.Handler) (*reach, string) {
	t.Helper()
	return runningWhile(t, at, n, signing, handler)
}

// runningWhile is running where it is told by signOn whether people sign on.
func runningWhile(t *testing.T, at string, n Network, signOn func(context.Context) (bool, error), handler http.Handler) (*reach, string) {
	t.Helper()
	l, err := net.Listen("tcp", at)
	if err != nil {
		t.Fatal(err)
	}
	r, err := reachOf(t.Context(), l.Addr(), t.TempDir(), n, signOn)
	if err != nil {
		t.Fatal(err)
	}
	server := newServer(t.Context(), r.handler(handler))
	ended := make(chan error, 1)
	go func() { ended <- r.serve(server, l) }()
	t.Cleanup(func() {
		_ = server.Close()
		if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	})
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return r, net.JoinHostPort("127.0.0.1", port)
}

// browser trusts one fingerprint and nothing else, as a person does who has compared it, and follows no redirection.
func browser(fingerprint string, version uint16) *http.Client {
	return &http.Client{
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{ForceAttemptHTTP2: true, TLSClientConfig: &tls.Config{
			InsecureSkipVerify: true, MaxVersion: version,
			VerifyConnection: func(s tls.ConnectionState) error {
				if got := certificate.Fingerprint(s.PeerCertificates[0]); got != fingerprint {
					return fmt.Errorf("the station shows %s", got)
				}
				return nil
			},
		}},
	}
}

// ask sends a request and returns the answer's head and text.
func ask(t *testing.T, c *http.Client, method, url string, headers ...string) (*http.Response, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Add(headers[i], headers[i+1])
	}
	a, err := c.Do(r)
	if err != nil {
		t.Error(err)
		return &http.Response{}, ""
	}
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err != nil {
		t.Error(err)
	}
	return a, string(text)
}

// TestOthersNeedSignOn: without sign-on neither an address of other machines nor a proxy is served, and the refusal says what to do.
func TestOthersNeedSignOn(t *testing.T) {
	n := Network{Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}, Address: "https://station.example"}
	for _, c := range []struct {
		at net.Addr
		n  Network
	}{
		{&net.TCPAddr{IP: net.IPv4zero, Port: 8470}, Network{}}, {&net.TCPAddr{IP: net.IPv6zero, Port: 8470}, Network{}},
		{&net.TCPAddr{IP: net.IPv4(192, 0, 2, 7), Port: 8470}, Network{}}, {&net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8470}, n},
	} {
		_, err := reachOf(t.Context(), c.at, t.TempDir(), c.n, nobodySigns)
		if err == nil {
			t.Errorf("%s is served", c.at)
			continue
		}
		for _, w := range []string{c.at.String(), "other machines", "nobody signs on", "without --listen", "page People"} {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%q does not say %q", err, w)
			}
		}
	}
	for _, at := range []string{"127.0.0.1", "::1"} {
		r, err := reachOf(t.Context(), &net.TCPAddr{IP: net.ParseIP(at), Port: 8470}, t.TempDir(), Network{}, nobodySigns)
		if err != nil || r.keeper != nil || !strings.HasPrefix(r.address, "http://") {
			t.Errorf("this machine alone at %s: %v", at, err)
		}
	}
}

// TestByTLS: other machines are answered by TLS alone, with the station's own certificate, and told to come by TLS again.
func TestByTLS(t *testing.T) {
	r, at := running(t, ":0", Network{}, echo)
	shown := certificate.Fingerprint(r.keeper.Leaf())
	a, text := ask(t, browser(shown, 0), http.MethodGet, "https://"+at+"/")
	if a.StatusCode != http.StatusOK || !strings.HasPrefix(text, "127.0.0.1:") || a.Proto != "HTTP/2.0" || a.Header.Get("Strict-Transport-Security") != hsts || a.Header.Get("X-Secure") != "true" {
		t.Errorf("%s %s, %q, %v", a.Proto, a.Status, text, a.Header)
	}
	roots := x509.NewCertPool()
	roots.AddCert(r.keeper.Leaf())
	trusting := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	if a, _ := ask(t, trusting, http.MethodGet, strings.Replace("https://"+at+"/", "127.0.0.1", "localhost", 1)); a.StatusCode != http.StatusOK {
		t.Errorf("a browser that trusts the certificate: %s", a.Status)
	}
	other := browser(strings.Repeat("00:", 31)+"00", 0)
	if _, err := other.Get("https://" + at + "/"); err == nil || !strings.Contains(err.Error(), "the station shows "+shown) {
		t.Errorf("another fingerprint: %v", err)
	}
	if _, err := browser(shown, tls.VersionTLS11).Get("https://" + at + "/"); err == nil {
		t.Error("TLS 1.1 is spoken")
	}
	if a, text := ask(t, http.DefaultClient, http.MethodGet, "http://"+at+"/"); a.StatusCode != http.StatusBadRequest {
		t.Errorf("without TLS: %s, %q", a.Status, text)
	}
	if !strings.HasPrefix(r.address, "https://") || strings.Contains(r.address, "[::]") {
		t.Errorf("people are told %s", r.address)
	}
}

// TestGivenCertificateIsShown: the files that were given, and the names in them.
func TestGivenCertificateIsShown(t *testing.T) {
	dir := t.TempDir()
	given, err := certificate.Own(dir, []string{"Station.Quillmere.Example", "127.0.0.1"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	r, at := running(t, "127.0.0.1:0", Network{Certificate: certificate.Of(dir)}, echo)
	if a, _ := ask(t, browser(certificate.Fingerprint(given.Leaf()), 0), http.MethodGet, "https://"+at+"/"); a.StatusCode != http.StatusOK || len(r.hosts) != 1 || r.hosts[0] != "station.quillmere.example" {
		t.Errorf("%s, its names are %v", a.Status, r.hosts)
	}
	missing := certificate.Files{Certificate: filepath.Join(dir, "none.pem"), Key: certificate.Of(dir).Key}
	if _, err := reachOf(t.Context(), &net.TCPAddr{IP: net.IPv4zero, Port: 8470}, dir, Network{Certificate: missing}, signing); err == nil || !strings.Contains(err.Error(), missing.Certificate) {
		t.Errorf("a missing file: %v", err)
	}
}

var behindOne = Network{Proxies: []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32"), netip.MustParsePrefix("10.0.4.0/24")}, Address: "https://station.example"}

// TestBehindProxy: the proxy's word counts about whose request it is, the client's own does not; what came in the clear is led to TLS, and not used.
func TestBehindProxy(t *testing.T) {
	_, at := running(t, "127.0.0.1:0", behindOne, echo)
	c := browser("", 0)
	for _, x := range []struct{ header, whose string }{
		{"192.0.2.9", "192.0.2.9:0"}, {"192.0.2.9:4711", "192.0.2.9:0"}, {"[2001:db8::7]:4711", "[2001:db8::7]:0"}, {"2001:db8::7", "[2001:db8::7]:0"},
		{"127.0.0.1, 198.51.100.3, 192.0.2.9", "192.0.2.9:0"}, // all but the last was written by the client
		{"192.0.2.9, 10.0.4.8", "192.0.2.9:0"}, {"10.0.4.8", "10.0.4.8:0"},
	} {
		a, text := ask(t, c, http.MethodPost, "http://"+at+"/", "X-Forwarded-For", x.header, "X-Forwarded-Proto", "https")
		if a.StatusCode != http.StatusOK || text != x.whose || a.Header.Get("Strict-Transport-Security") != hsts || a.Header.Get("X-Secure") != "true" {
			t.Errorf("%s: %s, %q, want %s", x.header, a.Status, text, x.whose)
		}
	}
	if a, text := ask(t, c, http.MethodGet, "http://"+at+"/", "X-Forwarded-For", "nobody", "X-Forwarded-Proto", "https"); a.StatusCode != http.StatusBadRequest || !strings.Contains(text, "X-Forwarded-For") {
		t.Errorf("no address: %s, %q", a.Status, text)
	}
	for _, scheme := range []string{"http", "", "https, http"} {
		a, _ := ask(t, c, http.MethodGet, "http://"+at+"/batches?x=1", "X-Forwarded-For", "192.0.2.9", "X-Forwarded-Proto", scheme)
		if a.StatusCode != http.StatusPermanentRedirect || a.Header.Get("Location") != "https://station.example/batches?x=1" {
			t.Errorf("%q: %s, %s", scheme, a.Status, a.Header.Get("Location"))
		}
		if a, text := ask(t, c, http.MethodPost, "http://"+at+"/", "X-Forwarded-For", "192.0.2.9", "X-Forwarded-Proto", scheme); a.StatusCode != http.StatusForbidden || !strings.Contains(text, "without TLS") {
			t.Errorf("a form, %q: %s, %q", scheme, a.Status, text)
		}
	}
	if a, text := ask(t, c, http.MethodGet, "http://"+at+"/"); a.StatusCode != http.StatusOK || !strings.HasPrefix(text, "127.0.0.1:") {
		t.Errorf("this machine's own browser: %s, %q", a.Status, text)
	}
}

// TestHeaderOfNoProxy: who is no proxy cannot say that it is somebody else.
func TestHeaderOfNoProxy(t *testing.T) {
	far := Network{Proxies: []netip.Prefix{netip.MustParsePrefix("10.0.4.0/24")}, Address: "https://station.example", ClientHeader: "X-Client", SchemeHeader: "X-Scheme"}
	for _, n := range []Network{far, {}} {
		_, at := running(t, "127.0.0.1:0", n, echo)
		a, text := ask(t, browser("", 0), http.MethodGet, "http://"+at+"/", "X-Client", "192.0.2.9", "X-Scheme", "https", "X-Forwarded-For", "192.0.2.9")
		if a.StatusCode != http.StatusOK || a.Header.Get("X-Secure") != "false" || !strings.HasPrefix(text, "127.0.0.1:") {
			t.Errorf("%s, %q", a.Status, text)
		}
	}
	// A proxy that does not say whose request it hands on must not pass for this machine.
	r, err := reachOf(t.Context(), &net.TCPAddr{IP: net.IPv4zero, Port: 8470}, t.TempDir(), far, signing)
	if err != nil {
		t.Fatal(err)
	}
	_, _, own, err := r.proxies.said(&http.Request{RemoteAddr: "10.0.4.8:4711", Header: http.Header{"X-Forwarded-For": {"192.0.2.9"}}})
	if err == nil || own || !strings.Contains(err.Error(), "X-Client") {
		t.Errorf("own is %v, %v", own, err)
	}
	// Nobody but the proxies and this machine gets a connection: it would be in the clear.
	line := &callers{}
	b := newBounded(line, r.proxies)
	stranger, proxy := line.call("192.0.2.9"), line.call("10.0.4.8")
	if c, err := b.Accept(); err != nil || c.RemoteAddr() != proxy.from || !stranger.closed {
		t.Errorf("%v, %v; the stranger's connection is closed: %v", c, err, stranger.closed)
	}
}

// TestOthersAreOutOnceNobodySignsOn: where signing on is turned off, or cannot be told, while the station runs, other machines are refused from the next request on.
func TestOthersAreOutOnceNobodySignsOn(t *testing.T) {
	var off, failing atomic.Bool
	_, at := runningWhile(t, "127.0.0.1:0", behindOne, func(context.Context) (bool, error) {
		if failing.Load() {
			return true, errors.New("the record cannot be read")
		}
		return !off.Load(), nil
	}, echo)
	from := func(headers ...string) int {
		a, _ := ask(t, browser("", 0), http.MethodGet, "http://"+at+"/", headers...)
		return a.StatusCode
	}
	other := []string{"X-Forwarded-For", "192.0.2.9", "X-Forwarded-Proto", "https"}
	if got := from(other...); got != http.StatusOK {
		t.Errorf("while people sign on: %d", got)
	}
	off.Store(true)
	if got := from(other...); got != http.StatusForbidden {
		t.Errorf("another machine after it was turned off: %d", got)
	}
	if got := from(); got != http.StatusOK {
		t.Errorf("this machine after it was turned off: %d", got)
	}
	off.Store(false)
	failing.Store(true)
	if got := from(other...); got != http.StatusForbidden {
		t.Errorf("where it cannot be told: %d", got)
	}
}

// TestRequestsAreBoundedByClient: one client behind the proxy gets its share of requests at once, and takes nobody else's.
func TestRequestsAreBoundedByClient(t *testing.T) {
	entered, leave := make(chan bool), make(chan bool)
	_, at := running(t, "127.0.0.1:0", behindOne, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/slow" {
			entered <- true
			<-leave
		}
	}))
	from := func(client, path string) int {
		a, _ := ask(t, browser("", 0), http.MethodGet, "http://"+at+path, "X-Forwarded-For", client, "X-Forwarded-Proto", "https")
		return a.StatusCode
	}
	done := make(chan int, perMachine)
	for range perMachine {
		go func() { done <- from("192.0.2.9", "/slow") }()
		<-entered
	}
	if got := from("192.0.2.9", "/"); got != http.StatusTooManyRequests {
		t.Errorf("one more of the same client: %d", got)
	}
	if got := from("192.0.2.10", "/"); got != http.StatusOK {
		t.Errorf("another client: %d", got)
	}
	close(leave)
	for range perMachine {
		if got := <-done; got != http.StatusOK {
			t.Errorf("a slow one: %d", got)
		}
	}
	if got := from("192.0.2.9", "/"); got != http.StatusOK {
		t.Errorf("after all have left: %d", got)
	}
}

// TestServerEndsWithItsContext keeps what a handler waits for tied to the station's end.
func TestServerEndsWithItsContext(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	end()
	if s := newServer(ctx, echo); s.BaseContext(nil).Err() == nil || s.ReadHeaderTimeout != headerWithin || s.IdleTimeout != idleFor || s.MaxHeaderBytes != largestHead {
		t.Error("the server has not its bounds")
	}
}

func FuzzProxyHeaders(f *testing.F) {
	f.Add("192.0.2.9, 10.0.4.8", "https")
	f.Add("[2001:db8::7]:4711", "http")
	f.Add("fe80::1%eth0,,", "")
	p := proxies{behindOne.Proxies, "X-Forwarded-For", "X-Forwarded-Proto"}
	f.Fuzz(func(t *testing.T, client, scheme string) {
		who, _, own, err := p.said(&http.Request{RemoteAddr: "10.0.4.8:4711", Header: http.Header{"X-Forwarded-For": {client}, "X-Forwarded-Proto": {scheme}}})
		if own {
			t.Error("another machine passes for this one")
		}
		if err == nil && (!who.IsValid() || who.Zone() != "" || who.Is4In6()) {
			t.Errorf("%q is %v", client, who)
		}
	})
}
