package faults

import (
	"path/filepath"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/copies"
)

// theDay is when a station begins to keep copies.
var theDay = time.Date(2026, 11, 2, 9, 0, 0, 0, time.UTC)

// restore brings a copy back in the record's place, and says "closed" when it is done.
func (w *worker) restore(from string) {
	if _, _, err := copies.Restore(w.ctx, from, copies.Restoring{Dir: filepath.Dir(w.path), Station: "bench 1", Replace: true, Now: time.Now()}); err != nil {
		w.say("refused restoring: %v", err)
		return
	}
	w.say("closed")
}

// keeper keeps daily copies in the folder daily beside the record, and one that follows it in the folder mirror.
func keeper(path string, db *record.DB, now func() time.Time) *copies.Keeper {
	dir := filepath.Dir(path)
	k := &copies.Keeper{Record: db, Making: copies.Making{Dir: dir, Station: "bench 1", Program: "faults", Now: now},
		Plan: copies.Plan{To: filepath.Join(dir, "daily"), Keep: 2, MirrorTo: filepath.Join(dir, "mirror")}}
	k.Start()
	return k
}

// keep works for so many days, makes the copies of each, and says "kept N" with the newest entry of the trail that is in them.
func (w *worker) keep(days int) error {
	db, err := record.Open(w.path, record.Options{Station: "bench 1"})
	if err != nil {
		return err
	}
	now := theDay
	k := keeper(w.path, db, func() time.Time { return now })
	for range days {
		now = now.AddDate(0, 0, 1)
		if _, err := db.AddPerson(w.ctx, manager, "Apprentice "+now.Format(time.DateOnly), batch.Inspector); err != nil {
			return err
		}
		k.Look(w.ctx)
		for _, due := range k.Due(now, 1<<40) {
			w.say("refused copies: %s: %s", due.What, due.Says)
		}
		last, err := db.Audit(w.ctx, 1)
		if err != nil {
			return err
		}
		w.say("kept %d", last[0].Seq)
	}
	if err := db.Close(); err != nil {
		return err
	}
	w.say("closed")
	return nil
}
