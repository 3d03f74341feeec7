package anchor

import (
	"crypto/x509"
	"encoding/asn1"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
)

// authority is a time stamping authority of its own root, worked by OpenSSL: what stamps is none of this program's code.
type authority struct {
	*testing.T
	dir string
}

const authoritySetUp = `
[tsa]
default_tsa = it
[it]
serial = serial
crypto_device = builtin
signer_cert = stamper.pem
certs = root.pem
signer_key = stamper.key
signer_digest = sha256
default_policy = 1.2.3.4
digests = sha256
ess_cert_id_alg = sha256
[use]
basicConstraints = critical, CA:false
keyUsage = critical, digitalSignature
extendedKeyUsage = critical, timeStamping
`

func (a *authority) runs(args ...string) {
	a.Helper()
	cmd := exec.CommandContext(a.Context(), "openssl", args...)
	cmd.Dir = a.dir
	if out, err := cmd.CombinedOutput(); err != nil {
		a.Fatalf("openssl %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

func newAuthority(t *testing.T) *authority {
	if _, err := exec.LookPath("openssl"); err != nil {
		if os.Getenv("SAGITTA_BROWSER") == "required" {
			t.Fatal("openssl is not there: it stands in for a time stamping authority")
		}
		t.Skip("openssl is not there: it stands in for a time stamping authority")
	}
	a := &authority{t, t.TempDir()}
	a.write("set-up", authoritySetUp)
	a.runs("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "root.key", "-out", "root.pem", "-subj", "/CN=Quillmere root", "-days", "30")
	a.runs("req", "-newkey", "rsa:2048", "-nodes", "-keyout", "stamper.key", "-out", "stamper.csr", "-subj", "/CN=Quillmere clock")
	a.runs("x509", "-req", "-in", "stamper.csr", "-CA", "root.pem", "-CAkey", "root.key", "-set_serial", "2", "-days", "30", "-extfile", "set-up", "-extensions", "use", "-out", "stamper.pem")
	return a
}

func (a *authority) write(name, text string) {
	a.Helper()
	if err := os.WriteFile(filepath.Join(a.dir, name), []byte(text), 0o600); err != nil {
		a.Fatal(err)
	}
}

func (a *authority) read(name string) []byte {
	a.Helper()
	text, err := os.ReadFile(filepath.Join(a.dir, name))
	if err != nil {
		a.Fatal(err)
	}
	return text
}

// stamps has a checkpoint stamped.
func (a *authority) stamps(c Checkpoint) []byte {
	a.Helper()
	asked, err := c.StampRequest()
	if err != nil {
		a.Fatal(err)
	}
	a.write("asked.tsq", string(asked))
	a.runs("ts", "-reply", "-config", "set-up", "-section", "it", "-queryfile", "asked.tsq", "-out", "answer.tsr")
	return a.read("answer.tsr")
}

// TestStamped: OpenSSL's answer to the request is read, and is of that checkpoint alone.
func TestStamped(t *testing.T) {
	a := newAuthority(t)
	c := signed(t, key(t), 455)
	before := time.Now().Add(-time.Second)
	answer := a.stamps(c)
	roots, err := ReadRoots(a.read("root.pem"))
	if err != nil {
		t.Fatal(err)
	}
	for _, given := range []*x509.CertPool{nil, roots} {
		s, err := c.Stamped(answer, given)
		if err != nil {
			t.Fatal(err)
		}
		if s.At.Before(before.Truncate(time.Second)) || s.At.After(time.Now().Add(time.Second)) || s.Authority != "CN=Quillmere clock" || s.Trusted != (given != nil) || len(s.Certificate) != 64 {
			t.Errorf("stamp %+v", s)
		}
	}
	other := signed(t, key(t), 455)
	stranger, err := ReadRoots(newAuthority(t).read("root.pem"))
	if err != nil {
		t.Fatal(err)
	}
	damaged := []byte(strings.Replace(string(answer), "Quillmere clock", "Quillmere chime", 1))
	for name, refused := range map[string]struct {
		c      Checkpoint
		answer []byte
		roots  *x509.CertPool
		words  string
	}{
		"another checkpoint": {other, answer, nil, "of something else"},
		"another root":       {c, answer, stranger, "comes from none of the roots"},
		"damaged":            {c, answer[:len(answer)-9], nil, "no answer of a time stamping authority"},
		"altered":            {c, damaged, roots, ""},
		"no answer":          {c, []byte("busy"), nil, "no answer of a time stamping authority"},
	} {
		if _, err := refused.c.Stamped(refused.answer, refused.roots); batch.KindOf(err) != batch.Mendable || !strings.Contains(err.Error(), refused.words) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := ReadRoots([]byte("none")); batch.KindOf(err) != batch.Mendable {
		t.Errorf("no certificate: %v", err)
	}
}

// resigned is a stamp of somebody else's clock, signed by a certificate that may not stamp times, with the authority's own certificate put in.
func (a *authority) resigned(c Checkpoint) []byte {
	a.Helper()
	other := newAuthority(a.T)
	other.stamps(c)
	other.write("theirs.pem", string(a.read("stamper.pem")))
	other.runs("ts", "-reply", "-in", "answer.tsr", "-token_out", "-out", "token")
	other.runs("cms", "-verify", "-noverify", "-inform", "DER", "-in", "token", "-out", "info")
	other.runs("cms", "-sign", "-binary", "-nodetach", "-econtent_type", "1.2.840.113549.1.9.16.1.4", "-signer", "root.pem", "-inkey", "root.key", "-certfile", "theirs.pem",
		"-in", "info", "-outform", "DER", "-out", "token")
	answer, err := asn1.Marshal(struct {
		Status struct{ Status int }
		Token  asn1.RawValue
	}{Token: asn1.RawValue{FullBytes: other.read("token")}})
	if err != nil {
		a.Fatal(err)
	}
	return answer
}

// TestStampedByItself: an authority's certificate that lies in an answer says nothing where another key signed.
func TestStampedByItself(t *testing.T) {
	a := newAuthority(t)
	c := signed(t, key(t), 455)
	roots, err := ReadRoots(a.read("root.pem"))
	if err != nil {
		t.Fatal(err)
	}
	answer := a.resigned(c)
	for _, given := range []*x509.CertPool{nil, roots} {
		if s, err := c.Stamped(answer, given); batch.KindOf(err) != batch.Mendable || !strings.Contains(err.Error(), "may not stamp times") {
			t.Errorf("what another key signed is taken: %+v, %v", s, err)
		}
	}
}
