package batch

import (
	"math"
	"testing"

	"sagitta/inspect"
)

func assembleSpec() *inspect.Spec {
	return &inspect.Spec{
		Neck: inspect.NeckSpec{ScaleMM: 648, Frets: 5, JointFret: 4},
		Strings: []inspect.String{
			{Number: 1, YNutMM: 17.5, YSaddleMM: 26},
			{Number: 2, YNutMM: -17.5, YSaddleMM: -26},
		},
	}
}

func TestAssembleLeavesOutWhatIsSuperseded(t *testing.T) {
	bass := func(fret int) Point { return Point{Kind: Crown, Track: "bass", Fret: fret} }
	rows := []Reading{
		{ID: "a", Point: bass(1), Value: 9},
		{ID: "b", Point: bass(1), Value: 1, Supersedes: "a"},
		{ID: "c", Point: bass(2), Value: 9},
		{ID: "d", Point: bass(2), Withdrawn: true, Supersedes: "c"},
		{ID: "e", Point: bass(3), Value: 9},
		{ID: "f", Point: bass(3), Withdrawn: true, Supersedes: "e"},
		{ID: "g", Point: bass(3), Value: 3, Supersedes: "f"},
		{ID: "h", Point: bass(4), Withdrawn: true, Reason: "fret end is gone"},
		{ID: "i", Point: bass(9), Value: 9},
		{ID: "j", Point: Point{Kind: Crown, Track: "edge", Fret: 1}, Value: 9},
		{ID: "k", Point: Point{Kind: ActionHeight, String: 2, Fret: 12, HeldFret: 1}, Value: 1.9},
		{ID: "l", Point: Point{Kind: NutHeight, String: 2}, Value: 0.4, U: 0.02},
		{ID: "m", Point: Point{Kind: Pitch, String: 2}, Value: -3},
		{ID: "n", Point: Point{Kind: PitchDeclared}, Value: 1},
		{ID: "o", Point: Point{Kind: BeamReading, Track: "bass"}, Value: 0.28, FeetMM: [2]float64{36.4, 405.3}, PlungerMM: 215.5},
		{ID: "p", Point: Point{Kind: LeafPasses, Track: "bass", Fret: 3}, Value: 0.25},
		{ID: "q", Point: Point{Kind: LeafPasses, Track: "bass", Fret: 3}, Round: 2, Value: 0.30},
		{ID: "r", Point: Point{Kind: LeafStops, Track: "bass", Fret: 3}, Value: 0.35},
	}
	in := Inspection{Serial: "QM-1", Posture: "flat", Handed: "left", Climate: inspect.Climate{HumidityPercent: new(47.0)}}
	got := Assemble(assembleSpec(), in, rows, []inspect.RodStep{{Turns: 0.25}})
	if len(got.Profile) != 1 || got.Profile[0].YNutMM != -17.5 || got.Profile[0].YSaddleMM != -26 || len(got.Profile[0].ZMM) != 5 || got.Profile[0].UMM != nil {
		t.Fatalf("profile: %+v", got.Profile)
	}
	for i, want := range []*float64{new(1.0), nil, new(3.0), nil, nil} {
		z := got.Profile[0].ZMM[i]
		if (z == nil) != (want == nil) || z != nil && *z != *want {
			t.Errorf("crown %d: got %v, want %v", i+1, z, want)
		}
	}
	if a := got.Action; len(a) != 1 || a[0] != (inspect.HeightReading{String: 2, Fret: 12, HeldFret: 1, HeightMM: 1.9}) {
		t.Errorf("action: %+v", a)
	}
	if n := got.NutHeight; len(n) != 1 || n[0].HeightMM != 0.4 || *n[0].UMM != 0.02 {
		t.Errorf("nut height: %+v", n)
	}
	if p := got.Pitch; len(p) != 1 || *p[0].Cents != -3 || p[0].Hz != nil || !got.PitchDeclared {
		t.Errorf("pitch: %+v, declared %v", p, got.PitchDeclared)
	}
	if b := got.Beam; len(b) != 1 || b[0].FeetMM[1] != 405.3 || b[0].ReadingMM != 0.28 {
		t.Errorf("beam: %+v", b)
	}
	if l := got.Leaves; len(l) != 1 || *l[0].PassesMM != 0.30 || *l[0].StopsMM != 0.35 {
		t.Errorf("leaves: %+v", l)
	}
	if got.Serial != "QM-1" || got.Posture != "flat" || got.Handed != "left" || *got.Climate.HumidityPercent != 47 || len(got.RodSteps) != 1 {
		t.Errorf("the rest: %+v", got)
	}
}

// Rounds are averaged; the part of u that differs from reading to reading falls with sqrt n, the rest stays (JCGM 100,
// 4.2.3, 5.1.2).
func TestAssembleAveragesRounds(t *testing.T) {
	g := Gauge{ResolutionMM: 0.01, CalibrationU: 0.002, RepeatabilityU: 0.003, ReferenceU: 0.002}
	rows := func(u, repeat float64) []Reading {
		all := make([]Reading, 3)
		for i := range all {
			all[i] = Reading{ID: string(rune('a' + i)), Point: Point{Kind: Crown, Track: "treble", Fret: 2}, Round: i + 1, Value: []float64{0.10, 0.11, 0.15}[i], U: u, URepeat: repeat}
		}
		return all
	}
	for _, c := range []struct {
		name      string
		u, repeat float64
		want      float64
	}{
		{"gauge", g.U(), g.URepeat(), math.Sqrt((0.01*0.01/12+0.003*0.003)/3 + 0.002*0.002 + 0.002*0.002)},
		{"parts not known", 0.006, 0, 0.006 / math.Sqrt(3)},
	} {
		got := Assemble(assembleSpec(), Inspection{}, rows(c.u, c.repeat), nil).Profile[0]
		if math.Abs(*got.ZMM[1]-0.12) > 1e-15 {
			t.Errorf("%s: mean %g, want 0.12", c.name, *got.ZMM[1])
		}
		if math.Abs(*got.UMM[1]-c.want) > 1e-15 {
			t.Errorf("%s: u %.17g, want %.17g", c.name, *got.UMM[1], c.want)
		}
	}
	mixed := rows(0.006, 0)
	mixed[1].U = 0
	if got := Assemble(assembleSpec(), Inspection{}, mixed, nil).Profile[0]; got.UMM != nil {
		t.Errorf("a round without u: got %v, want the specification's", got.UMM)
	}
}
