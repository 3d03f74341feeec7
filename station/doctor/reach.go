package doctor

import (
	"errors"
	"fmt"
	"go/version"
	"io/fs"
	"net"
	"net/netip"
	"os"
	"runtime"
	"strings"

	"sagitta/station/certificate"
)

// Reach is how the pages are to be reached, as serve is told.
type Reach struct {
	Listen      string            // host:port
	Certificate certificate.Files // given; the zero value: the station's own
}

// others says whether other machines reach an address.
func (r Reach) others() bool {
	host, _, err := net.SplitHostPort(r.Listen)
	ip, notDigits := netip.ParseAddr(host)
	return err == nil && host != "localhost" && (notDigits != nil || !ip.IsLoopback())
}

// signOn is whether people sign on, beside who reaches the pages.
func signOn(on bool, err error, r Reach) Finding {
	switch {
	case err != nil:
		return Finding{"Sign-on", Wrong, fmt.Sprintf("Whether people sign on cannot be told: %v.", err), ""}
	case !on && r.others():
		return Finding{"Sign-on", Wrong, fmt.Sprintf("Nobody signs on, and other machines would reach %s: serve refuses to start there.", r.Listen),
			"Have people sign on (page People, at this machine), or leave --listen out."}
	case !on:
		return Finding{"Sign-on", Well, "Nobody signs on: the pages are for this machine only.", ""}
	}
	return Finding{"Sign-on", Well, "People sign on.", ""}
}

// certificate is what browsers of other machines know the station by; nothing where it needs none.
func (m Machine) certificate(dir string, r Reach) []Finding {
	const part = "Certificate"
	files, given := r.Certificate, r.Certificate != certificate.Files{}
	if !given {
		files = certificate.Of(dir)
	}
	c, err := certificate.Load(files)
	switch {
	case !given && errors.Is(err, fs.ErrNotExist):
		return nil // it is made where it is needed
	case err != nil && given:
		return []Finding{{part, Wrong, fmt.Sprintf("%v.", err), "Give the files that belong together with --tls-cert and --tls-key."}}
	case err != nil:
		return []Finding{{part, Look, fmt.Sprintf("%v.", err), "Move both files away: the station makes others at its next start."}}
	}
	if info, err := os.Stat(files.Key); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return []Finding{{part, Wrong, fmt.Sprintf("Others on this computer may read the key %s (%s).", files.Key, info.Mode()), "chmod 600 " + files.Key + ", and make another one: this one may be known."}}
	}
	ends := c.Leaf.NotAfter.In(m.Zone).Format("2006-01-02")
	switch left := c.Leaf.NotAfter.Sub(m.Now()); {
	case left <= 0 && given:
		return []Finding{{part, Wrong, "It ended on " + ends + ": browsers refuse it.", "Renew the files; the station takes them while it runs."}}
	case left <= 0:
		return []Finding{{part, Look, "It ended on " + ends + ".", "The station makes another at its next start; browsers ask again whether to trust it, and its fingerprint is on the page About."}}
	case left < certificate.RenewBefore && given:
		return []Finding{{part, Look, "It ends on " + ends + ".", "Renew the files; the station takes them while it runs."}}
	}
	return []Finding{{part, Well, fmt.Sprintf("It ends on %s; its SHA-256 fingerprint is %s.", ends, certificate.Fingerprint(c.Leaf)), ""}}
}

// mendedGo is the release of Go whose library has no known vulnerability that this program calls: the one that go.mod names.
const mendedGo = "go1.26.10"

// program is what this program was built with.
func program(built string) Finding {
	release, _, _ := strings.Cut(built, " ")
	if version.Compare(release, mendedGo) < 0 {
		return Finding{"Program", Look, fmt.Sprintf("It was built with %s, which has vulnerabilities that %s has not.", release, mendedGo),
			"Build it with " + mendedGo + " or newer (GOTOOLCHAIN=auto fetches it), above all where other machines reach the pages."}
	}
	return Finding{"Program", Well, "It was built with " + release + ".", ""}
}
