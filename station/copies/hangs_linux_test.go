package copies_test

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"sagitta/batch/record/recordtest"
	"sagitta/station/copies"
)

// TestStateIsToldWhileItsFolderHangs: the strip and the pages ask what is due while a station's folder takes or gives nothing.
func TestStateIsToldWhileItsFolderHangs(t *testing.T) {
	s := recordtest.New(t)
	dir := t.TempDir()
	now := time.Date(2026, 12, 1, 9, 0, 0, 0, time.Local)
	k := &copies.Keeper{Record: s.DB, Making: copies.Making{Dir: dir, Station: "bench 1", Now: func() time.Time { return now }}}
	k.Start()
	file := filepath.Join(dir, "copies.json")
	kept := recordtest.Must(os.ReadFile(file))(t)
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(file, 0o640); err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		k.Verify(t.Context(), now)
	}()
	hanging := recordtest.Must(os.OpenFile(file, os.O_WRONLY, 0))(t) // opens when the keeper is reading, which gets nothing
	if due, st := k.Due(now, -1), k.State(); len(due) != 0 || !st.Verify.At.IsZero() {
		t.Errorf("due %+v of %+v while the keeper reads", due, st)
	}
	if _, err := hanging.Write(kept); err != nil {
		t.Fatal(err)
	}
	if err := hanging.Close(); err != nil {
		t.Fatal(err)
	}
	<-done
	if st := recordtest.Must(copies.Load(dir))(t); !st.Verify.At.Equal(now) {
		t.Errorf("kept %+v", st)
	}
}
