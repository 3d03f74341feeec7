package batch

import (
	"context"
	"time"
)

// Signature is a person's own word for one act: who, when, what it means, why, and the SHA-256 in hex of what was signed.
type Signature struct {
	ID      string
	At      time.Time
	By      string // the person's name
	Meaning Right
	Reason  string
	About   string // what was signed, as the trail names it: a batch's number, a serial number, a gauge's name
	Digest  string
	Second  bool // the approval of a second person, where the specification asks for two
}

// Seal is a person's word as it is carried to the act that it is for: their password was just proven. The act's transaction keeps it as a
// Signature, and refuses where the person may not.
type Seal struct {
	By     string
	Reason string
}

type sealed struct{}

// WithSeals returns a context that carries the seals of an act: of the person who does it, and where two have to, of the second.
func WithSeals(ctx context.Context, seals ...Seal) context.Context {
	return context.WithValue(ctx, sealed{}, seals)
}

// SealsIn returns the seals that a context carries, in the order they were given.
func SealsIn(ctx context.Context) []Seal {
	seals, _ := ctx.Value(sealed{}).([]Seal)
	return seals
}

type unsealed struct{}

// WithoutSeal returns a context that says why somebody's word for an act was not taken: the act's refusal says it too.
func WithoutSeal(ctx context.Context, why error) context.Context {
	return context.WithValue(ctx, unsealed{}, why)
}

// WhyUnsealed is why a context carries no seal though somebody gave their word, nil where nobody did.
func WhyUnsealed(ctx context.Context) error {
	err, _ := ctx.Value(unsealed{}).(error)
	return err
}
