// Package certificate is what the pages show to other machines' browsers to prove which station they talk to (X.509): the station's own
// certificate, kept beside its record, or one that is given as files.
package certificate

import (
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// The station's own certificate.
const (
	lasts       = 397 * 24 * time.Hour // longer ones are refused by some browsers
	RenewBefore = 30 * 24 * time.Hour  // before its end it is made anew
	backdated   = 24 * time.Hour       // a telephone's clock may be behind
)

// lookEvery is how often the files are looked at while the station runs: a given certificate is replaced by its files.
const lookEvery = time.Minute

// Files are a certificate's, in PEM. Those of Of(dir) are the station's own.
type Files struct{ Certificate, Key string }

// Of are the files of the own certificate of the station whose record lies in dir.
func Of(dir string) Files {
	return Files{filepath.Join(dir, "tls-certificate.pem"), filepath.Join(dir, "tls-key.pem")}
}

// Keeper hands out the certificate of the day.
type Keeper struct {
	files Files
	names []string // of the station's own certificate: host names and addresses; nil for given files
	now   func() time.Time

	mu      sync.Mutex
	looked  time.Time
	read    time.Time // when the certificate's file was last changed, as it was read
	current *tls.Certificate
}

// Given keeps a certificate of which somebody else renews the files.
func Given(files Files, now func() time.Time) (*Keeper, error) { return open(files, nil, now) }

// Own keeps the station's own certificate for the names and addresses by which it is reached, made where there is none that holds for them.
func Own(dir string, names []string, now func() time.Time) (*Keeper, error) {
	names = slices.Compact(slices.Sorted(slices.Values(names)))
	return open(Of(dir), names, now)
}

func open(files Files, names []string, now func() time.Time) (*Keeper, error) {
	k := &Keeper{files: files, names: names, now: now}
	if err := k.look(); err != nil {
		return nil, err
	}
	return k, nil
}

// ForConnection is tls.Config.GetCertificate.
func (k *Keeper) ForConnection(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.now().Sub(k.looked).Abs() >= lookEvery {
		if err := k.look(); err != nil { // the one in use goes on
			slog.Warn("the certificate could not be renewed", "error", err)
		}
	}
	return k.current, nil
}

// Leaf is the certificate of the day.
func (k *Keeper) Leaf() *x509.Certificate {
	current, _ := k.ForConnection(nil)
	return current.Leaf
}

// look reads the files where they have changed, and makes the station's own anew where that must be.
func (k *Keeper) look() error {
	k.looked = k.now()
	info, err := os.Stat(k.files.Certificate)
	switch {
	case err == nil && k.current != nil && info.ModTime().Equal(k.read) && !k.mustBeMade(k.current.Leaf):
		return nil
	case err == nil:
		var c tls.Certificate
		if c, err = Load(k.files); err == nil && !k.mustBeMade(c.Leaf) {
			k.current, k.read = &c, info.ModTime()
			return nil
		}
	}
	if k.names == nil {
		return err
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		slog.Warn("the station's certificate is made anew", "why", err)
	}
	c, err := k.make()
	if err != nil {
		return err
	}
	if k.current != nil {
		slog.Info("the station's certificate was made anew", "fingerprint", Fingerprint(c.Leaf), "ends", c.Leaf.NotAfter)
	}
	k.current = &c
	if info, err = os.Stat(k.files.Certificate); err == nil {
		k.read = info.ModTime()
	}
	return err
}

// mustBeMade says whether the station's own certificate no longer serves: it ends soon, has not begun (the clock was set), or lacks a name.
func (k *Keeper) mustBeMade(leaf *x509.Certificate) bool {
	if k.names == nil {
		return false
	}
	now := k.now()
	return now.After(leaf.NotAfter.Add(-RenewBefore)) || now.Before(leaf.NotBefore) || slices.ContainsFunc(k.names, func(name string) bool { return leaf.VerifyHostname(name) != nil })
}

// largestFile is what a file of certificates or a key may hold.
const largestFile = 1 << 20

// Load reads a certificate and its key. Errors name the file.
func Load(files Files) (tls.Certificate, error) {
	cert, err := readFile(files.Certificate)
	if err != nil {
		return tls.Certificate{}, err
	}
	key, err := readFile(files.Key)
	if err != nil {
		return tls.Certificate{}, err
	}
	c, err := parse(cert, key)
	if err != nil {
		return c, fmt.Errorf("the certificate %s and the key %s cannot be used (expected PEM, the certificate first in its file, and its own key without a password): %w", files.Certificate, files.Key, err)
	}
	return c, nil
}

// parse makes a certificate of PEM texts.
func parse(cert, key []byte) (tls.Certificate, error) {
	c, err := tls.X509KeyPair(cert, key)
	if err != nil {
		return c, err
	}
	if c.Leaf == nil {
		c.Leaf, err = x509.ParseCertificate(c.Certificate[0])
	}
	return c, err
}

func readFile(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, fmt.Errorf("the certificate's file cannot be read: %w", err)
	case !info.Mode().IsRegular() || info.Size() > largestFile:
		return nil, fmt.Errorf("%s is no file of a certificate or key: expected PEM of at most %d kB", path, largestFile>>10)
	}
	return os.ReadFile(path)
}

// Fingerprint is the SHA-256 of a certificate as browsers show it: pairs of capital digits.
func Fingerprint(leaf *x509.Certificate) string {
	sum := sha256.Sum256(leaf.Raw)
	return strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":")
}
