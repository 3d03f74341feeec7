package copies

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"sagitta/batch/record"
)

// Looked is what a person saw to.
type Looked struct {
	By    string    `json:"by"`
	At    time.Time `json:"at"`
	Found string    `json:"found"` // what was found then
}

// When the record is verified, and how late that may be.
const (
	verifyAt   = 3 * time.Hour // after midnight; and at the station's start
	verifyLate = 3 * 24 * time.Hour
)

// RunVerify verifies the record at the station's start and each night until ctx ends, and rests as much as it works.
func (k *Keeper) RunVerify(ctx context.Context) {
	every := time.NewTicker(lookEvery)
	defer every.Stop()
	for {
		if now := k.Now(); k.verifyNow(now) {
			k.Verify(ctx, now)
		}
		select {
		case <-ctx.Done():
			return
		case <-every.C:
		}
	}
}

func (k *Keeper) verifyNow(now time.Time) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	return !k.verified || k.state.Verify.Tried.Before(Plan{At: verifyAt}.slot(now))
}

// Verify verifies the record, keeps what came of it, and notes in the trail what it finds for the first time.
func (k *Keeper) Verify(ctx context.Context, now time.Time) {
	entries, err := k.Record.Entries(ctx)
	if err == nil {
		err = k.Record.VerifyAudit(record.Gently(ctx))
	}
	if ctx.Err() != nil {
		return // the station ends
	}
	before, found := k.State().Verify.Failed, ""
	if err != nil {
		found = strings.TrimPrefix(err.Error(), "verifying the record: ")
	}
	k.note(func(s *State) {
		k.verified = true
		if err == nil {
			s.Verify.well(now, "")
			s.Verified, s.Looked = entries, nil
			return
		}
		s.Verify.bad(now, errors.New(found))
	})
	if found == before || found == "" {
		return
	}
	slog.Error("the record is not whole", "error", found)
	if err := k.Record.NoteFound(ctx, found); err != nil {
		slog.Error("what was found is not in the record's trail", "error", err)
	}
}

// Saw notes that somebody looked at what the last verification found; the strip says it no longer. Errors as of record.DB.NoteLooked.
func (k *Keeper) Saw(ctx context.Context, by, note string) error {
	found := k.State().Verify.Failed
	if found == "" {
		return nil
	}
	if err := k.Record.NoteLooked(ctx, by, found, note); err != nil {
		return err
	}
	k.note(func(s *State) { s.Looked = &Looked{By: by, At: k.Now(), Found: found} })
	return nil
}

// State is what became of the copies, and of the verifications.
func (k *Keeper) State() State {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.state
}

// Unseen says that the last verification found something that nobody has looked at yet.
func (s State) Unseen() bool {
	return s.Verify.Failed != "" && (s.Looked == nil || s.Looked.Found != s.Verify.Failed)
}

func (s State) verifyDue(now time.Time) []Due {
	from := s.Verify.At
	switch {
	case s.Unseen():
		return []Due{{What: "record", Says: "the last verification failed: " + s.Verify.Failed, Do: "Look at the page Record, and say there what is done about it.", Since: s.Verify.Since, Grave: true}}
	case s.Verify.Failed == "" && !from.IsZero() && now.Sub(from) > verifyLate:
		return []Due{{What: "record", Says: fmt.Sprintf("it was not verified for %d days", int(now.Sub(from).Hours()/24)), Do: "It is verified at the station's start and each night: leave the station on, or start it again.", Since: from}}
	}
	return nil
}
