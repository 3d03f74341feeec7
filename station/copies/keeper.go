package copies

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
)

// Keeper makes a station's copies by its plan while the station works.
type Keeper struct {
	Record *record.DB
	Making
	Plan Plan

	keeping sync.Mutex // held while the state is read from its file and written there, by nobody who answers
	mu      sync.Mutex // held for moments: a folder that hangs keeps nobody waiting who asks for the state
	state   State

	verified  bool          // since the station began
	followed  bool          // since the station began
	copied    int64         // commits in the copy that follows
	verdicts  int64         // of those
	mirroring time.Duration // how long the last took
}

const (
	lookEvery   = 2 * time.Second
	retryAfter  = time.Hour   // a daily copy that failed
	restBetween = 10          // times as long as a copy took the record has rest from the next
	mirrorRetry = time.Minute // at most this long until a stick that is back is seen
	namePattern = "sagitta-%s.zip"
	markName    = "sagitta-copies.txt"
)

// Start reads the state in the station's folder and puts the plan into it. A state that cannot be read is made anew: it keeps no station
// from starting.
func (k *Keeper) Start() {
	var err error
	if k.state, err = Load(k.Dir); err != nil {
		slog.Warn("what became of the copies is not known any more", "error", err)
	}
	k.Plan.Since = k.Now()
	if old := k.state.Plan; old != nil && old.To == k.Plan.To && old.MirrorTo == k.Plan.MirrorTo {
		k.Plan.Since = old.Since
	}
	k.note(func(s *State) { s.Plan = &k.Plan })
}

// Due lists what is due.
func (k *Keeper) Due(now time.Time, free int64) []Due {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.state.Due(now, free)
}

// Run makes copies until ctx ends.
func (k *Keeper) Run(ctx context.Context) {
	every := time.NewTicker(lookEvery)
	defer every.Stop()
	for {
		k.Look(ctx)
		select {
		case <-ctx.Done():
			return
		case <-every.C:
		}
	}
}

// Look makes what is to be made now.
func (k *Keeper) Look(ctx context.Context) {
	now := k.Now()
	if k.backupNow(now) {
		k.backup(ctx, now)
	}
	if k.mirrorNow(now) {
		k.mirror(ctx, now)
	}
}

// note changes the state and keeps it.
func (k *Keeper) note(change func(s *State)) {
	k.keeping.Lock()
	defer k.keeping.Unlock()
	kept, err := Load(k.Dir) // a drill may have been noted meanwhile
	k.mu.Lock()
	if err == nil {
		k.state.Drill = kept.Drill
	}
	change(&k.state)
	now := k.state
	k.mu.Unlock()
	if err := now.save(k.Dir); err != nil {
		slog.Warn("what became of the copies is not kept", "error", err)
	}
}

func (k *Keeper) backupNow(now time.Time) bool {
	if k.Plan.To == "" {
		return false
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	slot, d := k.Plan.slot(now), k.state.Backup
	if d.At.IsZero() && d.Tried.IsZero() { // the first at once: it shows that it can be made
		return true
	}
	if d.Failed == "" {
		return d.At.Before(slot)
	}
	return d.Tried.Before(slot) || now.Sub(d.Tried) >= retryAfter
}

// backup makes the daily copy, proves it where it can be read, and removes the oldest.
func (k *Keeper) backup(ctx context.Context, now time.Time) {
	name := strings.Replace(namePattern, "%s", nameOf(k.Station)+"-"+now.UTC().Format("20060102-150405"), 1)
	if len(k.Recipients) > 0 {
		name += ".age"
	}
	path := filepath.Join(k.Plan.To, name)
	err := k.known(k.Plan.To)
	if err == nil {
		err = dropParts(k.Plan.To, k.Station)
	}
	var about About
	if err == nil {
		about, err = Write(ctx, k.Record, path, k.Making)
	}
	if err == nil {
		err = k.dropOld()
	}
	if ctx.Err() != nil {
		return // the station ends
	}
	drilled := about.Lacks
	if err == nil && len(k.Recipients) == 0 {
		_, drilled = Drill(ctx, path, nil, k.Dir)
	}
	if ctx.Err() != nil {
		return
	}
	k.note(func(s *State) {
		if err != nil {
			s.Backup.bad(now, err)
			return
		}
		s.Backup.well(now, path)
		switch {
		case drilled != nil:
			s.Drill.bad(now, drilled)
		case len(k.Recipients) == 0:
			s.Drill.well(now, path)
		}
	})
	if err := errors.Join(err, drilled); err != nil {
		slog.Error("backup failed", "error", err)
	}
}

// mirrorNow says that the copy which follows the record lags behind: after a verdict, and after a time where anything was recorded,
// but not before the record had rest from the last.
func (k *Keeper) mirrorNow(now time.Time) bool {
	if k.Plan.MirrorTo == "" {
		return false
	}
	k.mu.Lock()
	d := k.state.Mirror
	k.mu.Unlock()
	since := now.Sub(d.Tried)
	if d.Failed != "" {
		return since >= min(mirrorRetry, k.Plan.Every)
	}
	if !k.followed {
		return true
	}
	commits, verdicts := k.Record.Written()
	return commits > k.copied && since >= restBetween*k.mirroring && (verdicts > k.verdicts || since >= k.Plan.Every)
}

// mirror makes the copy that follows the record.
func (k *Keeper) mirror(ctx context.Context, now time.Time) {
	commits, verdicts := k.Record.Written()
	path := filepath.Join(k.Plan.MirrorTo, "sagitta-"+nameOf(k.Station)+".db")
	began := time.Now()
	err := k.known(k.Plan.MirrorTo)
	if err == nil {
		err = dropParts(k.Plan.MirrorTo, k.Station)
	}
	if err == nil {
		err = k.Record.Follow(ctx, path)
	}
	if ctx.Err() != nil {
		return
	}
	k.mirroring = time.Since(began)
	k.mu.Lock()
	was := k.state.Mirror.Failed
	k.mu.Unlock()
	k.note(func(s *State) {
		if err != nil {
			s.Mirror.bad(now, err)
			return
		}
		s.Mirror.well(now, path)
		k.followed, k.copied, k.verdicts = true, commits, verdicts
	})
	switch {
	case err != nil && was == "":
		slog.Error("the copy does not follow the record", "error", err)
	case err == nil && was != "":
		slog.Info("the copy follows the record again", "file", path)
	}
}

// known says whether a folder is the one that copies went to before: a stick that was pulled leaves an empty folder behind, or none.
// The first time it is marked.
func (k *Keeper) known(dir string) error {
	if info, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
		return batch.Absent.Errorf("the folder %s is not there: plug in what it is on, or make it", dir)
	} else if err != nil {
		return err
	} else if !info.IsDir() {
		return batch.Mendable.Errorf("%s is a file; copies go into a folder", dir)
	}
	k.mu.Lock()
	want := k.state.Marks[dir]
	k.mu.Unlock()
	path := filepath.Join(dir, markName)
	has, err := os.ReadFile(path)
	switch {
	case err == nil && (want == "" || strings.Contains(string(has), want)):
		return nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	case want != "":
		return batch.Absent.Errorf("the folder %s is not the one that copies went to (%s in it is missing or another's): plug that one in; for a new one remove %s in the station's folder", dir, markName, stateName)
	}
	mark := rand.Text()
	if err := os.WriteFile(path, fmt.Appendf(nil, "Copies of the record of the station %s are kept in this folder.\nIt is known by this line: %s\n", k.Station, mark), 0o640); err != nil {
		return failed(err, "marking the folder "+dir)
	}
	k.note(func(s *State) {
		marks := maps.Clone(s.Marks) // who asked for the state has the one before
		if marks == nil {
			marks = map[string]string{}
		}
		marks[dir] = mark
		s.Marks = marks
	})
	return nil
}

// nameOf is a station's name as it stands in file names.
func nameOf(station string) string {
	return regexp.MustCompile(`[^\pL\pN_]+`).ReplaceAllString(station, "-")
}

// made are the scheduled copies in a folder, the oldest first.
func made(dir, station string) ([]string, error) {
	who := `.+`
	if station != "" {
		who = regexp.QuoteMeta(nameOf(station))
	}
	name := regexp.MustCompile(`^sagitta-` + who + `-(\d{8}-\d{6})\.zip(\.age)?$`)
	found, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var all []string
	for _, e := range found {
		if e.Type().IsRegular() && name.MatchString(e.Name()) {
			all = append(all, filepath.Join(dir, e.Name()))
		}
	}
	at := func(path string) string { return name.FindStringSubmatch(filepath.Base(path))[1] }
	slices.SortFunc(all, func(a, b string) int { return strings.Compare(at(a), at(b)) })
	return all, nil
}

// dropOld removes the oldest copies of this station but for as many as are kept.
func (k *Keeper) dropOld() error {
	all, err := made(k.Plan.To, k.Station)
	if err != nil {
		return err
	}
	for len(all) > max(k.Plan.Keep, 1) {
		if err := os.Remove(all[0]); err != nil {
			return fmt.Errorf("the copy was made; the oldest could not be removed: %w", err)
		}
		all = all[1:]
	}
	return nil
}

// dropParts removes what a station of this name left that was killed while it made a copy.
func dropParts(dir, station string) error {
	left := regexp.MustCompile(`^\.sagitta-` + regexp.QuoteMeta(nameOf(station)) + `(-\d{8}-\d{6}\.zip(\.age)?|\.db)\..*\` + partEnding + `$`)
	found, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range found {
		if left.MatchString(e.Name()) {
			if err := os.RemoveAll(filepath.Join(dir, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}
