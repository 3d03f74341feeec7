package signon_test

import (
	"context"
	"net/http"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/signon"
)

// trail are the newest entries of the record's trail, the newest first.
func (s *shop) trail(n int) []string {
	s.t.Helper()
	events, err := s.Audit(s.t.Context(), n)
	s.ok(err)
	var said []string
	for _, e := range events {
		said = append(said, e.By+" "+e.What+": "+e.About)
	}
	return said
}

// TestDeviceIsLetIn: a way in lets one device in, once, in the strength of the bench, for the whole shift and no longer, and both stand in the trail.
func TestDeviceIsLetIn(t *testing.T) {
	s := open(t)
	ines := s.first()
	s.later(time.Second)
	token, until, err := s.Share(t.Context(), batch.AtTheMachine, "Ines Vael")
	s.ok(err)
	if left := until.Sub(time.Unix(0, s.now.Load())); left != 15*time.Minute || len(token) < 26 {
		t.Errorf("%q for %v", token, left)
	}
	if who, err := s.Shared(t.Context(), token); err != nil || who.ID != ines.ID {
		t.Errorf("it is of %v, %v", who.Name, err)
	}
	s.later(14 * time.Minute)
	ends := time.Unix(0, s.now.Load()).Add(6 * time.Hour)
	phone := &browser{s: s, tls: true}
	phone.do(func(w http.ResponseWriter, r *http.Request) {
		p, err := s.BeginShared(w, r, token, ends)
		s.ok(err)
		if p.ID != ines.ID {
			t.Errorf("it let %s in", p.Name)
		}
	})
	want := []string{"Ines Vael signed one device on by the way in that was made for it: Ines Vael", batch.AtTheMachine + " made a way in for one device: Ines Vael"}
	if got := s.trail(2); !slices.Equal(got, want) {
		t.Errorf("the trail says %q", got)
	}
	if got := phone.do(nil); got.Person.ID != ines.ID || got.Strength != batch.AtBench || got.May(batch.ManagePeople) || !got.May(batch.Measure) {
		t.Errorf("%+v", got)
	}
	second := &browser{s: s}
	second.do(func(w http.ResponseWriter, r *http.Request) {
		_, err := s.BeginShared(w, r, token, ends)
		s.refused(err, batch.Absent, "was taken already")
	})
	if _, err := s.Shared(t.Context(), token); err == nil || second.do(nil).Person.ID != "" {
		t.Error("a second device was let in")
	}
	s.later(5 * time.Hour) // idle, but in the shift
	if phone.do(nil).Person.ID == "" {
		t.Error("an idle device of the shift was sent out")
	}
	s.later(time.Hour)
	if phone.do(nil).Person.ID != "" {
		t.Error("it is in after the shift")
	}
}

// TestWayInEnds: after its time, with its person, and where there are too many; nobody is let in by a token out of the air.
func TestWayInEnds(t *testing.T) {
	s := open(t)
	if _, _, err := s.Share(t.Context(), batch.AtTheMachine, "Ines Vael"); batch.KindOf(err) != batch.Conflict {
		t.Errorf("where nobody signs on: %v", err)
	}
	s.first()
	_, _, err := s.Share(t.Context(), batch.AtTheMachine, "Nobody Here")
	s.refused(err, batch.Absent, `"Nobody Here"`)
	for _, token := range []string{"", "AAAAAAAAAAAAAAAAAAAAAAAAAA"} {
		_, err := s.Shared(t.Context(), token)
		s.refused(err, batch.Absent, "have another made")
	}
	var tokens []string
	for range 20 {
		token, _, err := s.Share(t.Context(), "Ines Vael", "Ines Vael")
		s.ok(err)
		tokens = append(tokens, token)
	}
	_, _, err = s.Share(t.Context(), "Ines Vael", "Ines Vael")
	s.refused(err, batch.Conflict, "20 devices wait")
	s.later(15 * time.Minute)
	_, err = s.Shared(t.Context(), tokens[0])
	s.refused(err, batch.Absent, "has ended")
	_, _, err = s.Share(t.Context(), "Ines Vael", "Ines Vael")
	s.ok(err)
}

// noTrail is a record that can keep nothing of a device.
type noTrail struct{ signon.Record }

func (noTrail) KeepShared(context.Context, string, batch.Person, bool) error {
	return batch.Machine.Errorf("the disk is full")
}

// TestNothingIsLetInWithoutTrail: what cannot be kept in the trail does not happen, and can be done later.
func TestNothingIsLetInWithoutTrail(t *testing.T) {
	s := open(t)
	s.first()
	s.later(time.Second)
	now := func() time.Time { return time.Unix(0, s.now.Load()) }
	full := signon.New(signon.Options{Record: noTrail{s.DB}, Sessions: s.Sessions(), Now: now})
	for range 30 { // more than may wait
		token, _, err := full.Share(t.Context(), "Ines Vael", "Ines Vael")
		s.refused(err, batch.Machine, "the disk is full")
		if token != "" {
			t.Fatal("a token was handed out")
		}
	}
	record := &sometimes{Record: s.DB}
	s.Service = signon.New(signon.Options{Record: record, Sessions: s.Sessions(), Now: now})
	token, _, err := s.Share(t.Context(), "Ines Vael", "Ines Vael")
	s.ok(err)
	b := &browser{s: s}
	take := func() (err error) {
		b.do(func(w http.ResponseWriter, r *http.Request) {
			_, err = s.BeginShared(w, r, token, now().Add(time.Hour))
		})
		return err
	}
	record.full = true
	s.refused(take(), batch.Machine, "the disk is full")
	if b.do(nil).Person.ID != "" {
		t.Fatal("a device is in that is not in the trail")
	}
	record.full = false
	s.ok(take())
	if b.do(nil).Person.ID == "" {
		t.Error("with room again the device was not let in")
	}
}

// sometimes is a record that can keep nothing of a device while it is full.
type sometimes struct {
	signon.Record
	full bool
}

func (r *sometimes) KeepShared(ctx context.Context, by string, p batch.Person, taken bool) error {
	if r.full {
		return noTrail{}.KeepShared(ctx, by, p, taken)
	}
	return r.Record.KeepShared(ctx, by, p, taken)
}

// TestOneOfManyDevicesIsLetIn: however many take a token at once, one gets in.
func TestOneOfManyDevicesIsLetIn(t *testing.T) {
	s := open(t)
	s.first()
	s.later(time.Second)
	token, _, err := s.Share(t.Context(), "Ines Vael", "Ines Vael")
	s.ok(err)
	var in atomic.Int32
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			b := &browser{s: s}
			b.do(func(w http.ResponseWriter, r *http.Request) {
				if _, err := s.BeginShared(w, r, token, time.Unix(0, s.now.Load()).Add(time.Hour)); err == nil {
					in.Add(1)
				}
			})
		})
	}
	all.Wait()
	if in.Load() != 1 {
		t.Errorf("%d devices are in", in.Load())
	}
}

// FuzzCodes: whatever is typed as a one-time code, a token or a cookie lets nobody in.
func FuzzCodes(f *testing.F) {
	f.Add("ABCDE-FGHIJ-KLMNO-PQRST")
	f.Add("  abcde fghij klmno pqrst")
	f.Add("\x00")
	opened := open(f)
	opened.first()
	f.Fuzz(func(t *testing.T, typed string) {
		s := &shop{DB: opened.DB, Service: opened.Service, t: t}
		if _, err := s.Service.Code(t.Context(), typed); batch.KindOf(err) != batch.Unproven {
			t.Errorf("the code %q: %v", typed, err)
		}
		if _, err := s.Shared(t.Context(), typed); batch.KindOf(err) != batch.Absent {
			t.Errorf("the token %q: %v", typed, err)
		}
		b := &browser{s: s, cookie: &http.Cookie{Name: "sagitta", Value: typed}}
		if got := b.do(nil); got.Person.ID != "" {
			t.Errorf("the cookie %q is of %s", typed, got.Person.Name)
		}
	})
}

// TestScreenOnTheWall: a device of somebody who only looks stays in beyond shift and day, whatever it is asked for, and may do nothing but look; retiring them ends it.
func TestScreenOnTheWall(t *testing.T) {
	s := open(t)
	s.first()
	wall := s.enter("Wall of hall 2", batch.Viewer)
	s.later(time.Second)
	token, _, err := s.Share(t.Context(), batch.AtTheMachine, wall.Name)
	s.ok(err)
	shift := time.Unix(0, s.now.Load()).Add(6 * time.Hour)
	screen := &browser{s: s, tls: true}
	screen.do(func(w http.ResponseWriter, r *http.Request) {
		_, err := s.BeginShared(w, r, token, shift)
		s.ok(err)
	})
	if day := 24 * 60 * 60; screen.cookie.MaxAge < 300*day {
		t.Errorf("the cookie is kept for %d s", screen.cookie.MaxAge)
	}
	s.later(100 * 24 * time.Hour)
	if got := screen.do(nil); got.Person.ID != wall.ID || !got.May(batch.Look) || got.May(batch.Measure) || got.May(batch.Acknowledge) {
		t.Errorf("after a hundred days: %+v", got)
	}
	s.ok(s.Retire(s.sealed("Ines Vael"), "Ines Vael", wall.Name))
	if got := screen.do(nil); got.Person.ID != "" {
		t.Error("the screen goes on after it was retired")
	}
}
