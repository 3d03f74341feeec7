package command

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
)

// stampedAt answers a request as an authority of the name given would; it returns the answer and the authority's root in PEM.
func stampedAt(t *testing.T, request []byte, name string, at time.Time) (answer, root []byte) {
	t.Helper()
	asked, err := timestamp.ParseRequest(request)
	if err != nil {
		t.Fatal(err)
	}
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	form := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: name}, NotBefore: at.AddDate(-1, 0, 0), NotAfter: at.AddDate(1, 0, 0),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}}
	der, err := x509.CreateCertificate(rand.Reader, form, form, private.Public(), private)
	if err != nil {
		t.Fatal(err)
	}
	certificate, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	stamp := timestamp.Timestamp{HashAlgorithm: crypto.SHA256, HashedMessage: asked.HashedMessage, Time: at, Policy: asn1.ObjectIdentifier{1, 2, 3}, SerialNumber: big.NewInt(7),
		Certificates: []*x509.Certificate{certificate}, AddTSACertificate: true}
	if answer, err = stamp.CreateResponseWithOpts(certificate, private, crypto.SHA256); err != nil {
		t.Fatal(err)
	}
	return answer, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

// TestCheckpointLeaves: the newest checkpoint is printed and written, a time stamp is asked for it, and verify says when an authority had it.
func TestCheckpointLeaves(t *testing.T) {
	s := &signedStation{t, t.TempDir()}
	code, _, _ := sagitta(t, "", "checkpoint", "--data", s.dir)
	if code == exitDone {
		t.Error("a station without a record has a checkpoint")
	}
	newest := s.adds("Ada Wynn")[0]
	code, out, errs := sagitta(t, "", "checkpoint", "--data", s.dir)
	if code != exitDone || out != newest.Note {
		t.Errorf("%d, printed %q, %s", code, out, errs)
	}
	folder := t.TempDir()
	kept, request, stamp := filepath.Join(folder, "december.txt"), filepath.Join(folder, "december.tsq"), filepath.Join(folder, "december.tsr")
	if code, _, errs := sagitta(t, "", "checkpoint", "--data", s.dir, "-o", kept, "--request", request); code != exitDone {
		t.Fatal(errs)
	}
	asked, err := os.ReadFile(request)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(newest.Note))
	if r, err := timestamp.ParseRequest(asked); err != nil || string(r.HashedMessage) != string(sum[:]) || !r.Certificates {
		t.Errorf("the request: %+v, %v", r, err)
	}
	at := time.Date(2026, 12, 1, 12, 30, 0, 0, time.UTC)
	answer, root := stampedAt(t, asked, "Quillmere clock", at)
	_, stranger := stampedAt(t, asked, "another clock", at)
	write := func(name string, text []byte) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	write("december.tsr", answer)
	for _, c := range []struct {
		roots string
		code  int
		words []string
	}{
		{"", exitDone, []string{stamp + ": the authority CN=Quillmere clock says that it had this checkpoint at 2026-12-01 12:30:00 UTC. Whether it is who it says was not checked"}},
		{write("root.pem", root), exitDone, []string{"at 2026-12-01 12:30:00 UTC; its certificate comes from a root that you gave."}},
		{write("stranger.pem", stranger), exitFailed, []string{"the time stamp in " + stamp, "comes from none of the roots that were given"}},
		{write("none.pem", []byte("x")), exitFailed, []string{"there is no certificate in PEM in it"}},
	} {
		args := []string{"verify", "--data", s.dir, "--against", kept}
		if c.roots != "" {
			args = append(args, "--stamp-roots", c.roots)
		}
		code, out, errs := sagitta(t, "", args...)
		if (code == exitDone) != (c.code == exitDone) {
			t.Errorf("%s ends with %d: %s%s", c.roots, code, out, errs)
		}
		for _, w := range c.words {
			if !strings.Contains(out+errs, w) {
				t.Errorf("%s does not say %q:\n%s%s", c.roots, w, out, errs)
			}
		}
	}
	write("december.tsr", []byte("busy"))
	if code, out, errs := sagitta(t, "", "verify", "--data", s.dir, "--against", kept); code == exitDone || !strings.Contains(errs, "no answer of a time stamping authority") {
		t.Errorf("%d: %s%s", code, out, errs)
	}
}
