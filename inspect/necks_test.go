package inspect

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"github.com/pelletier/go-toml/v2"
)

const necksFolder = "../testdata/reference/geometry/necks"

// readNeck reads a worked neck: its specification and its readings. The specification's indexes are a number or "each",
// which the TOML library cannot put into one field, so it goes through JSON.
func readNeck(t testing.TB, name string) (*Spec, *Readings) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(necksFolder, name, "spec.toml"))
	if err != nil {
		t.Fatal(err)
	}
	var tree map[string]any
	if err := toml.Unmarshal(text, &tree); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(tree)
	if err != nil {
		t.Fatal(err)
	}
	spec, readings := &Spec{}, &Readings{}
	if err := json.Unmarshal(data, spec); err != nil {
		t.Fatal(err)
	}
	readJSON(t, filepath.Join(necksFolder, name, "readings.json"), readings)
	return spec, readings
}

func readJSON(t testing.TB, file string, into any) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
}

var neckNames = []string{
	"W1-good-neck", "W2-too-much-relief", "W3-high-fret-guarded", "W4-low-with-missing-crowns", "W5-hump", "W6-leaves-and-beam-only",
	"W7-fan-good", "W8-fan-square-at-the-nut-twisted", "W9-fan-eight-strings-high-fret", "W10-fan-low-leaves-and-beam",
}

// comparison collects the worst difference of each kind.
type comparison struct {
	t     *testing.T
	worst map[string]float64
}

func (c *comparison) same(what, kind string, got, want *float64, tolerance float64) {
	c.t.Helper()
	if (got == nil) != (want == nil) {
		c.t.Errorf("%s: got %v, want %v", what, show(got), show(want))
		return
	}
	if got == nil {
		return
	}
	d := math.Abs(*got - *want)
	c.worst[kind] = math.Max(c.worst[kind], d)
	if !(d <= tolerance) {
		c.t.Errorf("%s: got %v, want %v, differ by %.3g", what, *got, *want, d)
	}
}

func show(v *float64) any {
	if v == nil {
		return "nothing"
	}
	return *v
}

func (c *comparison) list(what, kind string, got, want []*float64, tolerance float64) {
	c.t.Helper()
	if len(got) != len(want) {
		c.t.Errorf("%s: %d entries, want %d", what, len(got), len(want))
		return
	}
	for i := range got {
		c.same(what, kind, got[i], want[i], tolerance)
	}
}

// tolerance is 1e-6, and 1e-5 for what rests on a bend curve.
func tolerance(name string) float64 {
	switch name {
	case LevelDeviation, Rocker, Hump, FallAway:
		return 1e-5
	}
	return 1e-6
}

// TestWorkedNecks compares whole results with ten worked necks computed with numpy 1.24.2 and scipy 1.10.1 (HiGHS for the
// minimum zones, an exact convex solve for the bend curves), in the same order.
func TestWorkedNecks(t *testing.T) {
	computed := map[string]bool{Intonation: true, FretPosition: true} // not read on these necks; a later characteristic has a reference of its own
	for _, name := range neckNames {
		var want Result
		readJSON(t, filepath.Join(necksFolder, name, "expected.json"), &want)
		for _, c := range want.Characteristics {
			computed[c.Name] = true
		}
	}
	for _, name := range neckNames {
		t.Run(name, func(t *testing.T) {
			spec, readings := readNeck(t, name)
			var want Result
			readJSON(t, filepath.Join(necksFolder, name, "expected.json"), &want)
			got, err := Evaluate(spec, readings, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got.Serial != want.Serial || got.Spec != want.Spec || got.Revision != want.Revision {
				t.Errorf("names: got %s %s %s, want %s %s %s", got.Serial, got.Spec, got.Revision, want.Serial, want.Spec, want.Revision)
			}
			if got.Conforms != want.Conforms || got.Disposition != want.Disposition {
				t.Errorf("got conforms %v, %s; want %v, %s", got.Conforms, got.Disposition, want.Conforms, want.Disposition)
			}
			c := comparison{t, map[string]float64{}}
			rows := slices.DeleteFunc(got.Characteristics, func(c Characteristic) bool { return !computed[c.Name] })
			compareRows(&c, rows, want.Characteristics)
			compareProfiles(&c, got.Profile, want.Profile)
			compareClearances(&c, got.Clearance, want.Clearance)
			compareAdvice(&c, got.Advice, want.Advice)
			t.Logf("worked neck %s (numpy, scipy): %d characteristics agree; largest differences %v", name, len(want.Characteristics), c.worst)
		})
	}
}

func compareRows(c *comparison, got, want []Characteristic) {
	if len(got) != len(want) {
		c.t.Errorf("%d characteristics, want %d", len(got), len(want))
	}
	for i := range min(len(got), len(want)) {
		g, w := &got[i], &want[i]
		if g.Name != w.Name || g.Track != w.Track || g.String != w.String || g.Fret != w.Fret || g.HeldFret != w.HeldFret {
			c.t.Errorf("row %d: got %v, want %v", i, g.key(), w.key())
			continue
		}
		what := g.Name + " " + g.Track + Index{Number: g.String + g.Fret}.String()
		if g.Zone != w.Zone || g.Unit != w.Unit || g.Method != w.Method || !reflect.DeepEqual(g.IntervalMM, w.IntervalMM) {
			c.t.Errorf("%s: got zone %s %s %s, want %s %s %s", what, g.Zone, g.Unit, g.Method, w.Zone, w.Unit, w.Method)
		}
		for _, v := range []struct {
			kind      string
			got, want *float64
		}{{"value", g.Value, w.Value}, {"u", g.U, w.U}, {"p", g.PConform, w.PConform}} {
			limit := tolerance(g.Name)
			if v.kind == "value" && g.Name == BoardRadius {
				limit = 1e-5 // some 300 mm: eight digits
			}
			c.same(what+" "+v.kind, v.kind, v.got, v.want, limit)
		}
		c.same(what+" lower", "limits", g.Lower, w.Lower, 0)
		c.same(what+" target", "limits", g.Target, w.Target, 0)
		c.same(what+" upper", "limits", g.Upper, w.Upper, 0)
		if (g.LeastSquares == nil) != (w.LeastSquares == nil) {
			c.t.Errorf("%s: least squares %v, want %v", what, g.LeastSquares, w.LeastSquares)
		} else if g.LeastSquares != nil {
			a, b := g.LeastSquares, w.LeastSquares
			c.list(what+" least squares", "least squares", []*float64{&a.T, &a.P, &a.V, &a.Q}, []*float64{&b.T, &b.P, &b.V, &b.Q}, 1e-6)
		}
	}
}

func compareProfiles(c *comparison, got, want []TrackProfile) {
	if len(got) != len(want) {
		c.t.Fatalf("%d profiles, want %d", len(got), len(want))
	}
	for i := range got {
		g, w := &got[i], &want[i]
		if g.Track != w.Track || len(g.XMM) != len(w.XMM) {
			c.t.Fatalf("profile %s of %d, want %s of %d", g.Track, len(g.XMM), w.Track, len(w.XMM))
		}
		for j := range g.XMM {
			c.same(g.Track+" x", "x", &g.XMM[j], &w.XMM[j], 1e-6)
		}
		c.list(g.Track+" relief", "profile", g.ReliefMM, w.ReliefMM, 1e-6)
		c.list(g.Track+" bend", "profile", g.BendMM, w.BendMM, 1e-5)
		c.list(g.Track+" level deviation", "profile", g.LevelDeviationMM, w.LevelDeviationMM, 1e-5)
		c.list(g.Track+" rocker", "profile", g.RockerMM, w.RockerMM, 1e-5)
		c.list(g.Track+" extension", "profile", g.ExtensionMM, w.ExtensionMM, 1e-5)
	}
}

func compareClearances(c *comparison, got, want []Clearance) {
	if len(got) != len(want) {
		c.t.Fatalf("%d clearances, want %d", len(got), len(want))
	}
	for i := range got {
		g, w := &got[i], &want[i]
		if g.String != w.String || g.HeldFret != w.HeldFret || g.AtFret != w.AtFret || g.MarginAtFret != w.MarginAtFret {
			c.t.Errorf("clearance %d: got %+v, want %+v", i, *g, *w)
		}
		c.same("clearance", "clearance", g.LeastMM, w.LeastMM, 1e-6)
		c.same("margin", "clearance", g.MarginMM, w.MarginMM, 1e-6)
	}
}

func compareAdvice(c *comparison, got, want []Advice) {
	if len(got) != len(want) {
		c.t.Fatalf("advice %+v, want %+v", got, want)
	}
	for i := range got {
		g, w := &got[i], &want[i]
		if g.Order != w.Order || g.What != w.What || g.Direction != w.Direction {
			c.t.Errorf("advice: got %+v, want %+v", *g, *w)
		}
		c.same("turns", "advice", g.Turns, w.Turns, 1e-12)
		c.same("predicted relief", "advice", g.PredictedReliefMM, w.PredictedReliefMM, 1e-6)
		if (g.IntervalMM == nil) != (w.IntervalMM == nil) {
			c.t.Errorf("interval: got %v, want %v", g.IntervalMM, w.IntervalMM)
		} else if g.IntervalMM != nil {
			c.same("interval", "advice", &g.IntervalMM[0], &w.IntervalMM[0], 1e-6)
			c.same("interval", "advice", &g.IntervalMM[1], &w.IntervalMM[1], 1e-6)
		}
	}
}
