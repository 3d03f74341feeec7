package signon

import (
	"context"
	"net"
	"net/http"
	"slices"
	"time"

	"github.com/alexedwards/scs/v2"

	"sagitta/batch"
)

// A session ends after so long without a request, and at the latest so long after its person signed on.
const (
	idleEnd     = 30 * time.Minute
	absoluteEnd = 12 * time.Hour
	screenEnd   = 365 * 24 * time.Hour // of a screen on the wall, which only looks
	kept        = time.Minute          // a session that goes on is written at most so often
)

// Session is who a browser's requests come from.
type Session struct {
	Person   batch.Person // "" as its ID: nobody is signed on
	Strength batch.Strength
	Since    time.Time
}

// May says whether the session's person may do something in the session's strength. Signed acts are no matter of the session: they ask for the
// password themselves.
func (s Session) May(r batch.Right) bool {
	return s.Person.ID != "" && s.Person.May(r) && (s.Strength == batch.ByPassword || batch.MayAtBench(r))
}

// Keys of a session's values.
const (
	keyPerson   = "person"
	keyStrength = "strength"
	keySince    = "since"
	keySeen     = "seen"
	keyEnds     = "ends" // of a device that was let in by itself; 0: the session ends when it is idle
)

// cookieName is the name of the session's cookie; under TLS a browser keeps it for this address alone and takes it from no other.
func cookieName(secure bool) string {
	if secure {
		return "__Host-sagitta"
	}
	return "sagitta"
}

// secureKey marks that a request came by TLS; whether a proxy is trusted is decided before.
type secureKey struct{}

// WithSecure returns a request that counts as come by TLS: a trusted proxy says so.
func WithSecure(r *http.Request) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), secureKey{}, true))
}

// IsSecure says whether a request came by TLS, here or at a trusted proxy.
func IsSecure(r *http.Request) bool {
	proxied, _ := r.Context().Value(secureKey{}).(bool)
	return r.TLS != nil || proxied
}

// Load returns the request with its session, empty where its cookie is of none. Call it once, before the other methods.
func (s *Service) Load(w http.ResponseWriter, r *http.Request) (*http.Request, Session, error) {
	token := ""
	if c, err := r.Cookie(cookieName(IsSecure(r))); err == nil {
		token = c.Value
	}
	ctx, err := s.sessions.Load(r.Context(), token)
	if err != nil {
		return r, Session{}, err
	}
	session, err := s.session(ctx)
	if err == nil && (session.Person.ID != "" || OwnMachine(r.RemoteAddr)) {
		ctx = WithScanner(ctx)
	}
	r = r.WithContext(ctx)
	if err != nil || session.Person.ID == "" {
		return r, Session{}, err
	}
	now := s.opt.Now()
	if seen := s.instant(ctx, keySeen); now.Sub(seen) >= kept || now.Before(seen) {
		s.sessions.Put(ctx, keySeen, now.UnixNano())
		if err := s.commit(w, r); err != nil { // the session goes on as long as it was kept before
			return r, session, nil
		}
	}
	return r, session, nil
}

// scannerKey marks what comes from where badges are scanned.
type scannerKey struct{}

// WithScanner returns a context of what comes from the bench itself: the station's own machine, or a browser that somebody is signed on in. A badge's
// code is printed for all to read, so it proves nothing anywhere else.
func WithScanner(ctx context.Context) context.Context {
	return context.WithValue(ctx, scannerKey{}, true)
}

// OwnMachine says that an address, host:port, is this machine's own.
func OwnMachine(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

// longest is how long a session of somebody lasts at the most; device: of a device that was let in by itself.
func longest(p batch.Person, device bool) time.Duration {
	if device && screen(p) {
		return screenEnd
	}
	return absoluteEnd
}

// session reads the values of the context's session against the record: it ends when its person is retired or their secrets change.
func (s *Service) session(ctx context.Context) (Session, error) {
	id := s.sessions.GetString(ctx, keyPerson)
	if id == "" {
		return Session{}, nil
	}
	all, err := s.opt.Record.People(ctx)
	if err != nil {
		return Session{}, err
	}
	i := slices.IndexFunc(all, func(p batch.Person) bool { return p.ID == id && !p.Retired })
	if i < 0 {
		return Session{}, nil
	}
	since := s.instant(ctx, keySince)
	now, ends := s.opt.Now(), s.sessions.GetInt64(ctx, keyEnds)
	over := now.UnixNano() >= ends
	if ends == 0 {
		over = now.Sub(s.instant(ctx, keySeen)) >= idleEnd
	}
	if over || now.Sub(since) >= longest(all[i], ends != 0) {
		return Session{}, nil
	}
	changed, err := s.opt.Record.SecretsSince(ctx, id)
	if err != nil || since.Before(changed) {
		return Session{}, err
	}
	return Session{Person: all[i], Strength: batch.Strength(s.sessions.GetString(ctx, keyStrength)), Since: since}, nil
}

// instant is a time among the session's values, kept in nanoseconds since 1970.
func (s *Service) instant(ctx context.Context, key string) time.Time {
	return time.Unix(0, s.sessions.GetInt64(ctx, key))
}

// Begin gives the request's browser a new session of a person, under a new token; what it had before ends.
func (s *Service) Begin(w http.ResponseWriter, r *http.Request, p batch.Person, strength batch.Strength) error {
	return s.begin(w, r, p, strength, time.Time{})
}

// begin is Begin; a session with an end does not end before it by being idle.
func (s *Service) begin(w http.ResponseWriter, r *http.Request, p batch.Person, strength batch.Strength, ends time.Time) error {
	ctx := r.Context()
	if err := s.sessions.Clear(ctx); err != nil {
		return err
	}
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	now := s.opt.Now()
	s.sessions.Put(ctx, keyPerson, p.ID)
	s.sessions.Put(ctx, keyStrength, string(strength))
	s.sessions.Put(ctx, keySince, now.UnixNano())
	s.sessions.Put(ctx, keySeen, now.UnixNano())
	if !ends.IsZero() {
		s.sessions.Put(ctx, keyEnds, ends.UnixNano())
		if left := ends.Sub(now); left > absoluteEnd {
			s.sessions.SetDeadline(ctx, time.Now().Add(left))
		}
	}
	return s.commit(w, r)
}

// commit keeps the request's session and sends its cookie.
func (s *Service) commit(w http.ResponseWriter, r *http.Request) error {
	token, _, err := s.sessions.Commit(r.Context())
	if err != nil {
		return err
	}
	c := s.cookie(r, token)
	if left := time.Unix(0, s.sessions.GetInt64(r.Context(), keyEnds)).Sub(s.opt.Now()); left > absoluteEnd {
		c.MaxAge = int(left / time.Second) // a screen is switched off at night
	}
	http.SetCookie(w, c)
	return nil
}

// cookie is that of a token; without one it is taken back. It lasts as long as the browser runs: the session's end is kept here.
func (s *Service) cookie(r *http.Request, token string) *http.Cookie {
	c := &http.Cookie{Name: cookieName(IsSecure(r)), Value: token, Path: "/", HttpOnly: true, Secure: IsSecure(r), SameSite: http.SameSiteStrictMode}
	if token == "" {
		c.MaxAge = -1
	}
	return c
}

// End ends the request's session.
func (s *Service) End(w http.ResponseWriter, r *http.Request) error {
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.SetCookie(w, s.cookie(r, ""))
	return nil
}

// EndOthers ends every session of a person but the request's own, and returns how many those were.
func (s *Service) EndOthers(r *http.Request, p batch.Person) (ended int, err error) {
	all, err := s.opt.Sessions.All()
	if err != nil {
		return 0, err
	}
	own := s.sessions.GetInt64(r.Context(), keySince)
	for token, data := range all {
		_, values, err := scs.GobCodec{}.Decode(data)
		if err != nil {
			continue
		}
		if values[keyPerson] != p.ID || values[keySince] == own {
			continue
		}
		if err := s.opt.Sessions.Delete(token); err != nil {
			return ended, err
		}
		ended++
	}
	return ended, nil
}

// Still is the request's session as it is now. It does not count as a request: a page that listens does not keep a session from being idle.
func (s *Service) Still(r *http.Request) (Session, error) {
	c, err := r.Cookie(cookieName(IsSecure(r)))
	if err != nil {
		return Session{}, nil
	}
	ctx, err := s.sessions.Load(context.Background(), c.Value)
	if err != nil {
		return Session{}, err
	}
	return s.session(ctx)
}

// OpenSession is one of somebody's sessions.
type OpenSession struct {
	Strength    batch.Strength
	Since, Seen time.Time
	Own         bool // the request's own
}

// OfPerson lists the sessions of somebody that go on, the newest first; r is the request whose own one may be among them.
func (s *Service) OfPerson(r *http.Request, p batch.Person) ([]OpenSession, error) {
	all, err := s.opt.Sessions.All()
	if err != nil {
		return nil, err
	}
	own := s.sessions.GetInt64(r.Context(), keySince)
	var open []OpenSession
	for _, data := range all {
		_, values, err := scs.GobCodec{}.Decode(data)
		if err != nil || values[keyPerson] != p.ID {
			continue
		}
		since, _ := values[keySince].(int64)
		seen, _ := values[keySeen].(int64)
		ends, _ := values[keyEnds].(int64)
		strength, _ := values[keyStrength].(string)
		if now := s.opt.Now(); ends == 0 && now.Sub(time.Unix(0, seen)) >= idleEnd || ends != 0 && now.UnixNano() >= ends {
			continue
		}
		open = append(open, OpenSession{batch.Strength(strength), time.Unix(0, since), time.Unix(0, seen), since == own})
	}
	slices.SortFunc(open, func(a, b OpenSession) int { return b.Since.Compare(a.Since) })
	return open, nil
}
