package site

import (
	"fmt"
	"net"
	"net/http"
	"os"
	"slices"
	"strings"
)

// ownHost refuses requests that come under a foreign name: another site's name may be made to lead to this machine, and
// its pages would then count as ours. An address in digits, localhost and this machine's own name are ours.
func (s *Site) ownHost(r *http.Request) error {
	if isOwnHost(r.Host, s.opt.Hosts) {
		return nil
	}
	return refusal{fmt.Errorf("This station does not go by the name %s. Use its address in digits, the machine's own name, or the one given with --address.", r.Host), http.StatusForbidden}
}

// isOwnHost says whether a request's host (with or without a port) is this machine, or one of the names given to it.
func isOwnHost(host string, given []string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.ToLower(strings.Trim(host, "[]"))
	if host == "localhost" || net.ParseIP(host) != nil || slices.Contains(given, host) {
		return true
	}
	machine, err := os.Hostname()
	if err != nil || machine == "" {
		return false
	}
	machine = strings.ToLower(machine)
	return host == machine || host == machine+".local" || strings.HasPrefix(machine, host+".")
}
