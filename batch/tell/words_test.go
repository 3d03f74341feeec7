package tell

import (
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// TestOwnWordsAreForWhatIsSaid: whatever has a builder's word is said somewhere in a factory's. Where that is put otherwise its key here is, too.
func TestOwnWordsAreForWhatIsSaid(t *testing.T) {
	var all strings.Builder
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		own := filepath.Base(path) == "words.go" || strings.HasSuffix(path, "_test.go")
		if err != nil || d.IsDir() || own || !strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, ".html") {
			return err
		}
		text, err := os.ReadFile(path)
		all.Write(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for key := range builders {
		if !strings.Contains(all.String(), strconv.Quote(key)) {
			t.Errorf("%q is said nowhere", key)
		}
	}
}
