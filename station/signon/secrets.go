package signon

import (
	"context"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"github.com/trustelem/zxcvbn"
	"golang.org/x/text/unicode/norm"

	"sagitta/batch"
)

// Lengths of a password in characters, and of a PIN in digits.
const (
	shortestPassword = 12
	longestPassword  = 128
	PINDigits        = 6
	leastScore       = 3 // of 4, by zxcvbn: some 10^8 guesses
)

// errBusy says that more people are signing on than the machine computes for.
var errBusy = batch.Unproven.Errorf("too many people are signing on at once; try again in a moment")

// hashed runs fn while at most hashesAtOnce do.
func (s *Service) hashed(ctx context.Context, fn func() error) error {
	select {
	case s.waiting <- struct{}{}:
		defer func() { <-s.waiting }()
	default:
		return errBusy
	}
	select {
	case s.hashing <- struct{}{}:
		defer func() { <-s.hashing }()
	case <-ctx.Done():
		return ctx.Err()
	}
	s.computed.Add(1)
	return fn()
}

// compare says whether a secret is the one that was hashed.
func (s *Service) compare(ctx context.Context, given, hash string) (same bool, err error) {
	if len(given) > 4*longestPassword {
		given = ""
	}
	err = s.hashed(ctx, func() error {
		same, err = argon2id.ComparePasswordAndHash(norm.NFC.String(given), hash)
		return err
	})
	return same, err
}

// hash is a secret as it is kept.
func (s *Service) hash(ctx context.Context, secret string) (hash string, err error) {
	err = s.hashed(ctx, func() error {
		hash, err = argon2id.CreateHash(norm.NFC.String(secret), s.cost)
		return err
	})
	return hash, err
}

// CheckPassword says what is wrong with a password for somebody; an error of kind Mendable.
func (s *Service) CheckPassword(name, password string) error {
	n := utf8.RuneCountInString(password)
	switch {
	case !utf8.ValidString(password):
		return batch.Mendable.Errorf("the password holds bytes that are no text (UTF-8)")
	case n < shortestPassword || n > longestPassword:
		return batch.Mendable.Errorf("the password has %d characters; %d to %d are allowed", n, shortestPassword, longestPassword)
	}
	words := strings.Fields(strings.ToLower(name + " " + s.opt.Shop + " sagitta"))
	own := strings.ToLower(password)
	for _, w := range words {
		own = strings.ReplaceAll(own, w, "")
	}
	if utf8.RuneCountInString(strings.ReplaceAll(own, " ", "")) < shortestPassword/2 || zxcvbn.PasswordStrength(password, words).Score < leastScore {
		return batch.Mendable.Errorf("the password is guessed too soon: take four or five words that do not belong together, without your name")
	}
	return nil
}

// CheckPIN says what is wrong with a PIN; an error of kind Mendable.
func CheckPIN(pin string) error {
	if len(pin) != PINDigits || strings.Trim(pin, "0123456789") != "" {
		return batch.Mendable.Errorf("a PIN has %d digits", PINDigits)
	}
	same, up, down := true, true, true
	for i := 1; i < len(pin); i++ {
		step := int(pin[i]) - int(pin[i-1])
		same, up, down = same && step == 0, up && (step == 1 || step == -9), down && (step == -1 || step == 9)
	}
	if same || up || down || pin[:2] == pin[2:4] && pin[2:4] == pin[4:] || pin[:3] == pin[3:] {
		return batch.Mendable.Errorf("the PIN %s is guessed first: take digits that neither repeat nor count", pin)
	}
	return nil
}

// ChangePassword gives somebody a new password of their own against their old one. Errors: those of SignOn and CheckPassword.
func (s *Service) ChangePassword(ctx context.Context, name, old, password string) error {
	p, err := s.SignOn(ctx, name, old)
	if err != nil {
		return err
	}
	if err := s.CheckPassword(p.Name, password); err != nil {
		return err
	}
	return s.set(ctx, p.Name, batch.Password, password)
}

// ChangePIN gives somebody a new PIN of their own against their password. Errors: those of SignOn and CheckPIN.
func (s *Service) ChangePIN(ctx context.Context, name, password, pin string) error {
	p, err := s.SignOn(ctx, name, password)
	if err != nil {
		return err
	}
	if err := CheckPIN(pin); err != nil {
		return err
	}
	return s.set(ctx, p.Name, batch.PIN, pin)
}

func (s *Service) set(ctx context.Context, name string, kind batch.SecretKind, secret string) error {
	hash, err := s.hash(ctx, secret)
	if err != nil {
		return err
	}
	return s.opt.Record.SetSecret(ctx, name, kind, hash)
}

// PasswordRule and PINRule say beforehand what CheckPassword and CheckPIN take.
var (
	PasswordRule = fmt.Sprintf("%d to %d characters of any kind: four or five words that do not belong together, without your name", shortestPassword, longestPassword)
	PINRule      = fmt.Sprintf("%d digits that neither repeat nor count", PINDigits)
)
