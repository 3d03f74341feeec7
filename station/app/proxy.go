package app

import (
	"fmt"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// proxies are the machines that hand requests of others on.
type proxies struct {
	from           []netip.Prefix
	client, scheme string // headers in which they say whose request it is, and how it came to them
}

// trust says whether a connection or a step of the way is a proxy's.
func (p proxies) trust(hostPort string) bool {
	at, err := netip.ParseAddrPort(hostPort)
	return err == nil && p.are(at.Addr())
}

func (p proxies) are(a netip.Addr) bool {
	a = a.Unmap().WithZone("")
	return slices.ContainsFunc(p.from, func(f netip.Prefix) bool { return f.Contains(a) })
}

// said is whose request a proxy hands on, and whether it came to it by TLS. What stands in the header before the last machine that is no proxy
// was written by that machine, and proves nothing. Without the header, own is true where this machine's own browser may have come to us directly.
func (p proxies) said(r *http.Request) (client netip.Addr, secure, own bool, err error) {
	steps := strings.Split(strings.Join(r.Header.Values(p.client), ","), ",")
	if len(steps) == 1 && strings.TrimSpace(steps[0]) == "" {
		if machineOf(r.RemoteAddr) == "" {
			return client, false, true, nil
		}
		return client, false, false, fmt.Errorf("the proxy does not say whose request it hands on: let it send the header %s", p.client)
	}
	for _, step := range slices.Backward(steps) {
		client, err = addressIn(strings.TrimSpace(step))
		if err != nil {
			return client, false, false, fmt.Errorf("the header %s holds %.60q, which is no address", p.client, strings.TrimSpace(step))
		}
		if !p.are(client) {
			break
		}
	}
	schemes := strings.Split(strings.Join(r.Header.Values(p.scheme), ","), ",")
	return client, strings.EqualFold(strings.TrimSpace(schemes[len(schemes)-1]), "https"), false, nil
}

// addressIn reads an address that may have a port.
func addressIn(s string) (netip.Addr, error) {
	if at, err := netip.ParseAddrPort(s); err == nil {
		return at.Addr().Unmap().WithZone(""), nil
	}
	a, err := netip.ParseAddr(strings.Trim(s, "[]"))
	return a.Unmap().WithZone(""), err
}
