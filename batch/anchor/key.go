package anchor

import (
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"regexp"
	"strings"

	"golang.org/x/mod/sumdb/note"

	"sagitta/batch"
)

// Key signs checkpoints.
type Key struct {
	Public string // NAME+HASH+KEY, as note.NewVerifier takes it
	signer note.Signer
}

// mostName is how much of a station's name a key has: its lines stay short enough for small print.
const mostName = 24

// NewKey makes a key of Ed25519 for a station, as the text that ReadKey takes.
func NewKey(station string) (string, error) {
	name := []rune(strings.Trim(regexp.MustCompile(`[^\pL\pN._]+`).ReplaceAllString(station, "-"), "-"))
	private, _, err := note.GenerateKey(rand.Reader, "station/"+string(name[:min(len(name), mostName)]))
	return private, err
}

// ReadKey reads a private key: PRIVATE+KEY+NAME+HASH+SEED, as note.NewSigner takes it. batch.Mendable where it is none; the error does
// not show it.
func ReadKey(private string) (*Key, error) {
	private = strings.TrimSpace(private)
	signer, err := note.NewSigner(private)
	if err != nil {
		return nil, batch.Mendable.Errorf("this is no key: expected is a line that begins with PRIVATE+KEY+")
	}
	parts := strings.SplitN(private, "+", 5)
	seed, err := base64.StdEncoding.DecodeString(parts[len(parts)-1])
	if err != nil || len(seed) != 1+ed25519.SeedSize {
		return nil, batch.Mendable.Errorf("this is no key of Ed25519: its seed is not 32 bytes")
	}
	public, err := note.NewEd25519VerifierKey(signer.Name(), ed25519.NewKeyFromSeed(seed[1:]).Public().(ed25519.PublicKey))
	return &Key{Public: public, signer: signer}, err
}
