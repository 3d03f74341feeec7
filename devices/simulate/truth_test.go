package simulate

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"testing"
)

// near fails unless got is within tol of want.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// plain is a flat, straight, true neck with outer strings parallel to the centre line.
func plain(scale float64, frets, joint, relief int) *Neck {
	return &Neck{
		Serial: "T", ScaleMM: scale, Frets: frets, JointFret: joint, ReliefFret: relief, TargetReliefMM: 0.3,
		Crowns: make([]CrownError, frets),
		Strings: []String{
			{Track: Track{20, 20}, Number: 1, SlotMM: 0.3, SaddleMM: 3},
			{Track: Track{-20, -20}, Number: 2, SlotMM: 0.3, SaddleMM: 3},
		},
		Rod: Rod{Double: true, MMPerTurn: 0.5, EngagedTurns: 1, SlackTurns: 0.25, TravelTurns: 2, LoosenTurns: 3},
	}
}

func TestFretPlaces(t *testing.T) {
	// Twelve-tone equal temperament by pocket calculator: the octave halves the string, two octaves leave a quarter, and
	// 648 (1 - 2^(-17/12)) = 405.27425.
	n := plain(648, 22, 17, 7)
	near(t, "fret 12", n.FretX(12), 324, 1e-9)
	near(t, "fret 17", n.FretX(17), 405.27425, 5e-6)
	near(t, "fret 24", n.FretX(24), 486, 1e-9)
}

// TestReliefOfAnArc holds a bent neck against the sagitta of a circle, s = R - sqrt(R^2 - c^2/4) (elementary geometry),
// over the chord from the nut's side to the joint: uniform curvature c is a circle of radius 1/c but for (chord/R)^2/16 of it.
func TestReliefOfAnArc(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.CurvaturePerMM = 1.0 / 50000
	track := Track{}
	a, b := n.FretX(1), n.FretX(17)
	chord := b - a
	s := 50000 - math.Sqrt(50000*50000-chord*chord/4)
	near(t, "beam in the middle of the arc", n.BeamSagitta(track, [2]float64{a, b}, (a+b)/2), s, s*chord*chord/(15*50000*50000))
	k := n.FretX(7)
	near(t, "relief at fret 7", n.Relief(track, 1, 17, 7), s*(k-a)*(b-k)/(chord*chord/4), s*chord*chord/(15*50000*50000))
	for f := 18; f <= 22; f++ {
		near(t, "extension of a straight tongue", n.Extension(track, f), 0, 1e-9)
	}
}

// TestBeamConversion: for uniform curvature two beams' readings are as the products of their arms (circle of small slope).
func TestBeamConversion(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.CurvaturePerMM = 2e-5
	a, b, k := n.FretX(1), n.FretX(17), n.FretX(7)
	s := n.BeamSagitta(Track{-17, -26}, [2]float64{60, 380}, 200)
	relief := s * (k - a) * (b - k) / ((200 - 60) * (380 - 200))
	near(t, "converted", relief, n.Relief(Track{-17, -26}, 1, 17, 7), 1e-12)
	if relief < 0.2 {
		t.Errorf("relief %g mm: the neck of this test should be bowed", relief)
	}
}

// TestReliefToAction holds the change of action that a change of relief brings against the closed form of a neck clamped
// at the joint; figures and their origin in testdata/reference/simulate/relief_to_action.json. The rod makes the change.
func TestReliefToAction(t *testing.T) {
	var table struct {
		Cases []struct {
			Scale       float64 `json:"scale_mm"`
			First       int     `json:"first"`
			Joint       int     `json:"joint"`
			ReliefFret  int     `json:"relief_fret"`
			ActionFret  int     `json:"action_fret"`
			DReliefMM   float64 `json:"d_relief_mm"`
			CurvatureMM float64 `json:"curvature_per_mm"`
			DActionMM   float64 `json:"d_action_mm"`
		} `json:"cases"`
	}
	text, err := os.ReadFile("../../testdata/reference/simulate/relief_to_action.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &table); err != nil {
		t.Fatal(err)
	}
	if len(table.Cases) < 6 {
		t.Fatalf("%d cases, want 6 or more", len(table.Cases))
	}
	for _, c := range table.Cases {
		n := plain(c.Scale, 22, c.Joint, c.ReliefFret)
		n.NutRadiusMM, n.LastFretRadiusMM = 300, 300
		n.CurvaturePerMM = 2e-5
		wasAction, err := n.Action(2, c.ActionFret, 0)
		if err != nil {
			t.Fatal(err)
		}
		wasRelief, wasCurvature := n.Bow(), n.CurvaturePerMM
		if err := n.TurnRod(-c.DReliefMM / n.Rod.MMPerTurn); err != nil {
			t.Fatal(err)
		}
		isAction, err := n.Action(2, c.ActionFret, 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "change of relief", n.Bow()-wasRelief, c.DReliefMM, 1e-9)
		near(t, "change of curvature", n.CurvaturePerMM-wasCurvature, c.CurvatureMM, 1e-14)
		near(t, "change of action", isAction-wasAction, c.DActionMM, 1e-9)
	}
}

// TestStringGeometry: similar triangles. A saddle raised by a lifts fret n by a (1 - 2^(-n/12)), a/2 at the 12th; a nut
// raised by b by b 2^(-n/12).
func TestStringGeometry(t *testing.T) {
	n := plain(648, 22, 17, 7)
	at := func(fret int) float64 {
		h, err := n.Action(1, fret, 0)
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
	near(t, "action at 12 of a straight neck", at(12), (0.3+3)/2, 1e-12)
	was12 := at(12)
	if err := n.MoveSaddle(1, 0.2); err != nil {
		t.Fatal(err)
	}
	near(t, "saddle at 12", at(12)-was12, 0.1, 1e-12)
	was12, was1 := at(12), at(1)
	if err := n.FileNutSlot(1, 0.1); err != nil {
		t.Fatal(err)
	}
	near(t, "slot at 1", at(1)-was1, -0.1*math.Exp2(-1.0/12), 1e-12)
	near(t, "slot at 12", at(12)-was12, -0.05, 1e-12)
	if err := n.RaiseNut(1, 0.1); err != nil {
		t.Fatal(err)
	}
	near(t, "slot put back", at(12), was12, 1e-12)
	// Held at fret 3 the string starts on that crown: on a straight neck the gap at fret m is the saddle's height times
	// the share of the way.
	h, err := n.Action(1, 12, 3)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pressed at fret 3", h, 3.2*(n.FretX(12)-n.FretX(3))/(648-n.FretX(3)), 1e-12)
	for _, bad := range [][3]int{{9, 12, 0}, {1, 23, 0}, {1, 0, 0}, {1, 5, 5}, {1, 5, -1}} {
		if h, err := n.Action(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("string %d, fret %d, held %d: got %g, want an error", bad[0], bad[1], bad[2], h)
		}
	}
}

func TestShapesStandApart(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.NutRadiusMM, n.LastFretRadiusMM = 250, 400
	bass, treble := n.Outer()
	if bass.YNutMM != -20 || treble.YNutMM != 20 {
		t.Fatalf("outer tracks %v and %v", bass, treble)
	}
	radius := n.drop(0, 20)
	near(t, "radius: 250 mm over 40 mm (circle)", radius, 250-math.Sqrt(250*250-400), 1e-12)

	n.TwistDeg = 0.4
	near(t, "twist", n.Twist(), 0.4, 1e-12)
	n.TwistDeg = 0
	was := n.SideDifference()
	n.lean(0.08)
	near(t, "side difference", n.SideDifference(), 0.08, 1e-9)
	near(t, "twist of a side difference", n.Twist(), 0, 1e-9)
	n.lean(was)

	n.FallAwayMM = 0.2
	near(t, "fall-away", n.FallAway(bass), 0.2, 1e-6+math.Abs(n.drop(n.FretX(22), 20)-n.drop(n.FretX(17), 20)))
	near(t, "no hump", n.Hump(treble), 0, 0.02)
	n.FallAwayMM, n.HumpMM = 0, 0.15
	if h := n.Hump(bass); h < 0.12 || h > 0.16 {
		t.Errorf("hump: got %g, want about 0.15", h)
	}

	// An S: more bow near the nut than near the joint, so that the curvature changes sign.
	n.HumpMM, n.CurvaturePerMM, n.SShapeMM = 0, 0, 0.1
	second := func(fret int) float64 {
		x := n.FretX(fret)
		return n.smooth(x+1, 0) - 2*n.smooth(x, 0) + n.smooth(x-1, 0)
	}
	if !(second(3) > 0 && second(15) < 0) {
		t.Errorf("S-shape: second derivatives %g at fret 3, %g at fret 15; want opposite signs", second(3), second(15))
	}
}

func TestCrownsBetweenAndBeyond(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.Crowns[8] = CrownError{BassMM: 0.1, TrebleMM: 0.02}
	bass, treble := n.Outer()
	near(t, "bass", n.CrownOn(bass, 9), 0.1, 1e-12)
	near(t, "treble", n.CrownOn(treble, 9), 0.02, 1e-12)
	near(t, "middle", n.CrownOn(Track{}, 9), 0.06, 1e-12)
	near(t, "surface on the fret", n.Surface(n.FretX(9), -20), 0.1, 1e-12)
	near(t, "surface half-way", n.Surface((n.FretX(9)+n.FretX(10))/2, -20), 0.05, 1e-12)
	if err := n.LevelCrown(9, "bass", 0.08); err != nil {
		t.Fatal(err)
	}
	near(t, "levelled", n.CrownOn(bass, 9), 0.02, 1e-12)
	for _, err := range []error{n.LevelCrown(23, "", 0.1), n.LevelCrown(0, "", 0.1)} {
		if !errors.Is(err, ErrNoFret) {
			t.Errorf("levelling a missing fret: %v", err)
		}
	}
	if n.LevelCrown(9, "left", 0.1) == nil || n.LevelCrown(9, "", -0.1) == nil || n.LevelCrown(9, "", math.NaN()) == nil {
		t.Error("impossible levelling was accepted")
	}
	if !math.IsNaN(n.Crown(23, 0)) || !math.IsNaN(n.Crown(0, 0)) {
		t.Error("a crown that does not exist has a height")
	}
}

func TestRod(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.CurvaturePerMM = 3e-5
	was := n.Bow()
	step := func(turns, wantFall float64) {
		t.Helper()
		before := n.Bow()
		if err := n.TurnRod(turns); err != nil {
			t.Fatal(err)
		}
		near(t, "fall", before-n.Bow(), wantFall, 1e-12)
	}
	step(0.25, 0.125)
	near(t, "pitch rises by 7 cents for 0.1 mm", n.Strings[0].Cents, 8.75, 1e-9)
	step(-1.25, -0.625) // engaged turns used up
	if !n.Rod.Slack() {
		t.Error("the rod should be slack")
	}
	step(-0.125, 0) // the slack zone
	step(-0.375, -0.125)
	near(t, "all together", n.Bow()-was, 0.625, 1e-12)
	if err := n.TurnRod(5); !errors.Is(err, ErrTravel) {
		t.Errorf("beyond the travel: %v", err)
	}
	n.Rod.Stuck = true
	before := n.Bow()
	if err := n.TurnRod(0.1); !errors.Is(err, ErrStuck) || n.Bow() != before {
		t.Errorf("stuck rod: %v, relief %g to %g", err, before, n.Bow())
	}
	single := plain(648, 22, 17, 7)
	single.Rod.Double = false
	if err := single.TurnRod(-2); err != nil {
		t.Fatal(err)
	}
	near(t, "a single-acting rod loosened beyond its tension", single.Bow(), 0.5, 1e-12)
	if !single.Rod.Slack() {
		t.Error("a loosened single-acting rod should be slack")
	}
	single.Rod.MMPerTurn = 0
	if err := single.TurnRod(0.1); !errors.Is(err, ErrNoRod) {
		t.Errorf("without a rod: %v", err)
	}
	if single.TurnRod(math.NaN()) == nil {
		t.Error("a turn that is no number was accepted")
	}
}

func TestRepairer(t *testing.T) {
	n := plain(648, 22, 17, 7)
	n.TwistDeg, n.HumpMM, n.SShapeMM, n.Rod.Stuck = 0.9, 0.2, 0.2, true
	for _, kind := range []string{RepairHump, RepairTwist, RepairBow} {
		if err := n.Repair(kind); err != nil {
			t.Fatal(err)
		}
	}
	bass, _ := n.Outer()
	near(t, "twist", n.Twist(), 0, 1e-12)
	near(t, "hump", n.Hump(bass), 0, 1e-9)
	near(t, "relief", n.Bow(), n.TargetReliefMM, 1e-12)
	if err := n.TurnRod(0.1); err != nil {
		t.Error(err)
	}
	if c, err := n.Pitch(1); err != nil || c > -5 {
		t.Errorf("pitch after a repair: %g cents, %v; want it gone", c, err)
	}
	n.Retune()
	if c, err := n.Pitch(1); err != nil || math.Abs(c) > 2 {
		t.Errorf("pitch after tuning: %g cents, %v", c, err)
	}
	if n.Repair("paint") == nil {
		t.Error("an unknown repair was accepted")
	}
}
