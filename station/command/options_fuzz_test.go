package command

import (
	"net"
	"net/netip"
	"strings"
	"testing"
	"time"

	"sagitta/batch/spc"
	"sagitta/station/app"
)

// FuzzOptions: whatever an option is given, it is taken within its bounds or refused with words.
func FuzzOptions(f *testing.F) {
	for _, s := range []string{"127.0.0.1:8470", ":0", "[::1]:1", "06:00,14:00,22:00", "24:00", "127.0.0.1,10.0.4.0/24", "fe80::1%eth0/64", "https://a.example:1", "X-Client,X-Scheme", "1:25", "1,2,8", "1:"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		refused := func(what string, err error) bool {
			if err != nil && err.Error() == "" {
				t.Errorf("%s refuses %q without a word", what, text)
			}
			return err != nil
		}
		var at address
		if !refused("--listen", at.Set(text)) {
			if _, _, err := net.SplitHostPort(string(at)); err != nil {
				t.Errorf("--listen takes %q", text)
			}
		}
		var shifts []time.Duration
		if !refused("--shifts", (*shiftTimes)(&shifts).Set(text)) {
			for _, s := range shifts {
				if s < 0 || s >= 24*time.Hour {
					t.Errorf("--shifts takes %q as %v", text, s)
				}
			}
		}
		var n app.Network
		if !refused("--behind-proxy", (*prefixes)(&n.Proxies).Set(text)) {
			for _, p := range n.Proxies {
				if !p.IsValid() || p.Bits() == 0 || p != p.Masked() || p.Contains(netip.Addr{}) {
					t.Errorf("--behind-proxy takes %q as %v", text, p)
				}
			}
		}
		if !refused("--address", (*origin)(&n.Address).Set(text)) && (!strings.HasPrefix(n.Address, "https://") || strings.ContainsAny(n.Address[8:], "/?#@ \r\n")) {
			t.Errorf("--address takes %q as %q", text, n.Address)
		}
		if !refused("--proxy-headers", (*twoHeaders)(&n).Set(text)) && strings.ContainsAny(n.ClientHeader+n.SchemeHeader, ":, \r\n") {
			t.Errorf("--proxy-headers takes %q", text)
		}
		if base, err := parseBase(text); !refused("--base", err) && (base.From < 1 || base.To < base.From) {
			t.Errorf("--base takes %q as %+v", text, base)
		}
		if tests, err := spc.ParseTests(text); !refused("--tests", err) && len(tests.Numbers()) == 0 {
			t.Errorf("--tests takes %q as none", text)
		}
	})
}
