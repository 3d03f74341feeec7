package signon

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"maps"
	"net/http"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
)

// A way in for one device, such as a telephone at the bench, is an address with a token that is made for one person, taken once, and kept in
// memory alone: it ends with the program.
const (
	shareLasts = 15 * time.Minute
	mostShares = 20 // that nobody has taken yet, of all people together
)

// share is a way in that nobody has taken yet.
type share struct {
	personID string
	until    time.Time
}

// shareKey is what a way in is kept under: the token's SHA-256.
type shareKey [sha256.Size]byte

// Share makes a way in for one device of somebody and returns its token and until when it may be taken. by is that person, or batch.AtTheMachine.
// Errors: of kind Absent where nobody on file has the name; of kind Conflict while nobody signs on, and where too many wait to be taken.
func (s *Service) Share(ctx context.Context, by, name string) (token string, until time.Time, err error) {
	on, err := s.On(ctx)
	if err != nil {
		return "", until, err
	}
	if !on {
		return "", until, batch.Conflict.Errorf("nobody signs on in this record, so no device can be signed on: turn signing on on first (page People)")
	}
	all, err := s.opt.Record.People(ctx)
	if err != nil {
		return "", until, err
	}
	i := slices.IndexFunc(all, func(p batch.Person) bool { return p.Name == strings.TrimSpace(name) && !p.Retired })
	if i < 0 {
		return "", until, batch.Absent.Errorf("nobody on file is called %q: give the name as it stands on the page People", name)
	}
	token, until = rand.Text(), s.opt.Now().Add(shareLasts)
	key := shareKey(sha256.Sum256([]byte(token)))
	if err := s.keepShare(key, share{all[i].ID, until}); err != nil {
		return "", until, err
	}
	if err := s.opt.Record.KeepShared(ctx, by, all[i], false); err != nil {
		s.takeShare(key)
		return "", until, err
	}
	return token, until, nil
}

func (s *Service) keepShare(key shareKey, made share) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	maps.DeleteFunc(s.shares, func(_ shareKey, of share) bool { return !s.opt.Now().Before(of.until) })
	if len(s.shares) >= mostShares {
		return batch.Conflict.Errorf("%d devices wait to be signed on already: take one of them in, or wait %d minutes", len(s.shares), int(shareLasts/time.Minute))
	}
	s.shares[key] = made
	return nil
}

// takeShare takes a way in away and returns it.
func (s *Service) takeShare(key shareKey) share {
	s.mu.Lock()
	defer s.mu.Unlock()
	of := s.shares[key]
	delete(s.shares, key)
	return of
}

// Shared is whose device a token lets in. An error of kind Absent: it was taken, has ended, or never was.
func (s *Service) Shared(ctx context.Context, token string) (batch.Person, error) {
	s.mu.Lock()
	of := s.shares[sha256.Sum256([]byte(token))]
	s.mu.Unlock()
	return s.ofShare(ctx, of)
}

func (s *Service) ofShare(ctx context.Context, of share) (batch.Person, error) {
	all, err := s.opt.Record.People(ctx)
	if err != nil {
		return batch.Person{}, err
	}
	i := slices.IndexFunc(all, func(p batch.Person) bool { return p.ID == of.personID && !p.Retired })
	if i < 0 || !s.opt.Now().Before(of.until) {
		return batch.Person{}, batch.Absent.Errorf("this way in was taken already or has ended: have another made, and take it within %d minutes", int(shareLasts/time.Minute))
	}
	return all[i], nil
}

// BeginShared takes a token and gives the request's browser a session of its person in the strength of the bench, which does not end by being idle, but at ends and
// at the latest as every session does. Errors: those of Shared.
func (s *Service) BeginShared(w http.ResponseWriter, r *http.Request, token string, ends time.Time) (batch.Person, error) {
	key := shareKey(sha256.Sum256([]byte(token)))
	of := s.takeShare(key)
	p, err := s.ofShare(r.Context(), of)
	if err != nil {
		return batch.Person{}, err
	}
	if err := s.opt.Record.KeepShared(r.Context(), p.Name, p, true); err != nil {
		return batch.Person{}, errors.Join(err, s.keepShare(key, of)) // nobody was let in
	}
	return p, s.begin(w, r, p, batch.AtBench, s.Ends(p, ends))
}

// screen says that a person is one who only looks, such as a screen on the wall: a device that is let in as them stays in, to read, until they are
// retired or screenEnd is over.
func screen(p batch.Person) bool { return p.Role == batch.Viewer && !p.Administers }

// Ends is until when a device of somebody stays signed on that is let in now, where the shift ends at shift.
func (s *Service) Ends(p batch.Person, shift time.Time) time.Time {
	now := s.opt.Now()
	switch latest := now.Add(absoluteEnd); {
	case screen(p):
		return now.Add(screenEnd)
	case shift.After(latest):
		return latest
	}
	return shift
}
