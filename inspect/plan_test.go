package inspect

import (
	"math"
	"strings"
	"testing"
)

// strung is a neck as solids know it: where its crowns, nut slots and saddles are in space. Its readings follow from straight
// strings, without the rules for changes of height that predictions use.
type strung struct {
	spec   *Spec
	crowns map[string][]float64 // by track
	nut    map[int]float64      // by string, over x = 0
	saddle map[int]float64      // over x = L
}

// crown is the crown under a string: linear between the tracks at y of -17.5, 0 and 17.5 at the nut, as a board without
// a radius has it.
func (k *strung) crown(s *String, fret int) float64 {
	bassC, centreC, trebleC := k.crowns[bass][fret-1], k.crowns[centre][fret-1], k.crowns[treble][fret-1]
	if y := s.YNutMM / 17.5; y < 0 {
		return centreC + y*(centreC-bassC)
	} else {
		return centreC + y*(trebleC-centreC)
	}
}

// readings measures the neck.
func (k *strung) readings() *Readings {
	r := &Readings{Serial: "QM-T-0001"}
	l := k.spec.Neck.ScaleMM
	for i, name := range []string{bass, centre, treble} {
		t := TrackReading{Track: name, YNutMM: 17.5 * float64(i-1), YSaddleMM: 26 * float64(i-1)}
		for _, z := range k.crowns[name] {
			t.ZMM = append(t.ZMM, &z)
		}
		r.Profile = append(r.Profile, t)
	}
	for i := range k.spec.Strings {
		s := &k.spec.Strings[i]
		over := func(fret, held int) float64 {
			x, z := 0.0, k.nut[s.Number]
			if held > 0 {
				x, z = FretX(l, held), k.crown(s, held)
			}
			t := (FretX(l, fret) - x) / (l - x)
			return z + t*(k.saddle[s.Number]-z) - k.crown(s, fret)
		}
		r.Action = append(r.Action, HeightReading{String: s.Number, Fret: 12, HeightMM: over(12, 0)},
			HeightReading{String: s.Number, Fret: 12, HeldFret: 1, HeightMM: over(12, 1)})
		r.NutHeight = append(r.NutHeight, HeightReading{String: s.Number, HeightMM: over(1, 0)})
		r.Pitch = append(r.Pitch, PitchReading{String: s.Number, Cents: number(0)})
	}
	return r
}

// turn takes relief off at fret 7 by a uniform curvature before the joint, which takes the nut along.
func (k *strung) turn(mm float64) {
	l := k.spec.Neck.ScaleMM
	xb := FretX(l, 17)
	c := -mm / ((FretX(l, 7) - FretX(l, 1)) * (xb - FretX(l, 7)) / 2)
	for _, z := range k.crowns {
		for i := range 17 {
			d := xb - FretX(l, i+1)
			z[i] += c * d * d / 2
		}
	}
	for i := range k.nut {
		k.nut[i] += c * xb * xb / 2
	}
}

// needsEverything is a neck with too much relief, a high crown, a nut slot too high and an action too high.
func needsEverything() *strung {
	s, r := fullNeck(3)
	s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM = 0, 0
	s.Limits = append(s.Limits, Limit{Characteristic: Action, String: EachIndex(), Fret: NumberIndex(12), HeldFret: 1, LowerMM: number(1), UpperMM: number(2.2)})
	for i := range s.Limits {
		if s.Limits[i].Characteristic == NutHeight {
			s.Limits[i].TargetMM = number(0.45)
		}
	}
	k := &strung{spec: s, crowns: map[string][]float64{}, nut: map[int]float64{}, saddle: map[int]float64{}}
	for i, name := range []string{bass, centre, treble} {
		for n, z := range r.Profile[i].ZMM {
			y := TrackY(17.5*float64(i-1), 26*float64(i-1), 648, FretX(648, n+1))
			k.crowns[name] = append(k.crowns[name], *z+Sagitta(NominalRadius(254, 406, FretX(648, 24), FretX(648, n+1)), 2*y)) // the board made flat
		}
	}
	for i := 1; i <= 6; i++ {
		k.nut[i] = k.crowns[centre][0] + 0.52
		k.saddle[i] = k.crowns[centre][11] + 2.3
	}
	k.crowns[treble][11] += 0.09
	k.nut[2] += 0.25
	k.nut[5] += 0.06
	k.saddle[5] += 1.2
	k.turn(-0.11)
	return k
}

// TestPlanIsWhatTheNeckDoes: a neck that needs the rod, a fret levelled, a nut slot and a saddle is reworked in space, step
// after step as the one advice says. After each step every limited value is as that step predicted, or has not changed.
func TestPlanIsWhatTheNeckDoes(t *testing.T) {
	k := needsEverything()
	res := mustEvaluate(t, k.spec, k.readings(), Options{Rod: evenCurve})
	var order []string
	for i := range res.Advice {
		order = append(order, res.Advice[i].What)
	}
	if got := strings.Join(order, ", "); got != "truss rod, fret level, nut slots, action" {
		t.Fatalf("steps: %s", got)
	}
	was := mustEvaluate(t, k.spec, k.readings(), Options{SkipUncertainty: true})
	for i := range res.Advice {
		a := &res.Advice[i]
		if len(a.Predicted) == 0 || a.What != "truss rod" && len(a.Items) == 0 {
			t.Fatalf("%s without numbers: %+v", a.What, a)
		}
		switch a.What {
		case "truss rod":
			k.turn(0.5 * *a.Turns) // as an unknown rod is expected to do
		case "fret level":
			for _, item := range a.Items {
				k.crowns[item.Track][item.Fret-1] -= *item.AmountMM
			}
		case "nut slots":
			for _, item := range a.Items {
				// Out of the slot so that the string over fret 1 falls by the amount.
				k.nut[item.String] -= *item.AmountMM * 648 / (648 - FretX(648, 1))
			}
		case "action":
			for _, item := range a.Items {
				k.saddle[item.String] += *item.AmountMM
			}
		}
		now := mustEvaluate(t, k.spec, k.readings(), Options{SkipUncertainty: true})
		predicted := map[rowKey]*Predicted{}
		for j := range a.Predicted {
			p := &a.Predicted[j]
			c := Characteristic{Name: p.Name, Track: p.Track, String: p.String, Fret: p.Fret, HeldFret: p.HeldFret}
			predicted[c.key()] = p
		}
		for j := range now.Characteristics {
			c, b := &now.Characteristics[j], &was.Characteristics[j]
			if c.Zone == NoLimit {
				continue
			}
			p := predicted[c.key()]
			if p == nil {
				if math.Abs(*c.Value-*b.Value) > 2e-9 {
					t.Errorf("%s: %s goes from %v to %v and is not predicted", a.What, Words(k.spec, *c), *b.Value, *c.Value)
				}
				continue
			}
			if math.Abs(p.Value-*c.Value) > 1e-9 || math.Abs(*p.Before-*b.Value) > 1e-9 || p.Interval[0] > p.Value || p.Interval[1] < p.Value {
				t.Errorf("%s: %s goes from %v to %v, predicted %+v from %v", a.What, Words(k.spec, *c), *b.Value, *c.Value, *p, *p.Before)
			}
			if p.Zone != c.Zone {
				t.Errorf("%s: %s is %s, predicted %s", a.What, Words(k.spec, *c), c.Zone, p.Zone)
			}
		}
		was = now
	}
	if !was.Conforms {
		t.Errorf("after all steps: %s, %s", was.Disposition, was.Why)
	}
}

// evenCurve is a rod that bends the neck to a uniform curvature, as the simulated one does.
var evenCurve = RodModel{ActionRatioMean: 1, ActionRatioSD: 1e-12}

// TestPlanUncertainty: what is not known of the rod's effect goes on into the later steps. With k known exactly the interval of
// the action after the saddle is that of its reading.
func TestPlanUncertainty(t *testing.T) {
	k := needsEverything()
	r := k.readings()
	width := func(model RodModel) float64 {
		res := mustEvaluate(t, k.spec, r, Options{Rod: model})
		last := res.Advice[len(res.Advice)-1]
		for _, p := range last.Predicted {
			if p.Name == Action && p.String == 5 && p.HeldFret == 0 {
				return p.Interval[1] - p.Interval[0]
			}
		}
		t.Fatalf("no prediction: %+v", last)
		return 0
	}
	u := k.spec.ReadingU()
	unknown := width(evenCurve)
	res := mustEvaluate(t, k.spec, r, Options{Rod: evenCurve})
	rod := *res.Advice[0].Turns * 0.125 * reliefToAction(648, 1, 17, 7, 12)
	if want := 4 * math.Hypot(u, rod); math.Abs(unknown-want) > 1e-9 {
		t.Errorf("interval %v wide, want %v: the reading and the rod", unknown, want)
	}
	ratio := *res.Advice[0].Turns * 0.5 * 0.1 * reliefToAction(648, 1, 17, 7, 12)
	if want, got := 4*math.Hypot(u, math.Hypot(rod, ratio)), width(RodModel{ActionRatioMean: 1, ActionRatioSD: 0.1}); math.Abs(got-want) > 1e-9 {
		t.Errorf("interval %v wide, want %v: the reading, the rod and what it does to action", got, want)
	}
	if known := width(RodModel{MeanMM: 0.5, SDMM: 0.05, ActionRatioMean: 1, ActionRatioSD: 1e-12}); !(known < unknown) {
		t.Errorf("a known rod gives an interval of %v, an unknown one %v", known, unknown)
	}
}
