// Package signon proves who somebody is: passwords, PINs, badges, one-time codes, and the sessions of browsers.
//
// A record is in one of two modes: people sign on, or nobody does and the station is worked on its own machine only. Passwords and PINs are kept
// as argon2id says (RFC 9106), one-time codes and sessions by their SHA-256.
package signon

import (
	"context"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/alexedwards/scs/v2"

	"sagitta/batch"
	"sagitta/station/bench/scan"
)

// Record is what signing on asks of the station's record.
type Record interface {
	People(ctx context.Context) ([]batch.Person, error)
	PeopleSignOn(ctx context.Context) (bool, error)
	Secret(ctx context.Context, personID string, kind batch.SecretKind) (string, error)
	SecretsSince(ctx context.Context, personID string) (time.Time, error)
	SetSecret(ctx context.Context, name string, kind batch.SecretKind, hash string) error
	KeepShared(ctx context.Context, by string, p batch.Person, taken bool) error
	KeepUnknown(ctx context.Context, what batch.Unknown, times int, since time.Time) error
	KeepSignOn(ctx context.Context, p batch.Person, strength batch.Strength, good bool) error
	SignOnFailures(ctx context.Context, personID string, strength batch.Strength) (n int, last time.Time, err error)
	IssueCode(ctx context.Context, by, name, digest string, until time.Time) error
	Code(ctx context.Context, digest string) (batch.OneTimeCode, error)
	UseCode(ctx context.Context, digest, first string, hashes map[batch.SecretKind]string) (batch.Person, error)
}

// Store keeps sessions by their token's hash.
type Store interface {
	scs.Store
	scs.IterableStore
}

// Cost is what one hash costs: memory in KiB, passes over it.
type Cost = argon2id.Params

// Options are what the service works with.
type Options struct {
	Record   Record
	Sessions Store
	Shop     string           // its name is no password
	Now      func() time.Time // time.Now unless given
	Cost     *Cost            // 64 MiB and two passes unless given; tests give less
}

// At most so many hashes are computed at once, and so many wait for it.
const (
	hashesAtOnce  = 2
	hashesWaiting = 32
)

// Service proves who somebody is.
type Service struct {
	opt      Options
	cost     *Cost
	sessions *scs.SessionManager
	hashing  chan struct{}
	waiting  chan struct{}
	computed atomic.Int64  // hashes so far
	nobody   func() string // the hash that an unknown name is compared with, so that it costs the same time

	strangers strangers
	unknowns  unknowns

	mu     sync.Mutex
	turns  map[string]*turn // of people who are proving who they are just now
	shares map[shareKey]share
}

// turn lets one attempt after another on one person.
type turn struct {
	sync.Mutex
	waiting int
}

// New returns the service.
func New(opt Options) *Service {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	s := &Service{opt: opt, cost: opt.Cost, hashing: make(chan struct{}, hashesAtOnce), waiting: make(chan struct{}, hashesWaiting), turns: map[string]*turn{}, shares: map[shareKey]share{}}
	if s.cost == nil {
		s.cost = &Cost{Memory: 64 * 1024, Iterations: 2, Parallelism: 2, SaltLength: 16, KeyLength: 32}
	}
	s.nobody = sync.OnceValue(func() string {
		hash, err := argon2id.CreateHash("nobody has this password", s.cost)
		if err != nil {
			return ""
		}
		return hash
	})
	s.sessions = scs.New()
	s.sessions.Store, s.sessions.HashTokenInStore = opt.Sessions, true
	s.sessions.Lifetime = absoluteEnd // whether a session is idle is seen when it is read
	return s
}

// On says whether people sign on.
func (s *Service) On(ctx context.Context) (bool, error) { return s.opt.Record.PeopleSignOn(ctx) }

// errNotProven is the one answer to a name that is not known and to a secret that is wrong.
func errNotProven(kind batch.SecretKind) error {
	word := "password"
	if kind == batch.PIN {
		word = "PIN"
	}
	return batch.Unproven.Errorf("name and %s do not belong together; type them again, or have an administrator issue a one-time code", word)
}

// SignOn is who has this name and password. An error of kind Unproven says what is wrong or how long to wait.
func (s *Service) SignOn(ctx context.Context, name, password string) (batch.Person, error) {
	return s.prove(ctx, name, password, batch.Password)
}

// SignOnPIN is who has this name and PIN, at the bench. Errors as of SignOn.
func (s *Service) SignOnPIN(ctx context.Context, name, pin string) (batch.Person, error) {
	return s.prove(ctx, name, pin, batch.PIN)
}

// SignOnBadge is whose badge was scanned, at the bench. An error of kind Unproven: nobody's, or the context is not of WithScanner.
func (s *Service) SignOnBadge(ctx context.Context, code string) (batch.Person, error) {
	if here, _ := ctx.Value(scannerKey{}).(bool); !here {
		return batch.Person{}, batch.Unproven.Errorf("a badge is scanned at the bench; on another machine give your name with PIN or password")
	}
	all, err := s.opt.Record.People(ctx)
	if err != nil {
		return batch.Person{}, err
	}
	sent := scan.Of(code)
	for _, p := range all {
		if p.Badge != "" && sent.Is(p.Badge) && !p.Retired {
			return p, s.opt.Record.KeepSignOn(ctx, p, batch.AtBench, true)
		}
	}
	if err := s.unknown(ctx, batch.UnknownBadge); err != nil {
		return batch.Person{}, err
	}
	return batch.Person{}, batch.Unproven.Errorf("the badge %q is nobody's; scan it again, or give your name and PIN", sent.Text)
}

// Prove is the seal of who gives their password for one act, with the reason that they give. Errors as of SignOn.
func (s *Service) Prove(ctx context.Context, name, password, reason string) (batch.Seal, error) {
	p, err := s.prove(ctx, name, password, batch.Password)
	return batch.Seal{By: p.Name, Reason: reason}, err
}

// prove compares a secret with that of the person of a name, one attempt after another for each. A name that is not known costs the same and is
// answered and delayed the same.
func (s *Service) prove(ctx context.Context, name, given string, kind batch.SecretKind) (batch.Person, error) {
	all, err := s.opt.Record.People(ctx)
	if err != nil {
		return batch.Person{}, err
	}
	typed, err := batch.PersonName(name)
	if err != nil {
		typed = name
	}
	p, key := batch.Person{}, strangerKey(typed, kind)
	if i := slices.IndexFunc(all, func(p batch.Person) bool { return p.Name == typed && !p.Retired }); i >= 0 {
		p, key = all[i], all[i].ID+string(kind)
	}
	strength := batch.ByPassword
	if kind == batch.PIN {
		strength = batch.AtBench
	}
	leave, err := s.take(key)
	if err != nil {
		return batch.Person{}, err
	}
	defer leave()
	if err := s.delayed(ctx, p, key, strength); err != nil {
		return batch.Person{}, err
	}
	good, err := s.has(ctx, p, kind, given)
	if err != nil {
		return batch.Person{}, err
	}
	if p.ID == "" {
		s.strangers.failed(key, s.opt.Now())
		if err := s.unknown(ctx, batch.UnknownName); err != nil {
			return p, err
		}
		return p, errNotProven(kind)
	}
	if err := s.opt.Record.KeepSignOn(ctx, p, strength, good); err != nil {
		return batch.Person{}, err
	}
	if !good {
		return batch.Person{}, errNotProven(kind)
	}
	return p, nil
}

// has says whether a secret is a person's. It computes one hash, whoever it is: nobody, and somebody who has chosen none yet, too.
func (s *Service) has(ctx context.Context, p batch.Person, kind batch.SecretKind, given string) (bool, error) {
	hash := ""
	if p.ID != "" {
		var err error
		if hash, err = s.opt.Record.Secret(ctx, p.ID, kind); err != nil {
			return false, err
		}
	}
	chosen := hash != ""
	if !chosen {
		hash = s.nobody()
	}
	same, err := s.compare(ctx, given, hash)
	return same && chosen, err
}

// take waits until nobody else is trying the same person and returns what lets the next one try. An error of kind Unproven: too many wait.
func (s *Service) take(key string) (leave func(), err error) {
	s.mu.Lock()
	t := s.turns[key]
	if t == nil {
		t = &turn{}
		s.turns[key] = t
	}
	if t.waiting >= hashesWaiting {
		s.mu.Unlock()
		return nil, errBusy
	}
	t.waiting++
	s.mu.Unlock()
	t.Lock()
	return func() {
		t.Unlock()
		s.mu.Lock()
		defer s.mu.Unlock()
		if t.waiting--; t.waiting == 0 {
			delete(s.turns, key)
		}
	}, nil
}

// The first failures in a row cost nothing; each further one doubles the wait, up to five minutes. Nobody is ever locked out.
const (
	freeFailures = 2
	firstDelay   = 5 * time.Second
	longestDelay = 5 * time.Minute
)

// delayAfter is how long the next attempt waits after so many failures in a row.
func delayAfter(failures int) time.Duration {
	if failures <= freeFailures {
		return 0
	}
	delay := firstDelay
	for range failures - freeFailures - 1 {
		if delay *= 2; delay >= longestDelay {
			return longestDelay
		}
	}
	return delay
}

// delayed is of kind Unproven while the next attempt on a person, or on a name that is nobody's, has to wait.
func (s *Service) delayed(ctx context.Context, p batch.Person, key string, strength batch.Strength) error {
	n, last := s.strangers.failures(key)
	if p.ID != "" {
		var err error
		if n, last, err = s.opt.Record.SignOnFailures(ctx, p.ID, strength); err != nil {
			return err
		}
	}
	if wait := last.Add(delayAfter(n)).Sub(s.opt.Now()); n > freeFailures && wait > 0 {
		return batch.Unproven.Errorf("%d attempts in a row failed; the next one is taken in %d s", n, int(wait/time.Second)+1)
	}
	return nil
}
