package tell

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch"
)

// TestVocabularyOfTheTrail finds every entry that the record's sources write into the trail, whatever names the kind there: each is a kind of
// batch.Happenings and has its sentence.
func TestVocabularyOfTheTrail(t *testing.T) {
	written := writtenIntoTrail(t)
	if len(written) < 50 {
		t.Fatalf("only %d kinds are found in the record's sources: %q", len(written), written)
	}
	known := map[string]bool{}
	for _, h := range batch.Happenings {
		if known[h.What] {
			t.Errorf("%q stands twice in batch.Happenings", h.What)
		}
		known[h.What] = true
		if !Knows(h.What) {
			t.Errorf("%q has no sentence: give it one in batch/tell/trail.go", h.What)
		}
		if h.Matter == "" || !slices.Contains(batch.Matters, h.Matter) {
			t.Errorf("%q is of the matter %q, which nobody can look for", h.What, h.Matter)
		}
	}
	for what, at := range written {
		if !known[what] {
			t.Errorf("%s: an entry %q is written that batch.Happenings (batch/trail.go) lacks: add it there, and its sentence in batch/tell/trail.go, and plant it in TestTrailTellsWhatWasDone", at, what)
		}
		delete(known, what)
	}
	for what := range happened {
		if !slices.ContainsFunc(batch.Happenings, func(h batch.Happening) bool { return h.What == what }) {
			t.Errorf("%q has a sentence and is no kind of batch.Happenings", what)
		}
	}
	for what := range known {
		t.Errorf("batch.Happenings has %q, which nothing writes", what)
	}
	if Knows("neck painted") || Knows("signed: paint a neck") {
		t.Error("a kind that nothing writes is known")
	}
}

// completed are the values that complete what is put together where an entry is written: by what stands before or after them.
var completed = map[string][]string{
	"inspection ":      {string(batch.Open), string(batch.Parked), string(batch.Abandoned)},
	"necks ":           {string(batch.Imported), string(batch.Invented)},
	"gauge ":           {batch.CheckReconnect, batch.CheckPowerUp, batch.CheckBattery, batch.CheckSilence, batch.CheckDrop, batch.CheckEntry, batch.CheckNotWatched},
	"gauge study ":     {string(batch.StudyFinished), string(batch.StudyGivenUp), "used"},
	"outgoing audit ":  {string(batch.OutgoingAccepted), string(batch.OutgoingBetween), string(batch.OutgoingRejected), string(batch.OutgoingGivenUp)},
	"outgoing audit: ": {"conforming", "nonconforming"},
	"signed: ":         signedRights(),
	" tried":           {string(batch.UnknownName), string(batch.UnknownBadge), string(batch.UnknownCode)},
	" chosen":          {string(batch.Password), string(batch.PIN)},
}

func signedRights() (all []string) {
	for _, h := range batch.Happenings {
		if right, ok := strings.CutPrefix(h.What, "signed: "); ok && batch.Right(right).Signed() {
			all = append(all, right)
		}
	}
	return all
}

// trailSources reads what the record's sources give t.audit and w.entry as the kind.
type trailSources struct {
	*testing.T
	set   *token.FileSet
	files []*ast.File
	found map[string]string // by kind, where it is written
}

// writtenIntoTrail are the kinds of entries that the record's sources write.
func writtenIntoTrail(t *testing.T) map[string]string {
	s := &trailSources{T: t, set: token.NewFileSet(), found: map[string]string{}}
	paths, err := filepath.Glob(filepath.Join("..", "record", "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(s.set, path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err, fs.ErrInvalid)
		}
		s.files = append(s.files, f)
	}
	calls := 0
	s.functions(func(in *ast.FuncDecl) {
		s.calls(in, func(c *ast.CallExpr, name string) {
			if (name == "audit" && len(c.Args) == 4 || name == "entry" && len(c.Args) == 5) && in.Name.Name != name {
				calls++
				s.kind(in, c.Args[1])
			}
		})
	})
	if calls < 40 {
		t.Fatalf("only %d entries are written", calls)
	}
	return s.found
}

func (s *trailSources) functions(each func(*ast.FuncDecl)) {
	for _, f := range s.files {
		for _, d := range f.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && fn.Body != nil {
				each(fn)
			}
		}
	}
}

func (s *trailSources) calls(in *ast.FuncDecl, each func(c *ast.CallExpr, name string)) {
	ast.Inspect(in.Body, func(n ast.Node) bool {
		if c, ok := n.(*ast.CallExpr); ok {
			switch f := c.Fun.(type) {
			case *ast.SelectorExpr:
				each(c, f.Sel.Name)
			case *ast.Ident:
				each(c, f.Name)
			}
		}
		return true
	})
}

// kind notes which kinds an expression may be.
func (s *trailSources) kind(in *ast.FuncDecl, e ast.Expr) {
	at := s.set.Position(e.Pos()).String()
	switch e := e.(type) {
	case *ast.BasicLit:
		text, _ := strconv.Unquote(e.Value)
		s.found[text] = at
	case *ast.BinaryExpr:
		s.composed(at, e)
	case *ast.Ident:
		if !s.named(in, e.Name) {
			s.Errorf("%s: what kind of entry %s is cannot be told", at, e.Name)
		}
	default:
		s.Errorf("%s: what kind of entry this is cannot be told: write a text, or one with a value at its end or beginning that this test lists", at)
	}
}

func (s *trailSources) composed(at string, e *ast.BinaryExpr) {
	for _, side := range []ast.Expr{e.X, e.Y} {
		lit, ok := side.(*ast.BasicLit)
		if !ok {
			continue
		}
		fixed, _ := strconv.Unquote(lit.Value)
		values, known := completed[fixed]
		if !known {
			s.Errorf("%s: what completes %q is not listed in this test", at, fixed)
		}
		for _, v := range values {
			if side == e.X {
				s.found[fixed+v] = at
			} else {
				s.found[v+fixed] = at
			}
		}
		return
	}
	s.Errorf("%s: what kind of entry this is cannot be told", at)
}

// named notes what a name may be: a constant, what it is set to in the function, or what callers give for it.
func (s *trailSources) named(in *ast.FuncDecl, name string) bool {
	known := false
	text := func(e ast.Expr) {
		if _, ok := e.(*ast.BasicLit); ok {
			known = true
			s.kind(in, e)
		}
	}
	for _, f := range s.files {
		for _, d := range f.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, spec := range g.Specs {
				v := spec.(*ast.ValueSpec)
				if i := slices.IndexFunc(v.Names, func(n *ast.Ident) bool { return n.Name == name }); i >= 0 && i < len(v.Values) {
					text(v.Values[i])
				}
			}
		}
	}
	ast.Inspect(in.Body, func(n ast.Node) bool {
		if a, ok := n.(*ast.AssignStmt); ok && len(a.Lhs) == 1 {
			if id, ok := a.Lhs[0].(*ast.Ident); ok && id.Name == name {
				text(a.Rhs[0])
			}
		}
		return true
	})
	place := 0
	for _, field := range in.Type.Params.List {
		for _, n := range field.Names {
			if n.Name == name {
				s.functions(func(caller *ast.FuncDecl) {
					s.calls(caller, func(c *ast.CallExpr, called string) {
						if called == in.Name.Name {
							text(c.Args[place])
						}
					})
				})
			}
			place++
		}
	}
	return known
}
