package anchor

import "slices"

// Beside is a checkpoint beside a record: what it shows of it.
type Beside struct {
	Checkpoint
	Signed  Signature
	Entries int64 // that the record has now
	Short   bool  // fewer than the checkpoint had
	Other   bool  // as many or more, and the first are not those of then
	Unkept  bool  // the record does not hold this checkpoint itself any more
}

// Signature is what a checkpoint's signature shows.
type Signature int

// What a signature shows.
const (
	BadSignature Signature = iota // it was altered, or nobody's key made it
	OtherKey                      // it is valid, by a key that is not the one given, or that the record's trail does not name
	KnownKey                      // it is by the key that was given, or by one that the record's trail names
)

// SignedBy says what the signature shows, where it should be by one of some keys.
func (c *Checkpoint) SignedBy(keys []string) Signature {
	switch {
	case c.Key == "" && slices.ContainsFunc(keys, func(key string) bool { return c.Verify(key) == nil }):
		return KnownKey // somebody else's additions are not asked for
	case c.Key == "" || c.Verify(c.Key) != nil:
		return BadSignature
	case slices.Contains(keys, c.Key):
		return KnownKey
	}
	return OtherKey
}

// Holds says that all which was recorded up to the checkpoint is there unchanged, and that a station signed it.
func (b *Beside) Holds() bool { return b.Signed == KnownKey && !b.Short && !b.Other }
