package bench

import (
	"strings"
	"testing"
)

// That the record is lost is said and heard once, when it becomes known; what is due for its copies is shown and makes no sound.
func TestLostRecordIsSaidAndHeardOnce(t *testing.T) {
	s := open(t)
	heard := func() (n int) {
		for _, h := range s.bench.Snapshot().Sounds {
			if h.Sound == Lost {
				n++
			}
		}
		return n
	}
	due := Concern{What: "backup", Words: "the last backup failed", ToDo: "It is tried again each hour."}
	before := s.bench.Snapshot().Notice
	s.bench.Concerned([]Concern{due})
	if snap := s.bench.Snapshot(); snap.Notice != before || heard() != 0 || len(snap.Concerns) != 1 {
		t.Errorf("a late backup is said or heard: %+v", snap.Notice)
	}
	lost := Concern{What: "record", Words: "the record's file was taken from under the station", Lost: true}
	for range 3 {
		s.bench.Concerned([]Concern{lost, due})
	}
	snap := s.bench.Snapshot()
	if snap.Notice == nil || !snap.Notice.Refused || !strings.Contains(snap.Notice.Text, "The record's file was taken") || heard() != 1 {
		t.Errorf("said is %+v, heard %d times", snap.Notice, heard())
	}
	version := snap.Version
	if s.bench.Concerned([]Concern{lost, due}); s.bench.Snapshot().Version != version {
		t.Error("what was shown already is published again")
	}
}
