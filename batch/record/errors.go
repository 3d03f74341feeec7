package record

import (
	"errors"
	"fmt"
	"io/fs"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What can be wrong with a record, to be asked for with errors.Is. The errors returned add where and what to do.
var (
	ErrNoRecord      = errors.New("there is no record here")
	ErrNoFolder      = errors.New("the record's folder does not exist")
	ErrNotRecord     = errors.New("this file is not a record of this program")
	ErrNewer         = errors.New("the record was written by a newer version of the program")
	ErrInUse         = errors.New("the record is in use by another station or program")
	ErrReadOnly      = errors.New("the record may not be written")
	ErrDiskFull      = errors.New("the disk is full: what was acknowledged is safe, the last entry was not taken")
	ErrDisk          = errors.New("the disk failed while the record was read or written")
	ErrCorrupt       = errors.New("the record is damaged")
	ErrAudit         = errors.New("the record's audit chain is broken")
	ErrUnknown       = errors.New("the record has no such entry")
	ErrUnknownSerial = errors.New("the serial number is not registered")
	ErrExists        = errors.New("the record has this already")
	ErrFrozen        = errors.New("the specification's revision is in use and cannot change")
	ErrState         = errors.New("this cannot be done now")
	ErrInput         = errors.New("the entry cannot be taken")
)

// translate gives a database error the sentence that fits its code; what says what was being done.
func translate(err error, what string) error {
	if err == nil {
		return nil
	}
	var coded *sqlite.Error
	if errors.As(err, &coded) {
		if kind := kindOf(coded.Code()); kind != nil {
			return fmt.Errorf("%s: %w (%w)", what, kind, err)
		}
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: %w (%w)", what, ErrNoRecord, err)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: %w (%w)", what, ErrReadOnly, err)
	}
	return fmt.Errorf("%s: %w", what, err)
}

// kindOf maps SQLite's primary result codes; nil where none fits.
func kindOf(code int) error {
	switch code & 0xff {
	case sqlite3.SQLITE_FULL:
		return ErrDiskFull
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return ErrInUse
	case sqlite3.SQLITE_CORRUPT:
		return ErrCorrupt
	case sqlite3.SQLITE_NOTADB:
		return ErrNotRecord
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return ErrReadOnly
	case sqlite3.SQLITE_IOERR:
		return ErrDisk
	}
	return nil
}

// violated says whether err is a broken constraint of the given extended code.
func violated(err error, code int) bool {
	var coded *sqlite.Error
	return errors.As(err, &coded) && coded.Code() == code
}
