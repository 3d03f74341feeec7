package record

import (
	"errors"
	"fmt"
	"io/fs"

	"sagitta/batch"
)

// What can be wrong with a record, to be asked for with errors.Is; each has its kind. The errors returned add where and what to
// do. What caused one is added in words alone (%v), so that the kind stays the error's own.
var (
	ErrNoRecord      = batch.Absent.Errorf("there is no record here")
	ErrNoFolder      = batch.Absent.Errorf("the record's folder does not exist")
	ErrUnknown       = batch.Absent.Errorf("the record has no such entry")
	ErrUnknownSerial = batch.Absent.Errorf("the serial number is not registered")
	ErrInput         = batch.Mendable.Errorf("the entry cannot be taken")
	ErrExists        = batch.Conflict.Errorf("the record has this already")
	ErrFrozen        = batch.Conflict.Errorf("the specification's revision is in use and cannot change")
	ErrState         = batch.Conflict.Errorf("this cannot be done now")
	ErrMayNot        = batch.Forbidden.Errorf("this person may not do this")
	ErrUnproven      = batch.Unproven.Errorf("who does this has not proved who they are")
	ErrNotRecord     = batch.Mendable.Errorf("this file is not a record of this program")
	ErrNewer         = batch.Machine.Errorf("the record was written by a newer version of the program")
	ErrOlder         = batch.Machine.Errorf("the record was written by an older version of the program")
	ErrInUse         = batch.Machine.Errorf("the record is in use by another station or program")
	ErrReadOnly      = batch.Machine.Errorf("the record may not be written")
	ErrDiskFull      = batch.Machine.Errorf("the disk is full: this was not recorded, what was acknowledged before is safe. Make room on it and try again")
	ErrNotWritten    = batch.Machine.Errorf("the disk took no more: this was not recorded, what was acknowledged before is safe. Make room on it, or see to its quota, its limit of a file's size or its failing, and try again")
	ErrDisk          = batch.Machine.Errorf("the disk failed while the record was read or written")
	ErrCorrupt       = batch.Machine.Errorf("the record is damaged")
	ErrGone          = batch.Machine.Errorf("the record that was here is gone")
	ErrLogLost       = batch.Machine.Errorf("the record was not closed, and its log is missing")
	ErrOtherLog      = batch.Machine.Errorf("the log beside the record is of another record")
	ErrTaken         = batch.Machine.Errorf("the record's file was taken from under the station")
	ErrDerived       = batch.Machine.Errorf("what the record shows is not what was recorded")
	ErrAudit         = batch.Machine.Errorf("the record's trail is broken")
)

// translate gives a database error the sentence that fits its code; what says what was being done.
func translate(err error, what string) error {
	if err == nil {
		return nil
	}
	if kind := meant(err); kind != nil {
		return fmt.Errorf("%s: %w (%v)", what, kind, err)
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: %w (%v)", what, ErrNoRecord, err)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: %w (%v)", what, ErrReadOnly, err)
	}
	return fmt.Errorf("%s: %w", what, err)
}
