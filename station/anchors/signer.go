// Package anchors signs what a station's record is, with a key that is no part of the record, and leaves the checkpoints where they can be
// compared later: in the record, beside the key, and in the folder of a witness.
package anchors

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
)

// Options say by what and for whom a record is signed.
type Options struct {
	Record  *record.DB
	Dir     string           // the station's folder
	Station string           // its name
	Key     string           // file of the key; "" for station.key in the folder
	Witness string           // folder to which every checkpoint is written too; "" for none
	Now     func() time.Time // time.Now unless given
}

// Signer signs a record while its station works. Its methods may be called from any goroutine.
type Signer struct {
	Options

	doing  sync.Mutex
	key    *anchor.Key // nil until it was read or made
	signed int64       // entries that are signed

	mu      sync.Mutex // never held while anything is written
	failing [2]trouble // signing; the witness
}

// trouble is why something fails, and since when.
type trouble struct {
	why   string
	since time.Time
}

const (
	signing    = 0
	witnessing = 1
)

// retryEvery is how soon what failed is tried again.
const retryEvery = time.Minute

// New makes a signer.
func New(opt Options) *Signer {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	return &Signer{Options: opt}
}

// Start reads the key, or makes it where there is none, and signs what the record is. Where the record is not what its key signed last, the trail
// says so first. The error is one that somebody has to mend before the station may start: a key that is damaged, or missing though it was
// named and the record is signed. All else is tried again later, and told by Due.
func (s *Signer) Start(ctx context.Context) error {
	err := s.Sign(ctx)
	if batch.KindOf(err) == batch.Mendable {
		return err
	}
	return nil
}

// Run signs whenever something was recorded that asks for it, and what failed once more, until ctx ends. Sign after that leaves nothing unsigned.
func (s *Signer) Run(ctx context.Context) {
	again := time.NewTicker(retryEvery)
	defer again.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.Record.ToSign():
		case <-again.C:
			if !s.unfinished() {
				continue
			}
		}
		_ = s.Sign(ctx) // told by Due
	}
}

func (s *Signer) unfinished() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.failing[signing].why != "" || s.failing[witnessing].why != ""
}

// Sign signs what the record is now, unless that is signed already, and tells the witness.
func (s *Signer) Sign(ctx context.Context) error {
	s.doing.Lock()
	defer s.doing.Unlock()
	err := s.sign(ctx)
	s.note(ctx, signing, err, "the record could not be signed")
	if err != nil {
		return err
	}
	err = s.tellWitness(ctx)
	s.note(ctx, witnessing, err, "a checkpoint could not be given to the witness")
	return nil
}

func (s *Signer) sign(ctx context.Context) error {
	if s.key == nil {
		if err := s.takeKey(ctx); err != nil {
			return err
		}
	}
	size, root, err := s.Record.TreeHead(ctx)
	if err != nil || size == 0 || size == s.signed {
		return err
	}
	c, err := s.key.Sign(size, root, s.Now())
	if err == nil {
		err = s.remember(c) // first: while it cannot be, nothing is kept again and again
	}
	if err == nil {
		err = s.Record.KeepCheckpoint(ctx, c)
	}
	if err == nil {
		s.signed = size
	}
	return err
}

// note keeps why something fails, and logs it once.
func (s *Signer) note(ctx context.Context, what int, err error, words string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	t := &s.failing[what]
	switch {
	case err == nil:
		*t = trouble{}
	case ctx.Err() != nil:
	default:
		if t.why == "" {
			t.since = s.Now()
			slog.Warn(words, "error", err)
		}
		t.why = err.Error()
	}
}

// Due is something about signing that somebody should mend.
type Due struct {
	Says, Do string
	Since    time.Time
}

// Due lists what is amiss.
func (s *Signer) Due() (due []Due) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if t := s.failing[signing]; t.why != "" {
		due = append(due, Due{"what is recorded is not signed: " + t.why, "Everything is recorded all the same, and signed by itself as soon as it can be.", t.since})
	}
	if t := s.failing[witnessing]; t.why != "" {
		due = append(due, Due{"the witness does not hear: " + t.why, "It is told what it missed by itself, as soon as its folder can be written to.", t.since})
	}
	return due
}

// takeKey reads the key, and compares the record with what it signed last.
func (s *Signer) takeKey(ctx context.Context) error {
	newest, err := s.Record.NewestCheckpoint(ctx)
	if err != nil {
		return err
	}
	key, err := s.readKey(newest != nil)
	if err != nil {
		return err
	}
	last, err := s.last()
	if err != nil {
		return err
	}
	if last == nil || last.Verify(key.Public) != nil {
		last = newest
	}
	if last != nil {
		now, err := s.Record.Beside(ctx, *last)
		if err == nil && (now.Short || now.Other) {
			slog.Warn("the record is not what was signed last: an older copy was brought back, or it was changed beside the program", "signed", last.Size, "entries", now.Entries)
			err = s.Record.NoteNotSigned(ctx, now)
		}
		if err != nil {
			return err
		}
	}
	if newest == nil || newest.Key != key.Public {
		if err := s.Record.UseKey(ctx, key.Public); err != nil {
			return err
		}
	}
	if newest != nil && newest.Key == key.Public {
		s.signed = newest.Size
	}
	s.key = key
	return nil
}
