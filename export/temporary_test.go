package export

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A file that could not be made is told by the name that was asked for, never by the one that it had in the making.
func TestWriteFileTellsNoTemporaryPath(t *testing.T) {
	path := filepath.Join(t.TempDir(), "LOT-1.xlsx")
	err := WriteFile(path, func(w io.Writer) error {
		f := w.(*os.File)
		_ = f.Close()
		_, err := f.Write([]byte("x"))
		return err
	})
	if !errors.Is(err, fs.ErrClosed) || !strings.Contains(err.Error(), path) || strings.Contains(err.Error(), ".part") {
		t.Errorf("says %v", err)
	}
	at := filepath.Join(os.TempDir(), "made-17")
	if err := temporary(&fs.PathError{Op: "write", Path: at, Err: fs.ErrPermission}); strings.Contains(err.Error(), at) || !errors.Is(err, fs.ErrPermission) {
		t.Errorf("says %v", err)
	}
	if err := temporary(&fs.PathError{Op: "write", Path: path, Err: fs.ErrPermission}); !strings.Contains(err.Error(), path) {
		t.Errorf("says %v", err)
	}
}
