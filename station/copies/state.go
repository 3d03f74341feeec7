package copies

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"sagitta/batch/record"
)

// stateName is the file, in the station's folder, that says what became of its copies: for its strip, and for doctor.
const stateName = "copies.json"

// State is what became of a station's copies. It is no part of the record: lost, it is made anew.
type State struct {
	Plan   *Plan `json:"plan,omitempty"` // of the station that runs, or ran last
	Backup Done  `json:"backup,omitzero"`
	Mirror Done  `json:"mirror,omitzero"` // the copy that follows the record
	Drill  Done  `json:"drill,omitzero"`
	Verify Done  `json:"verify,omitzero"` // of the record itself

	Verified int64   `json:"verified,omitempty"` // entries of the trail that were there when it was found whole last
	Looked   *Looked `json:"looked,omitempty"`   // at what it found

	Marks map[string]string `json:"marks,omitempty"` // by folder: what the station wrote there to know it again
}

// Plan is when copies are made.
type Plan struct {
	To        string        `json:"to,omitempty"` // folder of the daily copies, "" for none
	At        time.Duration `json:"at,omitempty"` // after midnight
	Keep      int           `json:"keep,omitempty"`
	Encrypted bool          `json:"encrypted,omitempty"`
	MirrorTo  string        `json:"mirror_to,omitempty"` // folder of the copy that follows the record, "" for none
	Every     time.Duration `json:"every,omitempty"`
	Since     time.Time     `json:"since"` // when the station began to work by it
}

// Done is how one kind of copy went.
type Done struct {
	At     time.Time `json:"at,omitzero"`      // when it went well last
	File   string    `json:"file,omitempty"`   // that was made or proved then
	Tried  time.Time `json:"tried,omitzero"`   // when it was tried last
	Failed string    `json:"failed,omitempty"` // why it failed then, "" where it went well
	Since  time.Time `json:"since,omitzero"`   // when it failed for the first time since it went well
}

// well notes what went well, bad what failed.
func (d *Done) well(at time.Time, file string) { *d = Done{At: at, File: file, Tried: at} }

func (d *Done) bad(at time.Time, err error) {
	if d.Failed == "" {
		d.Since = at
	}
	d.Tried, d.Failed = at, err.Error()
}

// Load reads the state in a station's folder; there may be none.
func Load(dir string) (s State, err error) {
	text, err := os.ReadFile(filepath.Join(dir, stateName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return s, nil
	case err != nil:
		return s, err
	}
	if err := json.Unmarshal(text, &s); err != nil {
		return State{}, fmt.Errorf("%s is damaged (%w); remove it: it is made anew", filepath.Join(dir, stateName), err)
	}
	return s, nil
}

// save keeps the state: as a whole or not at all.
func (s State) save(dir string) error {
	text, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	part := filepath.Join(dir, "."+stateName+partEnding)
	if err := os.WriteFile(part, append(text, '\n'), 0o640); err != nil {
		return err
	}
	return record.Lasting(part, filepath.Join(dir, stateName))
}

// NoteDrill keeps what a drill found in the state of a station's folder.
func NoteDrill(dir, file string, at time.Time, failed error) error {
	s, err := Load(dir)
	if err != nil {
		return err
	}
	if failed != nil {
		s.Drill.bad(at, failed)
	} else {
		s.Drill.well(at, file)
	}
	return s.save(dir)
}

// How old things may be before somebody is told.
const (
	backupLate = 2 * time.Hour       // after it was to be made
	drillLate  = 35 * 24 * time.Hour // since the newest copy was proved
	mirrorLate = 15 * time.Minute    // of failing
	littleRoom = 2 << 30             // bytes
)

// Due is something about a record's copies that somebody should do.
type Due struct {
	What, Says, Do string
	Since          time.Time // zero where that is not known
	Grave          bool      // it comes before everything else
}

// Due lists what is due at a time; free is the room that is left for the record, negative where that is not known.
func (s State) Due(now time.Time, free int64) (due []Due) {
	if free >= 0 && free < littleRoom {
		due = append(due, Due{What: "disk", Says: fmt.Sprintf("%d MB are left on the record's disk", free>>20), Do: "Make room: when it is full no reading is taken."})
	}
	due = append(s.verifyDue(now), due...)
	if s.Plan == nil {
		return due
	}
	if s.Plan.To != "" {
		due = append(due, s.backupDue(now)...)
		due = append(due, s.drillDue(now)...)
	}
	if d := s.Mirror; s.Plan.MirrorTo != "" && d.Failed != "" {
		due = append(due, Due{What: "copy", Says: "the copy in " + s.Plan.MirrorTo + " no longer follows the record: " + d.Failed, Do: "It goes on by itself when the folder can be written to again.", Since: d.Since})
	}
	return due
}

func (s State) backupDue(now time.Time) []Due {
	slot, d := s.Plan.slot(now), s.Backup
	switch {
	case d.Failed != "":
		return []Due{{What: "backup", Says: "the last backup failed: " + d.Failed, Do: s.lastGood(), Since: d.Since}}
	case d.At.Before(slot) && s.Plan.Since.Before(slot) && now.Sub(slot) > backupLate:
		return []Due{{What: "backup", Says: "the backup that was due has not been made", Do: s.lastGood(), Since: slot}}
	}
	return nil
}

func (s State) lastGood() string {
	if s.Backup.At.IsZero() {
		return "There is none yet that went well. It is tried again each hour."
	}
	return "The last that went well is of " + s.Backup.At.Local().Format("2006-01-02 15:04") + ". It is tried again each hour."
}

func (s State) drillDue(now time.Time) []Due {
	do := "Run sagitta restore --drill " + s.Plan.To
	if s.Plan.Encrypted {
		do += " --identity FILE"
	}
	do += " on this machine."
	d := s.Drill
	from := d.At
	if from.IsZero() {
		from = s.Plan.Since
	}
	switch {
	case d.Failed != "":
		return []Due{{What: "drill", Says: "the newest backup could not be proved: " + d.Failed, Do: do, Since: d.Since}}
	case !s.Backup.At.IsZero() && now.Sub(from) > drillLate:
		return []Due{{What: "drill", Says: fmt.Sprintf("no backup was proved for %d days", int(now.Sub(from).Hours()/24)), Do: do, Since: from}}
	}
	return nil
}

// slot is when a daily copy was to be made last.
func (p Plan) slot(now time.Time) time.Time {
	y, m, d := now.Date()
	hours, minutes := int(p.At/time.Hour), int(p.At%time.Hour/time.Minute)
	at := time.Date(y, m, d, hours, minutes, 0, 0, now.Location())
	if at.After(now) {
		at = time.Date(y, m, d-1, hours, minutes, 0, 0, now.Location())
	}
	return at
}

// outOfRoom says that a disk, a quota or a limit is full.
func outOfRoom(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG) || errors.Is(err, record.ErrDiskFull) || errors.Is(err, record.ErrNotWritten)
}
