package app

import (
	"cmp"
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"slices"
	"strings"
	"time"

	"sagitta/station/certificate"
	"sagitta/station/signon"
)

// Network says how other machines reach the pages: by TLS with the station's own certificate unless more is said.
type Network struct {
	Address     string            // https://host[:port] by which people reach the pages; "": made of where they listen. Behind proxies it must be given
	Certificate certificate.Files // given; the zero value: the station's own
	Proxies     []netip.Prefix    // from which the requests of others come, without TLS; none: they come directly, by TLS
	// The headers in which a proxy says whose request it hands on, and by which scheme it came: X-Forwarded-For and X-Forwarded-Proto unless given.
	ClientHeader, SchemeHeader string
}

// reach is how the pages are reached.
type reach struct {
	address string // scheme and host
	others  bool   // other machines reach them
	hosts   []string
	keeper  *certificate.Keeper // nil: no TLS here
	proxies proxies
	places  places // of requests at once
	signOn  func(ctx context.Context) (bool, error)
}

// reachOf decides how the pages at an address are reached, and refuses what would let other machines in unasked or in the clear.
// signOn says whether people sign on in this record.
func reachOf(ctx context.Context, listen net.Addr, dir string, n Network, signOn func(ctx context.Context) (bool, error)) (*reach, error) {
	host, port, err := net.SplitHostPort(listen.String())
	if err != nil {
		return nil, err
	}
	r := &reach{address: "http://" + listen.String(), signOn: signOn, places: places{open: map[string]int{}, of: "requests"}}
	ip, notDigits := netip.ParseAddr(host)
	here := notDigits == nil && ip.Unmap().IsLoopback()
	on, err := signOn(ctx)
	if err != nil {
		return nil, err
	}
	if r.others = !here || len(n.Proxies) > 0; r.others && !on {
		return nil, fmt.Errorf("the address %s can be reached from other machines, and nobody signs on in the record of %s: whoever reached it could do anything. "+
			"Start the station without --listen and --behind-proxy, open its address on this machine, have people sign on there (page People), and start it again; "+
			"it then shows other machines its own certificate, or the one of --tls-cert and --tls-key", listen, dir)
	}
	if n.Address != "" {
		r.address = strings.TrimSuffix(n.Address, "/")
		if u, err := url.Parse(n.Address); err == nil {
			r.hosts = append(r.hosts, strings.ToLower(u.Hostname()))
		}
	}
	switch {
	case len(n.Proxies) > 0:
		r.proxies = proxies{n.Proxies, cmp.Or(n.ClientHeader, "X-Forwarded-For"), cmp.Or(n.SchemeHeader, "X-Forwarded-Proto")}
		return r, nil
	case n.Certificate != certificate.Files{}:
		r.keeper, err = certificate.Given(n.Certificate, time.Now)
	case here:
		return r, nil
	default:
		r.keeper, err = certificate.Own(dir, append(ownNames(), r.hosts...), time.Now)
	}
	if err != nil {
		return nil, err
	}
	for _, name := range r.keeper.Leaf().DNSNames {
		r.hosts = append(r.hosts, strings.ToLower(name))
	}
	if n.Address == "" {
		r.address = "https://" + net.JoinHostPort(reachedAt(ip), port)
	}
	return r, nil
}

// reachedAt is an address of this machine at which others find it, where it listens at ip.
func reachedAt(ip netip.Addr) string {
	if !ip.IsUnspecified() {
		return ip.String()
	}
	names := ownNames()
	for _, name := range names {
		if a, err := netip.ParseAddr(name); err == nil && !a.IsLoopback() {
			return name
		}
	}
	return names[0]
}

// ownNames are the names and addresses of this machine: its name first, then addresses as the system lists them, those without a zone.
func ownNames() []string {
	names := []string{"localhost"}
	if host, err := os.Hostname(); err == nil && host != "" {
		names = []string{strings.ToLower(host)}
		if !strings.Contains(host, ".") {
			names = append(names, names[0]+".local")
		}
		names = append(names, "localhost")
	}
	addresses, _ := net.InterfaceAddrs() // a machine without a network has its name
	for _, a := range addresses {
		if p, err := netip.ParsePrefix(a.String()); err == nil && !p.Addr().IsLinkLocalUnicast() {
			names = append(names, p.Addr().Unmap().String())
		}
	}
	return slices.Compact(append(names, "127.0.0.1", "::1"))
}

// toOthers is the scheme and host by which other machines reach the pages, "" where none does.
func (r *reach) toOthers() string {
	if !r.others {
		return ""
	}
	return r.address
}

// secure says that browsers reach the pages by TLS alone.
func (r *reach) secure() bool { return r.keeper != nil || len(r.proxies.from) > 0 }

// serve runs a server at l until it is shut down.
func (r *reach) serve(server *http.Server, l net.Listener) error {
	l = newBounded(l, r.proxies)
	if r.keeper == nil {
		return server.Serve(l)
	}
	server.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: r.keeper.ForConnection}
	return server.ServeTLS(l, "", "")
}

// signsOn says whether people sign on now.
func (r *reach) signsOn(ctx context.Context) bool {
	on, err := r.signOn(ctx)
	return err == nil && on
}

// hsts tells browsers to come by TLS for a year to come (RFC 6797).
const hsts = "max-age=31536000"

// handler gives every request the address of whose it is, and each machine its share of requests.
func (r *reach) handler(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		if r.proxies.trust(req.RemoteAddr) {
			client, secure, own, err := r.proxies.said(req)
			if err != nil {
				http.Error(w, "Nothing was done, for "+err.Error()+".", http.StatusBadRequest)
				return
			}
			if !own {
				if !secure {
					r.byTLS(w, req)
					return
				}
				req = signon.WithSecure(req)
				req.RemoteAddr = netip.AddrPortFrom(client, 0).String()
			}
		}
		from := machineOf(req.RemoteAddr)
		if from != "" && !r.signsOn(req.Context()) { // it may have been turned off since the start
			http.Error(w, "Nobody signs on at this station now, and so it answers its own machine alone.", http.StatusForbidden)
			return
		}
		leave, ok := r.places.enter(from)
		if !ok {
			http.Error(w, "Too many requests of this machine at once: wait for their answers.", http.StatusTooManyRequests)
			return
		}
		defer leave()
		if r.secure() {
			w.Header().Set("Strict-Transport-Security", hsts)
		}
		next.ServeHTTP(w, req)
	})
}

// byTLS leads a request that came to the proxy in the clear to where it is safe; what was sent with it was sent in the clear.
func (r *reach) byTLS(w http.ResponseWriter, req *http.Request) {
	if req.Method == http.MethodGet || req.Method == http.MethodHead {
		http.Redirect(w, req, r.address+req.URL.RequestURI(), http.StatusPermanentRedirect)
		return
	}
	http.Error(w, "This came without TLS, and nothing of it was used: the address is "+r.address+".", http.StatusForbidden)
}
