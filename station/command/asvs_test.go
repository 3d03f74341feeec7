package command

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestSecurityTable: every line of the table of the ASVS is whole, in order and there once, and the tests that it names exist.
func TestSecurityTable(t *testing.T) {
	text, err := os.ReadFile("../../testdata/security/asvs.md")
	if err != nil {
		t.Fatal(err)
	}
	exist := testsOfAll(t)
	named := regexp.MustCompile(`\b(?:Test|Fuzz|Benchmark)[A-Z]\w*`)
	why := regexp.MustCompile(`^(by design|does not apply|missing): \S`)
	number := regexp.MustCompile(`^\d+(\.\d+\.\d+)?$`)
	seen := map[string]bool{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), " | ")
		if !strings.HasPrefix(line, "| ") || strings.HasPrefix(line, "| number") || strings.HasPrefix(line, "| ---") {
			continue
		}
		if len(cells) != 4 || !number.MatchString(strings.TrimSpace(cells[0])) || strings.Trim(cells[1], "12, ") != "" || cells[2] == "" {
			t.Errorf("not a whole line: %s", line)
			continue
		}
		if id := strings.TrimSpace(cells[0]); seen[id] {
			t.Errorf("%s is there twice", id)
		} else {
			seen[id] = true
		}
		tests := named.FindAllString(cells[3], -1)
		if len(tests) == 0 && !why.MatchString(cells[3]) {
			t.Errorf("%s is held by nothing, and says no reason: %s", cells[0], cells[3])
		}
		for _, test := range tests {
			if !exist[test] {
				t.Errorf("%s names %s, which is no test", cells[0], test)
			}
		}
	}
	if len(seen) < 150 {
		t.Errorf("%d lines", len(seen))
	}
}

// testsOfAll are the names of all tests, fuzz targets and benchmarks of the module.
func testsOfAll(t *testing.T) map[string]bool {
	t.Helper()
	all := map[string]bool{}
	declared := regexp.MustCompile(`(?m)^func ((?:Test|Fuzz|Benchmark)\w+)\(`)
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, name := range declared.FindAllSubmatch(text, -1) {
			all[string(name[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}
