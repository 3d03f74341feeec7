package record

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// SQLite's own ways stand in sqlite.go, and those of its files in the others of that beginning, so that a second engine needs those,
// migrations of its own, and nothing else.
func TestSQLiteStaysInOneFile(t *testing.T) {
	own := regexp.MustCompile(`modernc\.org|PRAGMA|sqlite_|\browid\b|serial_parts|\bMATCH\b|json_each|->>|INSERT OR |\biif\(|\bprintf\(|\bstrftime\(|LastInsertId|VACUUM|LIMIT -1|ON CONFLICT DO UPDATE|Unix(Nano)?\(`)
	files := must(filepath.Glob("*.go"))(t)
	seen := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") || strings.HasPrefix(file, "sqlite") && file != "sqlite.go" {
			continue
		}
		for i, line := range strings.Split(string(must(os.ReadFile(file))(t)), "\n") {
			found := own.FindString(line)
			switch {
			case found == "" || strings.HasPrefix(strings.TrimSpace(line), "//"):
			case file == "sqlite.go":
				seen++
			default:
				t.Errorf("%s:%d: %s is SQLite's own, or a time's form: it belongs into sqlite.go", file, i+1, found)
			}
		}
	}
	if seen < 10 {
		t.Errorf("sqlite.go has %d lines of the kind looked for; is the pattern right?", seen)
	}
}
