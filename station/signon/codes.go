package signon

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"strings"
	"time"

	"sagitta/batch"
)

// codeLasts is how long a one-time code may be used.
const codeLasts = 24 * time.Hour

// codeLetters are those of RFC 4648's base 32: no 0, 1 or 8, so none is taken for a letter.
var codeLetters = base32.StdEncoding.WithPadding(base32.NoPadding)

// newCode is a one-time code of 100 random bits, in groups of five letters and digits.
func newCode() string {
	random := make([]byte, 13)
	_, _ = rand.Read(random) // never fails
	text := codeLetters.EncodeToString(random)[:20]
	return text[:5] + "-" + text[5:10] + "-" + text[10:15] + "-" + text[15:]
}

// codeDigest is the SHA-256 in hex of a code, however it was typed.
func codeDigest(code string) string {
	plain := strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, strings.ToUpper(strings.TrimSpace(code)))
	sum := sha256.Sum256([]byte(plain))
	return hex.EncodeToString(sum[:])
}

// IssueCode returns a new one-time code for somebody, and its end; "" is the first administrator. by is an administrator whose seal the context
// carries, or batch.AtTheMachine. Errors: those of the record's IssueCode.
func (s *Service) IssueCode(ctx context.Context, by, name string) (code string, until time.Time, err error) {
	code, until = newCode(), s.opt.Now().Add(codeLasts)
	return code, until, s.opt.Record.IssueCode(ctx, by, name, codeDigest(code), until)
}

// Code returns whom a one-time code is for. An error of kind Unproven: it cannot be used.
func (s *Service) Code(ctx context.Context, code string) (batch.OneTimeCode, error) {
	c, err := s.opt.Record.Code(ctx, codeDigest(code))
	if batch.KindOf(err) == batch.Unproven {
		if err := s.unknown(ctx, batch.UnknownCode); err != nil {
			return c, err
		}
	}
	return c, err
}

// UseCode takes a one-time code with the password and the PIN ("" for none) that its person chose, and returns the person; name is the first administrator's own.
// Errors: those of Code, CheckPassword, CheckPIN, and of the record's UseCode.
func (s *Service) UseCode(ctx context.Context, code, name, password, pin string) (batch.Person, error) {
	c, err := s.Code(ctx, code)
	if err != nil {
		return batch.Person{}, err
	}
	if c.Person != "" {
		name = c.Person
	}
	err = s.CheckPassword(name, password)
	if pin != "" {
		err = errors.Join(err, CheckPIN(pin))
	}
	if err != nil {
		return batch.Person{}, err
	}
	hashes := map[batch.SecretKind]string{}
	if hashes[batch.Password], err = s.hash(ctx, password); err != nil {
		return batch.Person{}, err
	}
	if pin != "" {
		if hashes[batch.PIN], err = s.hash(ctx, pin); err != nil {
			return batch.Person{}, err
		}
	}
	return s.opt.Record.UseCode(ctx, codeDigest(code), name, hashes)
}
