package batch

import (
	"errors"
	"fmt"
	"io/fs"
	"testing"

	"sagitta/inspect"
)

func TestKindOf(t *testing.T) {
	mend := Mendable.Errorf("length: found %q", "x")
	for _, c := range []struct {
		err  error
		want ErrorKind
	}{
		{mend, Mendable},
		{fmt.Errorf("keeping it: %w", mend), Mendable},
		{Conflict.Of(fmt.Errorf("again: %w", mend)), Conflict},
		{errors.New("anything"), Machine},
		{fs.ErrNotExist, Machine},
		{Absent.Of(fs.ErrNotExist), Absent},
		{errors.Join(mend, Conflict.Errorf("two")), Conflict},
		{errors.Join(mend, errors.New("disk")), Machine},
		{FileError{Field: "a", Found: "b"}, Mendable},
		{fmt.Errorf("spec: %w", inspect.Faults{{Field: "neck.frets"}}), Mendable},
	} {
		if got := KindOf(c.err); got != c.want {
			t.Errorf("%v: got %d, want %d", c.err, got, c.want)
		}
	}
	if Absent.Of(nil) != nil {
		t.Error("nil was given a kind")
	}
	if !errors.Is(Absent.Of(fs.ErrNotExist), fs.ErrNotExist) {
		t.Error("an error with a kind is no longer itself")
	}
}
