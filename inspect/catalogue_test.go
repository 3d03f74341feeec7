package inspect

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// TestCatalogueIsComplete: an entry that lacks something fails here, before a screen or a sheet shows the gap.
func TestCatalogueIsComplete(t *testing.T) {
	for i, k := range Catalogue() {
		for _, fault := range lacking(k) {
			t.Errorf("%s: %s", k.Name, fault)
		}
		if kinds[k.Name].place != i {
			t.Errorf("%s: is listed twice", k.Name)
		}
		for _, o := range Catalogue()[:i] {
			if o.Words == k.Words {
				t.Errorf("%s and %s are both called %q", o.Name, k.Name, k.Words)
			}
		}
	}
}

// TestLackingIsFound shows that each gap is found.
func TestLackingIsFound(t *testing.T) {
	for what, spoil := range map[string]func(*Kind){
		"no words": func(k *Kind) { k.Words = "" }, "no formula": func(k *Kind) { k.Formula = "" }, "no source": func(k *Kind) { k.Source = "" },
		"nothing about its sign": func(k *Kind) { k.Sign = "" }, "unit": func(k *Kind) { k.Unit = "thou" }, "no points": func(k *Kind) { k.Points = nil },
		"step": func(k *Kind) { k.Step = "" }, "no remedy": func(k *Kind) { k.Above, k.Below = Remedy{}, Remedy{} },
		"no workings": func(k *Kind) { k.work = nil }, "not involved": func(k *Kind) { k.involved = nil }, "tracks": func(k *Kind) { k.Tracks = 0 },
	} {
		k := KindOf(Twist)
		spoil(&k)
		if faults := strings.Join(lacking(k), "; "); !strings.Contains(faults, what) {
			t.Errorf("%s: found %q", what, faults)
		}
	}
}

// lacking says what an entry lacks.
func lacking(k Kind) []string {
	var faults []string
	check := func(good bool, fault string, parts ...any) {
		if !good {
			faults = append(faults, fmt.Sprintf(fault, parts...))
		}
	}
	check(k.Name != "" && strings.Trim(k.Name, "abcdefghijklmnopqrstuvwxyz_") == "", "name %q", k.Name)
	check(k.Words != "" && !strings.Contains(k.Words, "_"), "no words for people: %q", k.Words)
	check(k.Formula != "", "no formula")
	check(k.Source != "", "no source of its formula")
	check(k.Sign != "", "nothing about its sign")
	check(slices.Contains([]string{"mm", "deg", "cents"}, k.Unit), "unit %q", k.Unit)
	check(k.UsualFret == 0 || k.Fret, "a usual fret without a fret index")
	check(!k.HeldFret || k.String, "a held fret without a string")
	check(len(k.Points) > 0 != (k.Besides != ""), "no points and nothing besides, or both")
	check(len(k.Points) > 0 == (k.involved != nil), "points that are not involved, or involved ones that are not listed")
	for _, p := range k.Points {
		check(slices.Contains([]string{PointCrown, PointAction, PointNutHeight, PointPitch, PointBeam, PointLeafPasses, PointLeafStops}, p), "point %q", p)
	}
	check(k.Own == "" || slices.Contains(k.Points, k.Own), "its own point %q is not among its points", k.Own)
	check(slices.Contains(k.Points, PointCrown) == (k.Tracks > 0), "%d tracks", k.Tracks)
	check(k.work != nil, "no workings")
	check(k.Limited == (k.Step != ""), "step %q, limited %v", k.Step, k.Limited)
	check(k.Step == "" || slices.Contains(Steps(), k.Step), "step %q is none of %v", k.Step, Steps())
	for _, r := range []Remedy{k.Above, k.Below} {
		check(r.Defect == "" || len(r.Causes) > 0 && len(r.Remedies) > 0 && r.Who != "", "remedy of %q is not whole", r.Defect)
	}
	check(!k.Limited || k.Above.Defect != "" || k.Below.Defect != "", "no remedy")
	return faults
}

// TestStepsAreComplete: every step says what is done and is called for by some characteristic or by the rod.
func TestStepsAreComplete(t *testing.T) {
	for _, s := range steps() {
		if s.name == StepMeasure {
			continue // called for by what is undecided; nothing is worked on
		}
		if s.verb == "" || len(s.cautions) == 0 || s.advise == nil {
			t.Errorf("%s lacks words, cautions or advice", s.name)
		}
		if !slices.ContainsFunc(order, func(k *Kind) bool { return k.Step == s.name }) {
			t.Errorf("no characteristic calls for %s", s.name)
		}
	}
}

// inventsHistory is the one place that may pick characteristics by name: it makes up values of those that its own specifications
// limit.
const inventsHistory = "batch/history"

// explains are where each characteristic has words and figures of its own; the test of the pages asks for those of every entry.
var explains = []string{"station/web/help/", "station/web/draw/figure"}

// TestNoSecondList: outside this package and the fixtures of tests nobody names a characteristic or a step in quotes, and nobody keeps a list of them.
func TestNoSecondList(t *testing.T) {
	files := 0
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		inside := filepath.ToSlash(strings.TrimPrefix(path, ".."+string(filepath.Separator)))
		switch {
		case err != nil:
			return err
		case d.IsDir() && (inside == "inspect" || inside == inventsHistory || strings.HasSuffix(inside, "test") || strings.HasPrefix(d.Name(), ".") && len(d.Name()) > 2):
			return filepath.SkipDir
		case d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || slices.ContainsFunc(explains, func(at string) bool { return strings.HasPrefix(inside, at) }):
			return nil
		}
		set := token.NewFileSet()
		f, err := parser.ParseFile(set, path, nil, 0)
		if err != nil {
			return err
		}
		files++
		for _, n := range namings(f) {
			t.Errorf("%s: %s: read the catalogue or use the constant", set.Position(n.at), n.what)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 100 {
		t.Fatalf("only %d files seen: the test looks in the wrong place", files)
	}
}

// TestSecondListsAreFound shows that each way to name characteristics again is found.
func TestSecondListsAreFound(t *testing.T) {
	for _, body := range []string{
		`_ = map[string]bool{"level_zone": true}`,
		`_ = c.Name == "relief"`,
		`_ = a.What != "action"`,
		`switch c.Name { case "pitch": }`,
		`_ = inspect.Characteristic{Name: "twist"}`,
		`_ = []string{inspect.Relief, inspect.Twist, inspect.Action}`,
		`switch name { case inspect.Relief, inspect.Twist: case inspect.Pitch: }`,
	} {
		f, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nfunc f() {\n"+body+"\n}", 0)
		if err != nil {
			t.Fatal(err)
		}
		if len(namings(f)) == 0 {
			t.Errorf("not found: %s", body)
		}
	}
	f, err := parser.ParseFile(token.NewFileSet(), "x.go", `package x
var kinds = []Kind{"crown", "action", "pitch", "nut height"}
var tag = c.Name == inspect.Relief && p.Kind == "action"`, 0)
	if err != nil {
		t.Fatal(err)
	}
	if n := namings(f); len(n) > 0 {
		t.Errorf("found %v where none is", n)
	}
}

// naming is a place where a file names characteristics or steps by itself.
type naming struct {
	at   token.Pos
	what string
}

// most is how many characteristics one list or switch may pick out by their constants: three are a list.
const most = 2

// namings finds quoted names that can mean nothing else, quoted names against a field or in a literal of a characteristic, and lists
// and switches of constants.
func namings(f *ast.File) []naming {
	var found []naming
	tags := map[ast.Node]bool{} // struct tags and import paths are no names
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.Field:
			if n.Tag != nil {
				tags[n.Tag] = true
			}
		case *ast.BasicLit:
			if name := literal(n); !tags[n] && isName(name) && strings.ContainsAny(name, "_ ") {
				found = append(found, naming{n.Pos(), strconv.Quote(name)})
			}
		case *ast.BinaryExpr:
			for _, pair := range [2][2]ast.Expr{{n.X, n.Y}, {n.Y, n.X}} {
				if name := literal(pair[1]); namesOne(pair[0]) && isName(name) {
					found = append(found, naming{n.Pos(), "compared with " + strconv.Quote(name)})
				}
			}
		case *ast.KeyValueExpr:
			if name := literal(n.Value); namesOne(n.Key) && isName(name) {
				found = append(found, naming{n.Pos(), "named " + strconv.Quote(name)})
			}
		case *ast.SwitchStmt:
			for _, c := range n.Body.List {
				for _, e := range c.(*ast.CaseClause).List {
					if name := literal(e); n.Tag != nil && namesOne(n.Tag) && isName(name) {
						found = append(found, naming{e.Pos(), "case " + strconv.Quote(name)})
					}
				}
			}
			var cases []ast.Expr
			for _, c := range n.Body.List {
				cases = append(cases, c.(*ast.CaseClause).List...)
			}
			found = append(found, listed(n.Pos(), cases)...)
		case *ast.CompositeLit:
			found = append(found, listed(n.Pos(), n.Elts)...)
		}
		return true
	})
	return found
}

// constants are the names of this package's constants of characteristics.
var constants = sync.OnceValue(func() []string {
	f, err := parser.ParseFile(token.NewFileSet(), "catalogue.go", nil, 0)
	if err != nil {
		panic(err)
	}
	var names []string
	ast.Inspect(f, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok && len(v.Values) == 1 && kinds[literal(v.Values[0])] != nil {
			names = append(names, v.Names[0].Name)
		}
		return true
	})
	return names
})

// listed finds a list of constants.
func listed(at token.Pos, all []ast.Expr) []naming {
	seen := map[string]bool{}
	for _, e := range all {
		ast.Inspect(e, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok && slices.Contains(constants(), s.Sel.Name) {
				if x, ok := s.X.(*ast.Ident); ok && x.Name == "inspect" {
					seen[s.Sel.Name] = true
				}
			}
			return true
		})
	}
	if len(seen) <= most {
		return nil
	}
	return []naming{{at, fmt.Sprintf("a list of %d characteristics", len(seen))}}
}

// literal is the text of a string literal, "" for anything else.
func literal(n ast.Node) string {
	if l, ok := n.(*ast.BasicLit); ok && l.Kind == token.STRING {
		s, _ := strconv.Unquote(l.Value)
		return s
	}
	return ""
}

// isName reports a characteristic's or step's name in files; "nut height" and its like are kinds of points.
func isName(s string) bool { return s != "" && (kinds[s] != nil || slices.Contains(Steps(), s)) }

// namesOne reports an expression that stands for a characteristic or step: .Name, .Characteristic, .What, or the key of such a field.
func namesOne(e ast.Expr) bool {
	name := ""
	switch e := e.(type) {
	case *ast.SelectorExpr:
		name = e.Sel.Name
	case *ast.Ident:
		name = e.Name
	}
	return slices.Contains([]string{"Name", "Characteristic", "What", "name", "characteristic", "what"}, name)
}
