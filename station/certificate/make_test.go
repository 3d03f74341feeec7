package certificate

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A certificate that cannot be kept is told by its own name, never by that of the file in the making.
func TestWriteTellsNoTemporaryPath(t *testing.T) {
	dir := t.TempDir()
	taken := filepath.Join(dir, "tls.pem")
	if err := os.MkdirAll(filepath.Join(taken, "x"), 0o700); err != nil { // a folder that is not empty cannot be replaced
		t.Fatal(err)
	}
	for _, path := range []string{taken, filepath.Join(dir, "gone", "tls.pem")} {
		err := write(path, []byte("x"), 0o600)
		if err == nil || !strings.Contains(err.Error(), path) || strings.Contains(err.Error(), ".tls-") {
			t.Errorf("%s: %v", path, err)
		}
	}
}
