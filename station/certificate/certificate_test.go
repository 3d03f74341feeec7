package certificate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// clock is a test's own.
type clock struct{ at time.Time }

func (c *clock) now() time.Time { return c.at }

func newClock() *clock { return &clock{time.Date(2026, 12, 1, 6, 0, 0, 0, time.UTC)} }

func own(t *testing.T, dir string, c *clock, names ...string) *Keeper {
	t.Helper()
	k, err := Own(dir, names, c.now)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestOwnCertificate(t *testing.T) {
	dir, c := t.TempDir(), newClock()
	k := own(t, dir, c, "bench-1", "192.0.2.7", "::1")
	leaf := k.Leaf()
	for _, name := range []string{"bench-1", "192.0.2.7", "[::1]"} {
		if err := leaf.VerifyHostname(name); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := leaf.VerifyHostname("bench-2"); err == nil {
		t.Error("it holds for another name")
	}
	if key, ok := leaf.PublicKey.(*ecdsa.PublicKey); !ok || key.Curve != elliptic.P256() || leaf.IsCA {
		t.Errorf("its key is a %T, it may sign others: %v", leaf.PublicKey, leaf.IsCA)
	}
	info, err := os.Stat(Of(dir).Key)
	if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("the key's file: %v, %v", info.Mode(), err)
	}
	sum := sha256.Sum256(leaf.Raw)
	if got := Fingerprint(leaf); strings.ToLower(strings.ReplaceAll(got, ":", "")) != hex.EncodeToString(sum[:]) || len(got) != 95 {
		t.Errorf("fingerprint %s", got)
	}
	if again := own(t, dir, c, "192.0.2.7", "bench-1"); !again.Leaf().Equal(leaf) {
		t.Error("a second start made another")
	}
}

// TestOwnCertificateIsRenewed runs over a year, in one run of the station and over starts.
func TestOwnCertificateIsRenewed(t *testing.T) {
	dir, c := t.TempDir(), newClock()
	k := own(t, dir, c, "bench-1")
	first := k.Leaf()
	c.at = first.NotAfter.Add(-RenewBefore - time.Hour)
	if !k.Leaf().Equal(first) {
		t.Fatal("it was renewed too early")
	}
	c.at = first.NotAfter.Add(-RenewBefore + time.Hour)
	second := k.Leaf()
	if second.Equal(first) || !second.NotAfter.After(first.NotAfter) || !second.PublicKey.(*ecdsa.PublicKey).Equal(first.PublicKey) {
		t.Errorf("%v after one that ends %v", second.NotAfter, first.NotAfter)
	}
	c.at = second.NotAfter.Add(time.Hour)
	if third := own(t, dir, c, "bench-1").Leaf(); !third.NotAfter.After(c.at) {
		t.Errorf("a start after its end took %v", third.NotAfter)
	}
	c.at = first.NotBefore.Add(-time.Hour) // the clock was set back
	if k.Leaf().NotBefore.After(c.at) {
		t.Error("it has not begun yet")
	}
	if wider := own(t, dir, c, "bench-1", "192.0.2.9").Leaf(); wider.VerifyHostname("192.0.2.9") != nil {
		t.Error("it lacks the machine's new address")
	}
}

func TestDamagedOwnCertificate(t *testing.T) {
	dir, c := t.TempDir(), newClock()
	own(t, dir, c, "bench-1")
	spoil := func(path string) {
		if err := os.WriteFile(path, []byte("-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	spoil(Of(dir).Certificate)
	if err := own(t, dir, c, "bench-1").Leaf().VerifyHostname("bench-1"); err != nil {
		t.Errorf("made anew: %v", err)
	}
	spoil(Of(dir).Key)
	if _, err := Own(dir, []string{"bench-1"}, c.now); err == nil || !strings.Contains(err.Error(), Of(dir).Key) || !strings.Contains(err.Error(), "move it away") {
		t.Errorf("a spoilt key: %v", err)
	}
}

// TestGivenCertificate: files that do not fit are refused with their names; what somebody renews is taken while the station runs, and half a renewal is not.
func TestGivenCertificate(t *testing.T) {
	dir, other, c := t.TempDir(), t.TempDir(), newClock()
	first := own(t, dir, c, "bench-1").Leaf()
	own(t, other, c, "bench-1")
	for _, f := range []Files{{Of(dir).Certificate, Of(other).Key}, {filepath.Join(dir, "none.pem"), Of(dir).Key}, {Of(dir).Certificate, dir}} {
		if _, err := Given(f, c.now); err == nil || !strings.Contains(err.Error(), f.Certificate) && !strings.Contains(err.Error(), f.Key) {
			t.Errorf("%v: %v", f, err)
		}
	}
	k, err := Given(Of(dir), c.now)
	if err != nil {
		t.Fatal(err)
	}
	replace := func(to, from string) {
		text, err := os.ReadFile(from)
		if err == nil {
			err = os.WriteFile(to, text, 0o600)
		}
		if err == nil {
			c.at = c.at.Add(2 * lookEvery)
			err = os.Chtimes(to, c.at, c.at)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	replace(Of(dir).Certificate, Of(other).Certificate)
	if !k.Leaf().Equal(first) {
		t.Error("a certificate was taken without its key")
	}
	replace(Of(dir).Key, Of(other).Key)
	if k.Leaf().Equal(first) {
		t.Error("what was renewed is not taken")
	}
	c.at = k.Leaf().NotAfter.Add(time.Hour)
	if k.Leaf() == nil {
		t.Error("a given certificate is not the station's to renew")
	}
}

func FuzzParse(f *testing.F) {
	dir := f.TempDir()
	if _, err := Own(dir, []string{"bench-1"}, time.Now); err != nil {
		f.Fatal(err)
	}
	cert, err := os.ReadFile(Of(dir).Certificate)
	if err != nil {
		f.Fatal(err)
	}
	key, err := os.ReadFile(Of(dir).Key)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(cert, key)
	f.Add(key, cert)
	f.Add(append(cert, cert...), key)
	f.Fuzz(func(t *testing.T, cert, key []byte) {
		if c, err := parse(cert, key); err == nil && (c.Leaf == nil || len(Fingerprint(c.Leaf)) != 95) {
			t.Errorf("taken without a certificate: %v", c.Leaf)
		}
	})
}
