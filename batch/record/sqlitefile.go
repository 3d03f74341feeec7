package record

import (
	"bufio"
	"crypto/rand"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
)

// What is read of a record's file and its log of pages (write-ahead log) without SQLite, as the file format of SQLite 3 lays
// them out (sections 1.3 and 4 of its description).
//
// The file's mark, its user version, tells how the file was left. It is odd from the moment a station writes to the record until
// it has closed it, and even else; each time the log is written into the file it grows by two, and the log begins with it. A mark of 0 is one that an older
// program left. What is in the file is therefore all of it where the mark is even, and where it is odd only with its log: the
// log is never taken away, nor empty, while the mark in the file is odd. A new file and a copy begin at a random even mark, so
// that the log of one is not taken for that of another.

const (
	headLength   = 100 // of the file's head, bytes
	markAt       = 60  // the user version
	appAt        = 68  // the application's mark
	logHead      = 32  // bytes before the first frame of the log
	frameHead    = 24  // bytes of a frame before its page
	markHighest  = 1<<31 - 8
	fileMagic    = "SQLite format 3\x00"
	logMagic     = 0x377f0682 // the lowest bit says that checksums are over big-endian words
	commitsAfter = 2          // commits in a row behind a damaged frame that show that it was whole once: each was on the disk before the next
)

// randomMark is an even mark from which no other file's log is near.
func randomMark() (int64, error) {
	var b [4]byte
	if _, err := rand.Read(b[:]); err != nil {
		return 0, err
	}
	return int64(binary.BigEndian.Uint32(b[:])%(1<<29)+1<<20) &^ 1, nil
}

// head is the beginning of a record's file. ErrNotRecord where the file is none of this program's, with what was found in it.
func head(f io.ReaderAt) ([]byte, error) {
	b := make([]byte, headLength)
	n, err := f.ReadAt(b, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	switch {
	case n == 0:
		return nil, fmt.Errorf("%w: it is empty", ErrNotRecord)
	case !strings.HasPrefix(string(b[:n]), fileMagic):
		return nil, fmt.Errorf("%w: it begins with %q, a record with %q", ErrNotRecord, b[:min(n, len(fileMagic))], fileMagic[:len(fileMagic)-1])
	case n < headLength:
		return nil, fmt.Errorf("%w: it ends after %d bytes, inside its head", ErrCorrupt, n)
	}
	if id := binary.BigEndian.Uint32(b[appAt:]); id != applicationID {
		return nil, foreign(int(id))
	}
	return b, nil
}

// foreign is a database of another program.
func foreign(id int) error {
	return fmt.Errorf("%w: it is a database of another program: its mark is %d, a record's is %d", ErrNotRecord, id, applicationID)
}

func markIn(head []byte) int64 { return int64(int32(binary.BigEndian.Uint32(head[markAt:]))) }

// pageLog is what was found in a record's log of pages.
type pageLog struct {
	headed  bool    // its head is whole
	frames  int     // that are valid, up to the last commit; none where a station was killed as it began the log anew
	marks   []int64 // of the file's head in those, one for each time it was written
	damaged int     // the frame, counted from 1, that is damaged and was whole; 0 where none is
	behind  int     // commits in a row behind it
	run     int     // commits since the newest damaged frame: what is left of a commit that failed has one at most
	begun   []int64 // marks of the transaction that is read
}

// readLog reads the log of a record. fs.ErrNotExist where there is none, or it is empty.
func readLog(path string) (log pageLog, err error) {
	f, err := os.Open(path + "-wal")
	if err != nil {
		return log, err
	}
	defer func() { _ = f.Close() }()
	in := bufio.NewReaderSize(f, 1<<20)
	h := make([]byte, logHead)
	if _, err := io.ReadFull(in, h); errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return log, fs.ErrNotExist
	} else if err != nil {
		return log, err
	}
	magic, size := binary.BigEndian.Uint32(h), binary.BigEndian.Uint32(h[8:])
	if magic&^1 != logMagic || size < 512 || size > 1<<16 {
		return log, nil // as SQLite takes it: no frame in it is valid
	}
	var order binary.ByteOrder = binary.LittleEndian
	if magic&1 != 0 {
		order = binary.BigEndian
	}
	sum := checksum{order: order}
	if sum.add(h[:24]); !sum.is(h[24:]) {
		return log, nil
	}
	log.headed = true
	frame := make([]byte, frameHead+size)
	for n := 1; ; n++ {
		if _, err := io.ReadFull(in, frame); err != nil {
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				err = nil
			}
			return log.ended(), err
		}
		sum.add(frame[:8])
		sum.add(frame[frameHead:])
		round := string(frame[8:16]) == string(h[16:24]) // not an earlier one, of which frames are left
		good := round && sum.is(frame[16:])
		sum.set(frame[16:])
		log.take(n, frame, good)
	}
}

// take notes a frame that was read.
func (l *pageLog) take(n int, frame []byte, good bool) {
	commits := binary.BigEndian.Uint32(frame[4:]) != 0
	switch {
	case !good && l.damaged == 0:
		l.damaged, l.run = n, 0
	case !good:
		l.run = 0
	case l.damaged > 0 && commits:
		l.run++
		l.behind = max(l.behind, l.run)
	case l.damaged == 0:
		if binary.BigEndian.Uint32(frame) == 1 {
			l.begun = append(l.begun, markIn(frame[frameHead:]))
		}
		if commits {
			l.frames, l.marks, l.begun = n, append(l.marks, l.begun...), nil
		}
	}
}

// ended leaves out a last transaction that was cut short: nobody was told that it was done.
func (l pageLog) ended() pageLog {
	if l.behind < commitsAfter {
		l.damaged, l.behind = 0, 0
	}
	return l
}

// checksum is the log's: two sums over pairs of words.
type checksum struct {
	order  binary.ByteOrder
	s1, s2 uint32
}

func (c *checksum) add(b []byte) {
	for ; len(b) >= 8; b = b[8:] {
		c.s1 += c.order.Uint32(b) + c.s2
		c.s2 += c.order.Uint32(b[4:]) + c.s1
	}
}

func (c *checksum) is(b []byte) bool {
	return c.s1 == binary.BigEndian.Uint32(b) && c.s2 == binary.BigEndian.Uint32(b[4:])
}

func (c *checksum) set(b []byte) {
	c.s1, c.s2 = binary.BigEndian.Uint32(b), binary.BigEndian.Uint32(b[4:])
}

// whole compares a file's mark with its log. ErrLogLost, ErrOtherLog, ErrCorrupt.
func (l pageLog) whole(mark int64, err error) error {
	none := errors.Is(err, fs.ErrNotExist)
	switch {
	case err != nil && !none:
		return err
	case l.damaged > 0:
		return fmt.Errorf("%w: its log is damaged at frame %d, and what %d later commits wrote lies behind that", ErrCorrupt, l.damaged, l.behind)
	case mark == 0:
		return nil
	case mark%2 != 0 && none:
		return ErrLogLost
	case mark%2 != 0 && !l.headed:
		return fmt.Errorf("%w: the file of this name is none", ErrLogLost)
	case none || l.frames == 0 || l.of(mark):
		return nil
	}
	return ErrOtherLog
}

// of says whether a log belongs to a file with a mark: its marks are those that the file has, had, or gets next.
func (l pageLog) of(mark int64) bool {
	return len(l.marks) > 0 && l.marks[0] <= mark+2 && mark <= l.marks[len(l.marks)-1]
}
