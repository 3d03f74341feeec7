package command

import (
	"fmt"
	"net/netip"
	"net/url"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/station/app"
	"sagitta/station/certificate"
)

// networkFlags adds the options that say how other machines reach the pages.
func networkFlags(cmd *cobra.Command, n *app.Network) {
	certificateFlags(cmd, &n.Certificate)
	f := cmd.Flags()
	f.Var((*origin)(&n.Address), "address", "where people reach the pages, when the machine's own addresses do not say it")
	f.Var((*prefixes)(&n.Proxies), "behind-proxy", "addresses of the proxies that hand requests on without TLS, e.g. 127.0.0.1,10.0.4.0/24; needs --address")
	f.Var((*twoHeaders)(n), "proxy-headers", "in which the proxies say the client's address and scheme (default X-Forwarded-For,X-Forwarded-Proto)")
}

// certificateFlags adds the options of a given certificate.
func certificateFlags(cmd *cobra.Command, given *certificate.Files) {
	cmd.Flags().StringVar(&given.Certificate, "tls-cert", "", "the pages' certificate (PEM) instead of the station's own")
	cmd.Flags().StringVar(&given.Key, "tls-key", "", "its key (PEM, without a password)")
}

// networkUse refuses options that do not go together.
func networkUse(n app.Network) error {
	switch given := n.Certificate; {
	case (given.Certificate == "") != (given.Key == ""):
		return usageError{fmt.Errorf("--tls-cert and --tls-key are given together or not at all")}
	case len(n.Proxies) > 0 && given.Certificate != "":
		return usageError{fmt.Errorf("--behind-proxy and --tls-cert: give one of them; behind a proxy the certificate is the proxy's")}
	case len(n.Proxies) > 0 && n.Address == "":
		return usageError{fmt.Errorf("--behind-proxy needs --address: where people reach the proxy, such as https://station.example")}
	case len(n.Proxies) == 0 && n.ClientHeader != "":
		return usageError{fmt.Errorf("--proxy-headers needs --behind-proxy: from whom these headers are believed")}
	}
	return nil
}

// origin is the value of an option that says where people reach the pages: https, a host and perhaps a port.
type origin string

func (o *origin) String() string { return string(*o) }

// Set reads the option.
func (o *origin) Set(text string) error {
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "https" || u.Hostname() == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return fmt.Errorf("found %q; allowed: https://host or https://host:port", text)
	}
	*o = origin("https://" + u.Host)
	return nil
}

// Type names the value in the command's help.
func (o *origin) Type() string { return "https://host[:port]" }

// prefixes is the value of an option that lists addresses and networks.
type prefixes []netip.Prefix

func (p *prefixes) String() string { return "" }

// Set reads the option.
func (p *prefixes) Set(text string) error {
	*p = nil
	for part := range strings.SplitSeq(text, ",") {
		part = strings.TrimSpace(part)
		one, err := netip.ParsePrefix(part)
		if err != nil {
			var a netip.Addr
			if a, err = netip.ParseAddr(part); err == nil {
				one, err = a.Unmap().Prefix(a.Unmap().BitLen())
			}
		}
		if err != nil || one.Bits() == 0 {
			return fmt.Errorf("found %q; allowed: addresses and networks such as 127.0.0.1 and 10.0.4.0/24, with commas between, but not every address there is", part)
		}
		*p = append(*p, one.Masked())
	}
	return nil
}

// Type names the value in the command's help.
func (p *prefixes) Type() string { return "addresses" }

// twoHeaders is the value of the option that names the headers of the client's address and of the scheme.
type twoHeaders app.Network

func (h *twoHeaders) String() string { return "" }

// Set reads the option.
func (h *twoHeaders) Set(text string) error {
	client, scheme, both := strings.Cut(text, ",")
	client, scheme = strings.TrimSpace(client), strings.TrimSpace(scheme)
	if !both || !isHeader(client) || !isHeader(scheme) {
		return fmt.Errorf("found %q; allowed: two names of headers with a comma between, such as X-Forwarded-For,X-Forwarded-Proto", text)
	}
	h.ClientHeader, h.SchemeHeader = client, scheme
	return nil
}

// Type names the value in the command's help.
func (h *twoHeaders) Type() string { return "CLIENT,SCHEME" }

// isHeader says whether s may be a header's name (RFC 9110: letters, digits and hyphens are what such names have).
func isHeader(s string) bool {
	return s != "" && strings.Trim(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-") == ""
}
