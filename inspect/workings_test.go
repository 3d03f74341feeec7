package inspect

import (
	"math"
	"strings"
	"testing"

	"sagitta/inspect/fit"
)

// working returns the quantity of a name, else the last whose name begins so.
func working(t *testing.T, all []Working, name string) float64 {
	t.Helper()
	for _, w := range all {
		if w.Name == name {
			return w.Value
		}
	}
	for i := len(all) - 1; i >= 0; i-- {
		if strings.HasPrefix(all[i].Name, name) {
			return all[i].Value
		}
	}
	t.Fatalf("no %q among %v", name, all)
	return 0
}

// fromWorkings puts together what the tests of single characteristics know of their workings, by name.
var fromWorkings = map[string]func(of func(name string) float64) float64{}

// TestWorkingsGiveTheValue: put together as the formula says, the intermediate values give every characteristic of every
// worked neck.
func TestWorkingsGiveTheValue(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range []string{"W1-good-neck", "W4-low-with-missing-crowns", "W5-hump", "W6-leaves-and-beam-only"} {
		s, r := readNeck(t, name)
		if name == "W1-good-neck" {
			r.Intonation = []IntonationReading{{String: 6, Fret: 12, OpenHz: 82.41, FrettedHz: 164.9}}
			r.FretXMM = make([]*float64, s.Neck.Frets)
			r.FretXMM[3] = number(133.9)
		}
		for _, c := range mustEvaluate(t, s, r, Options{}).Characteristics {
			if c.Value == nil {
				if _, err := Workings(s, r, c); err == nil && c.IntervalMM == nil {
					t.Errorf("%s: workings of what was not measured", Words(s, c))
				}
				continue
			}
			seen[c.Name] = true
			w, err := Workings(s, r, c)
			if err != nil {
				t.Fatal(err)
			}
			of := func(name string) float64 { t.Helper(); return working(t, w, name) }
			var got float64
			switch c.Name {
			case Relief, ReliefMax:
				switch c.Method {
				case "beam":
					got = of("reading") * of("factor")
				case "leaves":
					got = (of("thickest") + of("thinnest")) / 2
				default:
					got = of("chord") - of("crown, "+Place(c.Track, 0, c.Fret))
				}
			case SideDifference:
				got = of("relief, bass") - of("relief, treble")
			case Straightness, Flatness, LevelZone:
				var sum float64 // of the multipliers: the proof's weights
				for _, k := range w {
					if strings.HasSuffix(k.Name, "multiplier") {
						sum += k.Value
					}
				}
				if math.Abs(sum-1) > 1e-9 {
					t.Errorf("%s: multipliers sum to %v", Words(s, c), sum)
				}
				continue
			case LevelDeviation:
				got = of("crown, ") - of("bend curve at")
			case Rocker:
				got = of("crown above")
				if c.Fret < filled(s).Datum.SecondFret {
					got -= of("what the bend curve")
				}
			case Hump:
				got = max(0, of("crown, ")-of("tangent"))
			case FallAway:
				got = of("tangent") - of("crown, ")
			case Twist:
				d := filled(s).Datum
				got = of("cross-slope at fret "+Index{Number: d.SecondFret}.String()) - of("cross-slope at fret "+Index{Number: d.FirstFret}.String())
			case BoardRadius:
				var y, z []float64
				for _, k := range w {
					switch {
					case strings.HasPrefix(k.Name, "place"):
						y = append(y, k.Value)
					case strings.HasPrefix(k.Name, "crown"):
						z = append(z, k.Value)
					}
				}
				if got, err = fit.CircleRadius(y, z); err != nil {
					t.Fatal(err)
				}
			case Action, NutHeight:
				got = of("height")
			case LeastClearance, ClearanceMargin:
				got = of("string over fret "+Index{Number: int(of("nearest"))}.String()) - of("crown ")
				if c.Name == ClearanceMargin {
					got -= of("plucked envelope")
				}
			case Pitch:
				got = 1200 * math.Log2(of("pitch as read")/of("target pitch"))
			case Intonation:
				got = 1200 * math.Log2(of("pressed at fret")/of("equal temperament"))
			case FretPosition:
				got = of("place as measured") - of("place by")
			default:
				together, ok := fromWorkings[c.Name]
				if !ok {
					t.Fatalf("nothing puts %s together from its workings: its own test adds that to fromWorkings", c.Name)
				}
				got = together(of)
			}
			if math.Abs(got-*c.Value) > 1e-9*math.Max(1, math.Abs(*c.Value)) {
				t.Errorf("%s: %s is %v, its workings give %v: %v", name, Words(s, c), *c.Value, got, w)
			}
		}
	}
	for name := range kinds {
		if !seen[name] {
			t.Errorf("no worked neck has %s", name)
		}
	}
	s, r := readNeck(t, "W1-good-neck")
	for _, c := range []Characteristic{{Name: Rocker, Track: bass, Fret: 99}, {Name: LeastClearance, String: 44}, {Name: "none"}, {Name: Pitch, String: -1}} {
		if _, err := Workings(s, r, c); err == nil {
			t.Errorf("workings of %+v", c)
		}
	}
}
