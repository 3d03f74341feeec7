package app

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// arrows is the direction of dependency: what of ours the program's packages may import, and nothing else. A name that ends
// in /... stands for a folder and all below it; of the names on the left the nearest that fits a package counts.
var arrows = map[string]string{
	"inspect":              "inspect/unit inspect/fit inspect/zone",
	"inspect/unit":         "",
	"inspect/fit":          "",
	"inspect/...":          "inspect/unit inspect/fit", // each a piece of arithmetic that knows of no neck
	"inspect/internal/...": "inspect/...",

	"batch":                   "batch/study batch/sampling inspect inspect/unit inspect/laying",
	"batch/anchor":            "batch",
	"batch/stat":              "",
	"batch/study":             "batch/stat",
	"batch/sampling":          "batch/stat",
	"batch/spc":               "batch/stat batch/study",
	"batch/tell":              "batch batch/anchor batch/life batch/stat batch/spc batch/study batch/sampling inspect inspect/laying inspect/unit",
	"batch/files":             "batch inspect inspect/unit",
	"batch/files/filestest":   "inspect",
	"batch/intake":            "batch batch/files batch/tell inspect inspect/unit",
	"batch/history":           "batch inspect inspect/unit",
	"batch/history/visits":    "batch batch/files batch/instrument batch/record inspect",
	"batch/instrument":        "inspect inspect/unit",
	"batch/life":              "batch inspect",
	"batch/watched":           "batch batch/spc inspect",
	"batch/photograph":        "batch batch/record",
	"batch/record":            "batch batch/anchor batch/files batch/sampling batch/study batch/tell inspect",
	"batch/record/recordtest": "batch/... inspect inspect/unit testdata/demo",

	"devices":              "devices/decode devices/decode/infer inspect/unit",
	"devices/decode/infer": "devices/decode",
	"devices/...":          "inspect/unit",

	"export":        "batch batch/anchor batch/stat batch/spc batch/study batch/tell export/symbol inspect inspect/unit",
	"export/sheet":  "batch batch/anchor batch/files batch/instrument batch/photograph batch/tell export/symbol inspect inspect/unit",
	"export/symbol": "",
	"export/label":  "batch batch/tell export/sheet export/symbol inspect/unit",

	"station":                 "station/command",
	"station/command":         "station/app station/binding station/certificate station/copies station/demo station/doctor station/signon station/web batch/... devices/... export/... inspect/...",
	"station/demo":            "station/app station/bench station/bench/routine station/signon batch batch/history batch/history/visits batch/photograph batch/record batch/tell devices devices/simulate export inspect inspect/unit testdata/demo",
	"station/app":             "station/anchors station/binding station/certificate station/bench station/alarm station/copies station/doctor station/signon station/web station/web/site batch batch/record batch/tell devices devices/decode inspect",
	"station/anchors":         "batch batch/anchor batch/record",
	"station/binding":         "batch devices devices/decode/infer",
	"station/certificate":     "",
	"station/copies":          "batch batch/anchor batch/photograph batch/record",
	"station/signon":          "station/bench/scan batch",
	"station/faults":          "", // tests alone
	"station/doctor":          "station/binding station/certificate station/copies batch batch/record batch/tell devices",
	"station/alarm":           "station/bench batch batch/spc batch/tell batch/watched inspect inspect/unit",
	"station/bench":           "station/bench/... batch batch/tell batch/study batch/sampling devices devices/decode inspect/...",
	"station/bench/benchtest": "station/bench station/bench/routine batch batch/record batch/record/recordtest devices devices/decode inspect",
	"station/bench/routine":   "batch batch/tell inspect inspect/sweep inspect/laying inspect/unit",
	"station/bench/gate":      "batch batch/tell inspect inspect/unit",
	"station/bench/scan":      "",

	// Of the pages only web itself knows the groups; no group knows another, and what they share knows none.
	"station/web":         "station/copies station/signon station/web/... " + pagesMay,
	"station/web/...":     "station/signon station/web/site station/web/form station/web/draw station/web/show " + pagesMay,
	"station/web/trail":   "station/copies station/web/site station/web/form batch batch/anchor batch/tell export",
	"station/web/about":   "station/certificate station/web/site",
	"station/web/webtest": "station/signon station/web/site station/web/show station/bench/... batch batch/record/... inspect inspect/unit testdata/usb",

	"testdata/...": "",
}

const pagesMay = "station/binding station/bench/... batch/... devices devices/decode devices/decode/infer export export/label export/sheet export/symbol inspect/..."

// testArrows are those of test files, between the folders at the top.
var testArrows = map[string]string{
	"inspect/...":  "inspect/...",
	"devices/...":  "devices/... inspect/unit testdata/terminal testdata/usb",
	"batch/...":    "batch/... inspect/...",
	"export/...":   "export/... batch/... inspect/... testdata/usb",
	"station/...":  "station/... export/... batch/... devices/... inspect/... testdata/...",
	"testdata/...": "testdata/...",
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
		for _, of := range []struct {
			table   map[string]string
			imports []string
		}{{arrows, p.Imports}, {testArrows, append(p.TestImports, p.XTestImports...)}} {
			wrong, may, known := against(of.table, p.ImportPath, of.imports)
			if !known {
				t.Errorf("%s is a package without arrows: say in this test what it may import", p.ImportPath)
			}
			for _, path := range wrong {
				t.Errorf("%s imports %s; it may import of ours: %s", p.ImportPath, path, may)
			}
		}
	}
	if packages < 8 {
		t.Fatalf("only %d packages seen: the test looks in the wrong place", packages)
	}
}

// TestArrowsAreGuarded shows that a wrong import is found, between folders and inside one, and a package without arrows.
func TestArrowsAreGuarded(t *testing.T) {
	for _, c := range []struct{ from, to, wrong string }{
		{"inspect", "inspect/unit batch/record", "batch/record"},
		{"devices/decode", "inspect/unit inspect", "inspect"},
		{"batch/spc", "batch/study batch", "batch"},
		{"station/web/gauges", "station/web/form station/web/people", "station/web/people"},
		{"station/web/form", "station/web/gauges", "station/web/gauges"},
		{"station/bench/routine", "station/bench", "station/bench"},
		{"station/web", "station/web/gauges station/command", "station/command"},
	} {
		imports := []string{"math", "github.com/spf13/cobra"}
		for _, to := range strings.Fields(c.to) {
			imports = append(imports, module+to)
		}
		wrong, _, known := against(arrows, module+c.from, imports)
		if !known || len(wrong) != 1 || wrong[0] != c.wrong {
			t.Errorf("%s imports %s: found %v wrong, want %s", c.from, c.to, wrong, c.wrong)
		}
	}
	if _, _, known := against(arrows, module+"helpers", nil); known {
		t.Error("a package that the table does not have passes")
	}
}

const module = "sagitta/"

// against lists which imports a package may not have, and what it may.
func against(table map[string]string, path string, imports []string) (wrong []string, may string, known bool) {
	from := strings.TrimPrefix(path, module)
	nearest := -1
	for name, of := range table {
		depth := 2 * strings.Count(strings.TrimSuffix(name, "/..."), "/")
		if name == from {
			depth++
		}
		if fits(name, from) && depth > nearest {
			nearest, may, known = depth, of, true
		}
	}
next:
	for _, path := range imports {
		to, ours := strings.CutPrefix(path, module)
		if !ours || to == from {
			continue
		}
		for name := range strings.FieldsSeq(may) {
			if fits(name, to) {
				continue next
			}
		}
		wrong = append(wrong, to)
	}
	return wrong, may, known
}

// fits says whether a package is the one named, or in the folder of a name that ends in /...
func fits(name, pkg string) bool {
	folder, below := strings.CutSuffix(name, "/...")
	return pkg == folder || below && strings.HasPrefix(pkg, folder+"/")
}
