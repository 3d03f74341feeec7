package app

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// allowed are the arrows of dependency between the top-level folders: what each may import besides itself.
var allowed = map[string][]string{
	"inspect":  {},
	"devices":  {},
	"batch":    {"inspect"},
	"export":   {"batch", "inspect"},
	"station":  {"export", "batch", "devices", "inspect", "testdata"},
	"testdata": {},
}

// TestArrows fails with every import that goes against the arrows, test files included.
func TestArrows(t *testing.T) {
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports,TestImports,XTestImports", "../../...", "../../testdata/demo")
	out, err := cmd.Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			t.Fatalf("go list: %s", exit.Stderr)
		}
		t.Fatal(err)
	}
	dec := json.NewDecoder(strings.NewReader(string(out)))
	packages := 0
	for {
		var p struct {
			ImportPath                         string
			Imports, TestImports, XTestImports []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		packages++
		from := top(p.ImportPath)
		may, known := allowed[from]
		if !known {
			t.Errorf("%s: %q is no top-level folder of this project", p.ImportPath, from)
			continue
		}
		for _, wrong := range against(from, may, append(append(p.Imports, p.TestImports...), p.XTestImports...)) {
			t.Errorf("%s imports %s: %s may import only itself and %v", p.ImportPath, wrong, from, may)
		}
	}
	if packages < 8 {
		t.Fatalf("only %d packages seen: the test looks in the wrong place", packages)
	}
}

// TestArrowsAreGuarded shows that a wrong import is found.
func TestArrowsAreGuarded(t *testing.T) {
	got := against("inspect", allowed["inspect"], []string{"math", "sagitta/inspect", "sagitta/batch/record"})
	if len(got) != 1 || got[0] != "sagitta/batch/record" {
		t.Fatalf("got %v, want the import of sagitta/batch/record", got)
	}
}

// top is the top-level folder of one of our import paths, "" for others.
func top(path string) string {
	rest, ours := strings.CutPrefix(path, "sagitta/")
	if !ours {
		return ""
	}
	folder, _, _ := strings.Cut(rest, "/")
	return folder
}

// against lists the imports that a folder may not have.
func against(from string, may, imports []string) []string {
	var wrong []string
next:
	for _, path := range imports {
		to := top(path)
		if to == "" || to == from {
			continue
		}
		for _, ok := range may {
			if to == ok {
				continue next
			}
		}
		wrong = append(wrong, path)
	}
	return wrong
}
