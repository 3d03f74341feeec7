package batch

import (
	"errors"
	"fmt"
	"io/fs"
	"testing"
)

func TestInTheMaking(t *testing.T) {
	if InTheMaking(nil, "x", "y") != nil {
		t.Error("an error of nothing")
	}
	none := Absent.Of(&fs.PathError{Op: "open", Path: "/hidden/part/made-17", Err: fs.ErrNotExist})
	err := InTheMaking(fmt.Errorf("opening /hidden/part/record.db: %w", none), "LOT.zip", "/hidden/part", "")
	if want := "opening LOT.zip/record.db: open LOT.zip/made-17: file does not exist"; err.Error() != want {
		t.Errorf("%q, want %q", err, want)
	}
	if err := InTheMaking(none, "LOT.zip"); err.Error() != "open LOT.zip: file does not exist" {
		t.Errorf("%q", err)
	}
	if !errors.Is(err, fs.ErrNotExist) || KindOf(err) != Absent {
		t.Error("it is not the error that it was")
	}
}
