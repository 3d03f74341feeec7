package anchor

import (
	"bytes"
	"crypto"
	"crypto/sha256"
	"crypto/x509"
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"github.com/digitorus/pkcs7"
	"github.com/digitorus/timestamp"

	"sagitta/batch"
)

// Stamp is an authority's word, by RFC 3161, that it had a checkpoint at a time.
type Stamp struct {
	At          time.Time
	Authority   string // as its certificate names it
	Certificate string // SHA-256 of the certificate, hex
	Trusted     bool   // its certificate comes from a root that was given
}

// StampRequest is the request (RFC 3161, section 2.4.1) that asks an authority for a time stamp of the checkpoint's note: of its SHA-256, nothing
// else of it leaves.
func (c *Checkpoint) StampRequest() ([]byte, error) {
	return timestamp.CreateRequest(strings.NewReader(c.Note), &timestamp.RequestOptions{Hash: crypto.SHA256, Certificates: true})
}

// Stamped reads an authority's answer (RFC 3161, section 2.4.2) to a StampRequest of the checkpoint. The error is Mendable: the answer is none, its
// signature does not hold, it is of something else, or the certificate does not come from one of the roots where they are not nil.
func (c *Checkpoint) Stamped(answer []byte, roots *x509.CertPool) (Stamp, error) {
	t, err := timestamp.ParseResponse(answer)
	if err != nil {
		return Stamp{}, batch.Mendable.Errorf("this is no answer of a time stamping authority, or its signature does not hold: %v", err)
	}
	sum := sha256.Sum256([]byte(c.Note))
	if t.HashAlgorithm != crypto.SHA256 || !bytes.Equal(t.HashedMessage, sum[:]) {
		return Stamp{}, batch.Mendable.Errorf("the time stamp is of something else than this checkpoint")
	}
	signer, err := stamper(t.RawToken)
	if err != nil {
		return Stamp{}, err
	}
	s := Stamp{At: t.Time.UTC(), Authority: signer.Subject.String(), Certificate: hex.EncodeToString(sumOf(signer.Raw)), Trusted: roots != nil}
	if roots == nil {
		return s, nil
	}
	between := x509.NewCertPool()
	for _, other := range t.Certificates {
		between.AddCert(other)
	}
	if _, err := signer.Verify(x509.VerifyOptions{Roots: roots, Intermediates: between, CurrentTime: t.Time, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}}); err != nil {
		return Stamp{}, batch.Mendable.Errorf("the certificate of %s comes from none of the roots that were given: %v", s.Authority, err)
	}
	return s, nil
}

// stamper is the certificate of the key that signed a token, whose signature holds; others that lie in the token say nothing of who signed. The error is
// Mendable: the token has none of it, or more than one signature, or the certificate may not stamp times.
func stamper(token []byte) (*x509.Certificate, error) {
	signed, err := pkcs7.Parse(token)
	if err != nil {
		return nil, batch.Mendable.Errorf("this is no answer of a time stamping authority: %v", err)
	}
	c := signed.GetOnlySigner()
	switch {
	case c == nil:
		return nil, batch.Mendable.Errorf("the time stamp holds no certificate of the one who signed it: nobody can be asked whose it is")
	case !slices.Contains(c.ExtKeyUsage, x509.ExtKeyUsageTimeStamping):
		return nil, batch.Mendable.Errorf("the time stamp is signed by %s, whose certificate may not stamp times: expected is one of a time stamping authority", c.Subject)
	}
	return c, nil
}

func sumOf(b []byte) []byte {
	sum := sha256.Sum256(b)
	return sum[:]
}

// ReadRoots reads root certificates in PEM. The error says that there is none.
func ReadRoots(pem []byte) (*x509.CertPool, error) {
	roots := x509.NewCertPool()
	if !roots.AppendCertsFromPEM(pem) {
		return nil, batch.Mendable.Errorf("there is no certificate in PEM in it: expected is a block that begins with -----BEGIN CERTIFICATE-----")
	}
	return roots, nil
}
