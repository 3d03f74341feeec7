package signon_test

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/signon"
)

const good = "four herons mend a violet roof"

// shop is a record with a clock and its service.
type shop struct {
	*record.DB
	*signon.Service
	t   testing.TB
	now atomic.Int64
}

func open(t testing.TB) *shop {
	s := &shop{t: t}
	s.now.Store(time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC).UnixNano())
	clock := func() time.Time { return time.Unix(0, s.now.Load()).UTC() }
	db, err := record.Open(filepath.Join(t.TempDir(), "record.db"), record.Options{Station: "bench 1", Now: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	s.DB = db
	s.Service = signon.New(signon.Options{Record: db, Sessions: db.Sessions(), Shop: "Quillmere", Now: clock,
		Cost: &signon.Cost{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}})
	return s
}

func (s *shop) later(d time.Duration) { s.now.Add(int64(d)) }

func (s *shop) ok(err error) {
	s.t.Helper()
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *shop) refused(err error, kind batch.ErrorKind, words string) {
	s.t.Helper()
	if err == nil || batch.KindOf(err) != kind || !strings.Contains(err.Error(), words) {
		s.t.Errorf("got %v of kind %v, want %q of kind %v", err, batch.KindOf(err), words, kind)
	}
}

// first makes Ines Vael the first administrator.
func (s *shop) first() batch.Person {
	s.t.Helper()
	ctx := s.t.Context()
	code, _, err := s.Service.IssueCode(ctx, batch.AtTheMachine, "")
	s.ok(err)
	p, err := s.Service.UseCode(ctx, code, "Ines Vael", good, "290417")
	s.ok(err)
	return p
}

func (s *shop) sealed(by string) context.Context {
	s.t.Helper()
	seal, err := s.Prove(s.t.Context(), by, good, "as agreed")
	s.ok(err)
	return batch.WithSeals(s.t.Context(), seal)
}

// enter adds somebody with a password and a PIN of their own.
func (s *shop) enter(name string, role batch.Role) batch.Person {
	s.t.Helper()
	ctx := s.sealed("Ines Vael")
	p, err := s.AddPerson(ctx, "Ines Vael", name, role)
	s.ok(err)
	code, _, err := s.Service.IssueCode(ctx, "Ines Vael", name)
	s.ok(err)
	_, err = s.Service.UseCode(s.t.Context(), code, "", good, "731946")
	s.ok(err)
	return p
}

func TestTheFirstAdministratorComesByTheCodeOfTheMachine(t *testing.T) {
	s := open(t)
	ctx := t.Context()
	if on, err := s.On(ctx); err != nil || on {
		t.Errorf("a new record: people sign on %v, %v", on, err)
	}
	_, err := s.Service.UseCode(ctx, "AAAAA-AAAAA-AAAAA-AAAAA", "Ines Vael", good, "290417")
	s.refused(err, batch.Unproven, "not known here")
	older, _, err := s.Service.IssueCode(ctx, batch.AtTheMachine, "")
	s.ok(err)
	code, _, err := s.Service.IssueCode(ctx, batch.AtTheMachine, "")
	s.ok(err)
	_, err = s.Service.UseCode(ctx, older, "Ines Vael", good, "290417")
	s.refused(err, batch.Unproven, "a newer one-time code")
	for password, words := range map[string]string{"short": "5 characters", "Ines Vael Quillmere": "guessed too soon", "aaaaaaaaaaaaaaaa": "guessed too soon", strings.Repeat("herons mend ", 11): "132 characters"} {
		_, err = s.Service.UseCode(ctx, code, "Ines Vael", password, "290417")
		s.refused(err, batch.Mendable, words)
	}
	for _, pin := range []string{"111111", "123456", "890123", "987654", "121212", "123123", "12345", "1234567", "12a456"} {
		_, err = s.Service.UseCode(ctx, code, "Ines Vael", good, pin)
		s.refused(err, batch.Mendable, "PIN")
	}
	s.later(23 * time.Hour)
	p, err := s.Service.UseCode(ctx, strings.ToLower(strings.ReplaceAll(code, "-", " ")), "  Ines   Vael", good, "290417")
	s.ok(err)
	if p.Name != "Ines Vael" || p.Role != batch.QualityManager || !p.Administers {
		t.Errorf("the first administrator: %+v", p)
	}
	if on, err := s.On(ctx); err != nil || !on {
		t.Errorf("people sign on: %v, %v", on, err)
	}
	_, err = s.Service.UseCode(ctx, code, "Ines Vael", good, "290417")
	s.refused(err, batch.Unproven, "used already")
	_, _, err = s.Service.IssueCode(ctx, batch.AtTheMachine, "")
	s.refused(err, batch.Conflict, "people sign on already")
	if p, err := s.SignOn(ctx, "Ines Vael", good); err != nil || p.Name != "Ines Vael" {
		t.Errorf("%+v, %v", p, err)
	}
	if p, err := s.SignOnPIN(ctx, "Ines Vael", "290417"); err != nil || p.Name != "Ines Vael" {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestCodesEndAfterADay(t *testing.T) {
	s := open(t)
	code, until, err := s.Service.IssueCode(t.Context(), batch.AtTheMachine, "")
	s.ok(err)
	s.later(24 * time.Hour)
	_, err = s.Service.UseCode(t.Context(), code, "Ines Vael", good, "")
	s.refused(err, batch.Unproven, "ended at "+until.Local().Format("2006-01-02 15:04"))
}

// A wrong name and a wrong password have one answer, and an unknown name is hashed for as a known one is.
func TestNamesAreNotToldApart(t *testing.T) {
	s := open(t)
	s.first()
	_, unknown := s.SignOn(t.Context(), "Nobody Here", good)
	_, wrong := s.SignOn(t.Context(), "Ines Vael", "something else entirely")
	if unknown == nil || wrong == nil || unknown.Error() != wrong.Error() {
		t.Errorf("unknown name: %v; wrong password: %v", unknown, wrong)
	}
	s.enter("Per Holt", batch.Inspector)
	s.ok(s.Retire(s.sealed("Ines Vael"), "Ines Vael", "Per Holt"))
	_, retired := s.SignOn(t.Context(), "Per Holt", good)
	if retired == nil || retired.Error() != wrong.Error() {
		t.Errorf("retired: %v", retired)
	}
}

// Failures in a row delay the next attempt, more each time and never for more than five minutes; while it is delayed nothing is tried or kept, and a
// right answer begins anew.
func TestFailuresDelay(t *testing.T) {
	s := open(t)
	ines := s.first()
	s.later(time.Second)
	for i, want := range []time.Duration{0, 0, 0, 5, 10, 20, 40, 80, 160, 300, 300} {
		if want *= time.Second; want > 0 {
			s.later(want - time.Second)
			_, err := s.SignOn(t.Context(), "Ines Vael", good)
			s.refused(err, batch.Unproven, fmt.Sprintf("%d attempts in a row failed; the next one is taken in 2 s", i))
			s.later(time.Second)
		}
		_, err := s.SignOn(t.Context(), "Ines Vael", "something else entirely")
		s.refused(err, batch.Unproven, "do not belong together")
	}
	if n, _, err := s.SignOnFailures(t.Context(), ines.ID, batch.ByPassword); err != nil || n != 11 {
		t.Errorf("%d failures are kept, %v", n, err)
	}
	if _, err := s.SignOnPIN(t.Context(), "Ines Vael", "290417"); err != nil {
		t.Errorf("failing passwords delay the PIN: %v", err)
	}
	s.later(5 * time.Minute)
	if _, err := s.SignOn(t.Context(), "Ines Vael", good); err != nil {
		t.Error(err)
	}
	_, err := s.SignOn(t.Context(), "Ines Vael", "something else entirely")
	s.refused(err, batch.Unproven, "do not belong together")
	if _, err := s.SignOn(t.Context(), "Ines Vael", good); err != nil {
		t.Errorf("after one failure: %v", err)
	}
	trail, err := s.Audit(t.Context(), 0)
	s.ok(err)
	failed := 0
	for _, e := range trail {
		if e.What == "failed to prove who they are" && e.About == "Ines Vael" {
			failed++
		}
	}
	if failed != 12 {
		t.Errorf("the trail has %d failures, want 12", failed)
	}
}

// Many wrong guesses at once are taken one after another: no more of them are tried than one after another would be.
func TestGuessesAtOnceAreDelayedToo(t *testing.T) {
	s := open(t)
	ines := s.first()
	s.later(time.Second)
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() { _, _ = s.SignOn(t.Context(), "Ines Vael", "something else entirely") })
	}
	all.Wait()
	if n, _, err := s.SignOnFailures(t.Context(), ines.ID, batch.ByPassword); err != nil || n != 3 {
		t.Errorf("%d guesses were tried at once, %v", n, err)
	}
}

// browser keeps the cookie that it was given.
type browser struct {
	s      *shop
	cookie *http.Cookie
	tls    bool
	from   string // address
}

func (b *browser) do(fn func(w http.ResponseWriter, r *http.Request)) signon.Session {
	b.s.t.Helper()
	r, w := httptest.NewRequest(http.MethodGet, "/", nil), httptest.NewRecorder()
	if b.from != "" {
		r.RemoteAddr = b.from
	}
	if b.tls {
		r = signon.WithSecure(r)
	}
	if b.cookie != nil {
		r.AddCookie(b.cookie)
	}
	r, session, err := b.s.Load(w, r)
	b.s.ok(err)
	if fn != nil {
		fn(w, r)
	}
	for _, c := range w.Result().Cookies() {
		if b.cookie = c; c.MaxAge < 0 {
			b.cookie = nil
		}
	}
	return session
}

func (b *browser) begin(p batch.Person, strength batch.Strength) {
	b.do(func(w http.ResponseWriter, r *http.Request) { b.s.ok(b.s.Begin(w, r, p, strength)) })
}

func TestSessions(t *testing.T) {
	s := open(t)
	ines := s.first()
	s.later(time.Second)
	planted := &http.Cookie{Name: "sagitta", Value: "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"}
	b := &browser{s: s, cookie: planted}
	if got := b.do(nil); got.Person.ID != "" {
		t.Errorf("a cookie out of the air is of %+v", got)
	}
	b.begin(ines, batch.ByPassword)
	if b.cookie.Value == planted.Value {
		t.Error("the session has the token that was planted before")
	}
	if c := b.cookie; !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Domain != "" || c.Secure {
		t.Errorf("cookie %+v", c)
	}
	if got := b.do(nil); got.Person.Name != "Ines Vael" || got.Strength != batch.ByPassword {
		t.Errorf("%+v", got)
	}
	kept, err := s.Sessions().All()
	s.ok(err)
	sum := sha256.Sum256([]byte(b.cookie.Value))
	if len(kept) != 1 || kept[base64.RawURLEncoding.EncodeToString(sum[:])] == nil {
		t.Errorf("kept under %v, not under the token's hash", keys(kept))
	}
	stolen := *b.cookie
	b.do(func(w http.ResponseWriter, r *http.Request) { s.ok(s.End(w, r)) })
	if got := (&browser{s: s, cookie: &stolen}).do(nil); got.Person.ID != "" {
		t.Error("a session that was ended goes on")
	}
	b.begin(ines, batch.ByPassword)
	other := &browser{s: s, tls: true}
	other.begin(ines, batch.AtBench)
	if c := other.cookie; c.Name != "__Host-sagitta" || !c.Secure {
		t.Errorf("under TLS: cookie %+v", c)
	}
	s.later(time.Second)
	third := &browser{s: s}
	third.begin(ines, batch.AtBench)
	third.do(func(_ http.ResponseWriter, r *http.Request) {
		if n, err := s.EndOthers(r, ines); err != nil || n != 2 {
			t.Errorf("%d others ended, %v", n, err)
		}
	})
	if b.do(nil).Person.ID != "" || other.do(nil).Person.ID != "" || third.do(nil).Person.ID == "" {
		t.Error("not the others were ended")
	}
}

func keys(m map[string][]byte) (all []string) {
	for k := range m {
		all = append(all, k)
	}
	return all
}

func TestSessionsEnd(t *testing.T) {
	s := open(t)
	ines := s.first()
	s.later(time.Second)
	b := &browser{s: s}
	b.begin(ines, batch.ByPassword)
	s.later(31 * time.Minute)
	if b.do(nil).Person.ID != "" {
		t.Error("a session goes on after half an hour of nothing")
	}
	b.begin(ines, batch.ByPassword)
	for range 24 * 2 {
		s.later(15 * time.Minute)
		if b.do(nil).Person.ID == "" {
			break
		}
	}
	if b.do(nil).Person.ID != "" {
		t.Error("a session that is used goes on after twelve hours")
	}
	per := s.enter("Per Holt", batch.Inspector)
	s.later(time.Second)
	for _, end := range []struct {
		what string
		do   func() error
	}{
		{"a new password", func() error { return s.ChangePassword(t.Context(), "Per Holt", good, good+" again") }},
		{"a new PIN", func() error { return s.ChangePIN(t.Context(), "Per Holt", good+" again", "530862") }},
		{"a code issued at the machine", func() error {
			_, _, err := s.Service.IssueCode(t.Context(), batch.AtTheMachine, "Per Holt")
			return err
		}},
		{"being retired", func() error { return s.Retire(s.sealed("Ines Vael"), "Ines Vael", "Per Holt") }},
	} {
		b.begin(per, batch.AtBench)
		if b.do(nil).Person.Name != "Per Holt" {
			t.Fatalf("before %s: no session", end.what)
		}
		s.later(time.Second)
		s.ok(end.do())
		s.later(time.Second)
		if b.do(nil).Person.ID != "" {
			t.Errorf("a session goes on after %s", end.what)
		}
	}
}

// At the bench's strength somebody may measure, whatever their role allows beyond.
func TestStrengthsAndRoles(t *testing.T) {
	s := open(t)
	ines := s.first()
	viewer := s.enter("Ada Wren", batch.Viewer)
	for _, c := range []struct {
		p        batch.Person
		strength batch.Strength
		right    batch.Right
		may      bool
	}{
		{ines, batch.ByPassword, batch.OpenBatch, true}, {ines, batch.AtBench, batch.OpenBatch, false}, {ines, batch.AtBench, batch.Measure, true},
		{ines, batch.ByPassword, batch.ManagePeople, true}, {ines, batch.AtBench, batch.ManagePeople, false},
		{viewer, batch.ByPassword, batch.Look, true}, {viewer, batch.ByPassword, batch.Measure, false}, {batch.Person{}, batch.ByPassword, batch.Look, false},
	} {
		if got := (signon.Session{Person: c.p, Strength: c.strength}).May(c.right); got != c.may {
			t.Errorf("%s (%s) may %s: %v", c.p.Name, c.strength, c.right, got)
		}
	}
}

// What is signed takes the own password at that moment, is kept with who, what and why, and is refused to who may not; the last administrator stays.
func TestSignedActs(t *testing.T) {
	s := open(t)
	s.first()
	ctx := t.Context()
	_, err := s.AddPerson(ctx, "Ines Vael", "Per Holt", batch.Inspector)
	s.refused(err, batch.Unproven, "Ines Vael gives their own password")
	s.enter("Per Holt", batch.Inspector)
	_, err = s.AddPerson(s.sealed("Per Holt"), "Per Holt", "Per's Friend", batch.QualityManager)
	s.refused(err, batch.Forbidden, "Per Holt is entered as inspector, who may not enter people")
	_, err = s.AddPerson(s.sealed("Per Holt"), "Ines Vael", "Per's Friend", batch.QualityManager)
	s.refused(err, batch.Unproven, "Ines Vael gives their own password")
	s.refused(s.Retire(s.sealed("Ines Vael"), "Ines Vael", "Ines Vael"), batch.Conflict, "nobody who administers people would be left")
	s.refused(s.SetRole(s.sealed("Ines Vael"), "Ines Vael", "Ines Vael", batch.QualityManager, false), batch.Conflict, "nobody who administers people would be left")
	s.ok(s.SetRole(s.sealed("Ines Vael"), "Ines Vael", "Per Holt", batch.Repairer, true))
	s.ok(s.SetRole(s.sealed("Ines Vael"), "Ines Vael", "Ines Vael", batch.QualityManager, false))
	s.refused(s.Retire(s.sealed("Ines Vael"), "Ines Vael", "Per Holt"), batch.Forbidden, "Ines Vael is entered as quality manager, who may not enter people")
	all, err := s.Signatures(ctx, "Per Holt")
	s.ok(err)
	var last batch.Signature
	for _, g := range all {
		last = g
	}
	if last.By != "Ines Vael" || last.Meaning != batch.ManagePeople || last.Reason != "as agreed" || len(last.Digest) != 64 || last.Second {
		t.Errorf("signature %+v", last)
	}
	if err := s.VerifyAudit(ctx); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"At the Machine", "Ines  Vae1"} {
		if _, err := s.AddPerson(s.sealed("Per Holt"), "Per Holt", name, batch.Inspector); !errors.Is(err, record.ErrExists) {
			t.Errorf("%q: %v", name, err)
		}
	}
}

// A badge's code proves somebody at the bench: on the station's own machine, or in a browser that somebody is signed on in; nowhere else can codes be tried.
func TestBadgesAreScannedAtTheBench(t *testing.T) {
	s := open(t)
	ines := s.first()
	s.later(time.Second)
	s.ok(s.SetBadge(s.sealed("Ines Vael"), "Ines Vael", "Ines Vael", "IV-01"))
	b := &browser{s: s}
	scan := func(from string) (p batch.Person, err error) {
		b.from = from
		b.do(func(_ http.ResponseWriter, r *http.Request) { p, err = s.SignOnBadge(r.Context(), "iv-01") })
		return p, err
	}
	_, err := scan("192.0.2.7:40000")
	s.refused(err, batch.Unproven, "a badge is scanned at the bench")
	for _, from := range []string{"127.0.0.1:40000", "[::1]:40000"} {
		if p, err := scan(from); err != nil || p.Name != "Ines Vael" {
			t.Errorf("from %s: %+v, %v", from, p, err)
		}
	}
	b.begin(ines, batch.AtBench)
	if p, err := scan("192.0.2.7:40000"); err != nil || p.Name != "Ines Vael" {
		t.Errorf("in a browser that somebody is signed on in: %+v, %v", p, err)
	}
}
