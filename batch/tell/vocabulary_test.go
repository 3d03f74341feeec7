package tell

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// second is a second word for a thing that has one: what must not be said, and what is said instead.
type second struct {
	not, word string
	but       []string // files that may hold it, each with its reason
}

// seconds are the second words that must not come back. Keys and values of files, of the record and of other programs are not
// words for people; where one looks like a second word its file is named.
var seconds = []second{
	{not: `relief, bass less treble`, word: "relief side difference"},
	{not: `\brelief max\b`, word: "largest relief"},
	{not: `clearance margin`, word: "clearance when plucked"},
	{not: `\bfall away\b`, word: "fall-away", but: []string{"inspect/advicelevel.go a verb: frets fall away"}},
	{not: `double-action`, word: "double-acting"},
	{not: `(^|[^,] )fret (\d+|%d), (bass|treble|centre|%s)\b`, word: "the side or string first, then the fret: bass side, fret 7", but: []string{"inspect/words.go a fret that stands high is what its sentence is about"}},
	{not: `\b(bass|treble) side, at fret\b`, word: "bass side, fret 7"},
	{not: `\b(string (\d+|%d),? )over fret\b`, word: "string 6, fret 12, open"},
	{not: `\bheld at (fret )?(\d+|%d|\{\{)`, word: "pressed at fret 1"},
	{not: `running total`, word: "running sum"},
	{not: `^([Aa]t least|[Aa]t most|[Uu]p to) ?$|>(At least|At most)\b`, word: "lower limit, upper limit"},
	{not: `\bpass(es|ed)? (at first|at once|first time|the first time)\b`, word: "passed at the first inspection", but: []string{"batch/spc/summary_test.go a key of a worked example"}},
	{not: `\bfail(s|ed)? (at first|the first time)\b`, word: "failed at the first inspection"},
	{not: `pieces? of rework`, word: "rework step"},
	{not: `\bstruck\b`, word: "taken back, replaced"},
	{not: `\bsupersede[ds]?\b`, word: "taken back, replaced", but: []string{"batch/record/ columns, and names in digests"}},
	{not: `\bwithdrawn\b`, word: "taken back; of scrap: not to be used", but: []string{"batch/record/ columns, and names in digests"}},
	{not: `"remeasure"\}\}undecided`, word: "remeasure"},
	{not: `UNDECIDED`, word: "REMEASURE"},
	{not: `\babandon(ed|s)?\b`, word: "given up, give up", but: []string{"batch/inspection.go a state's value in the record", "station/web/bench/ a route", "station/web/rights.go a route", "station/web/house_test.go a route", "station/command/fullforms_linux_test.go a route"}},
	{not: `(^|[^% ]|[^%] )\bRH\b`, word: "humidity, in % RH", but: []string{"batch/intake/intake_test.go a column of somebody else's file", "station/command/import.go such a column"}},
	{not: `\bpieces? (\d+|%d) of\b|\bround %s, p`, word: "trial 2, part 3 of 10"},
	{not: `\b(last|since its last|since the last) good( check)?\b|\bgood check|\bcheck (is|was) good\b`, word: "check that passed"},
	{not: `\bgauges? (is|are) live\b|\blive and checked\b`, word: "all gauges well"},
	{not: `\bpass of (a|the) carriage\b|\b(another|second|one|new|this|the) pass along\b|\b(last|this) pass\b|\b(begins?|ends?) the pass\b|\bthe pass (has|did)\b`, word: "sweep"},
	{not: `audit chain`, word: "the record's trail"},
	{not: `\breadings? (is |was |are )?held\b|\bheld reading`, word: "questioned"},
	{not: `\btests? fire[sd]?\b`, word: "signal"},
	{not: `\bsigma (within|overall)\b|\b(within|overall) sigma\b|overall standard deviation|Cp, potential|Pp, overall`, word: "sigma inside subgroups, sigma of all values"},
	{not: `\d \+- |\+/-`, word: "±", but: []string{"station/command/terminal.go of a terminal that shows ASCII only", "station/bench/ what people type"}},
	{not: `Ctrl\+[A-Z]`, word: "Ctrl-C"},
	{not: `\b1 (turns|necks|readings|parts|frets|strings|gauges|checks|inspections)\b`, word: "the singular"},
	{not: `\bbefell\b|\bbefallen\b`, word: "happened to"},
	{not: `\bits entry\b|\bthe gauge's entry\b`, word: "the gauge's page"},
	{not: `\btwo-foot\b`, word: "beam on two feet", but: []string{"station/web/help/gauges.go a word by which it is looked for"}},
	{not: `\breckoned\b`, word: "worked out"},
	{not: `\bstands? beside\b`, word: "with it"},
	{not: `components? of variation`, word: "where the spread comes from"},
	{not: `western electric|nelson rules?\b`, word: "test 1 (Nelson 1984)"},
}

// TestOneWord fails on a second word for a thing, in what Go programs say and tests expect, in templates, in scripts, in README and
// DEVELOPERS.
func TestOneWord(t *testing.T) {
	patterns := make([]*regexp.Regexp, len(seconds))
	used := make([]map[string]bool, len(seconds))
	for i, s := range seconds {
		flags := "(?i)"
		if strings.ContainsAny(s.not, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") {
			flags = ""
		}
		patterns[i], used[i] = regexp.MustCompile(flags+s.not), map[string]bool{}
	}
	texts := 0
	look := func(at, file, text string) {
		texts++
		for i, p := range patterns {
			found := p.FindString(text)
			if found == "" {
				continue
			}
			may := false
			for _, f := range seconds[i].but {
				if may = strings.HasPrefix(file, strings.Fields(f)[0]); may {
					used[i][f] = true
					break
				}
			}
			if !may {
				t.Errorf("%s: %q; the word is %q", at, found, seconds[i].word)
			}
		}
	}
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		file, _ := filepath.Rel(root, path)
		file = filepath.ToSlash(file)
		if d.IsDir() {
			if strings.HasPrefix(d.Name(), ".") && d.Name() != ".." || d.Name() == "vendored" {
				return fs.SkipDir
			}
			return nil
		}
		switch filepath.Ext(path) {
		case ".go":
			if file == "batch/tell/vocabulary_test.go" {
				return nil
			}
			return literals(path, func(line int, text string) { look(file+":"+strconv.Itoa(line), file, text) })
		case ".html", ".js", ".md":
			if strings.HasSuffix(file, ".min.js") { // a library's
				return nil
			}
			text, err := os.ReadFile(path)
			for i, line := range strings.Split(string(text), "\n") {
				look(file+":"+strconv.Itoa(i+1), file, line)
			}
			return err
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if texts < 10000 {
		t.Errorf("only %d texts were looked at: the tree lies elsewhere", texts)
	}
	for i, s := range seconds {
		for _, f := range s.but {
			if !used[i][f] {
				t.Errorf("%q: the exception %q is not needed any more", s.not, f)
			}
		}
	}
}

// literals gives every string of a Go file but the paths of imports and the tags of fields.
func literals(path string, say func(line int, text string)) error {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	not := map[*ast.BasicLit]bool{}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			not[n.Path] = true
		case *ast.Field:
			if n.Tag != nil {
				not[n.Tag] = true
			}
		case *ast.BasicLit:
			if n.Kind == token.STRING && !not[n] {
				if text, err := strconv.Unquote(n.Value); err == nil {
					say(set.Position(n.Pos()).Line, text)
				}
			}
		}
		return true
	})
	return nil
}
