package inspect

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// TestZeroFret: every value of a neck with a zero fret is what it is without one, for the nut height is the open string's over fret 1
// either way; what is out of limits is the zero fret's: never a slot that is filed or filled.
func TestZeroFret(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	r.NutHeight[5].HeightMM, r.NutHeight[0].HeightMM = 0.685, 0.1
	plain := mustEvaluate(t, s, r, Options{})
	s.Neck.ZeroFret = true
	res := mustEvaluate(t, s, r, Options{})
	if len(res.Characteristics) != len(plain.Characteristics) {
		t.Fatalf("%d values, %d without a zero fret", len(res.Characteristics), len(plain.Characteristics))
	}
	for i := range res.Characteristics {
		if a, b := res.Characteristics[i], plain.Characteristics[i]; a.Value != nil && *a.Value != *b.Value || a.Zone != b.Zone {
			t.Errorf("%s: %v %s, without a zero fret %v %s", Words(s, a), a.Value, a.Zone, b.Value, b.Zone)
		}
	}
	at := slices.IndexFunc(res.Advice, func(a Advice) bool { return a.What == StepNut })
	a, b := res.Advice[at], plain.Advice[at]
	words := AdviceWords(s, a)
	for _, want := range []string{"see to the zero fret", "take off 0.20 mm as measured over fret 1 (what still stands high off the zero fret under it)", "the zero fret is too low under it: replace it; nothing can be put on"} {
		if !strings.Contains(words, want) {
			t.Errorf("%q does not say %q", words, want)
		}
	}
	if !strings.Contains(a.Why, "see first that each lies on it and not on its slot's floor") || slices.Contains(a.Cautions, cautionSlot) {
		t.Errorf("%s %q", a.Why, a.Cautions)
	}
	for i := range a.Predicted {
		if math.Abs(a.Predicted[i].Value-b.Predicted[i].Value) > 1e-12 {
			t.Errorf("predicted %+v, without a zero fret %+v", a.Predicted[i], b.Predicted[i])
		}
	}
	var defects []string
	for _, remedy := range Remedies(s, res) {
		defects = append(defects, remedy.Defect)
	}
	if !slices.Contains(defects, "zero fret high") && !slices.Contains(defects, "zero fret low") || slices.ContainsFunc(defects, func(d string) bool { return strings.HasPrefix(d, "nut slot") }) {
		t.Errorf("remedies for %q", defects)
	}
}

// TestRodlessWords: a neck without a rod is never told to turn one: it is told strings of lower tension where it bows forward, of higher
// where it bows back, and none where its sides differ; and what its strings pull now.
func TestRodlessWords(t *testing.T) {
	for _, c := range []struct {
		reliefs [3]float64
		want    string
	}{
		{[3]float64{0.5, 0.5, 0.5}, "Strings of lower tension let it straighten; else live with it"},
		{[3]float64{-0.1, -0.1, -0.1}, "Strings of higher tension pull more relief in; else live with it"},
		{[3]float64{0.55, 0.3, 0.05}, "Strings of another tension move both sides alike and cannot even them: live with it"},
	} {
		s, r := bowed(t, "none", c.reliefs[:]...)
		res := mustEvaluate(t, s, r, Options{})
		a := res.Advice[0]
		if a.What != StepRepairer || !strings.Contains(a.Why, c.want) {
			t.Errorf("%v: %s: %s", c.reliefs, a.What, a.Why)
		}
		for _, word := range []string{"turn", "tighten", "loosen"} {
			if said := strings.ToLower(AdviceWords(s, a) + a.Why); strings.Contains(said, word) {
				t.Errorf("%v: %q speaks of a rod: %s", c.reliefs, word, said)
			}
		}
	}
}

// TestFittedRemedies: a heel is shimmed only where the neck is bolted on or nobody says how it is joined, and a saddle of one piece is
// taken down from below.
func TestFittedRemedies(t *testing.T) {
	said := func(n NeckSpec) string {
		var all []string
		for _, r := range AllRemedies() {
			all = append(all, strings.Join(r.fitted(&Spec{Neck: n}).Remedies, "; "))
		}
		return strings.Join(all, "; ")
	}
	for _, c := range []struct {
		neck        NeckSpec
		has, hasNot string
	}{
		{NeckSpec{}, "shim the heel", "set anew"},
		{NeckSpec{Joint: BoltOn}, "shim the heel", "set anew"},
		{NeckSpec{Joint: SetJoint}, "the neck set anew at a steeper angle", "shim the heel"},
		{NeckSpec{Bridge: OneSaddle}, "take the saddle down from below", "raise the saddle"},
		{NeckSpec{Bridge: TwoPosts}, "raise the saddle", "from below"},
	} {
		if words := said(c.neck); !strings.Contains(words, c.has) || strings.Contains(words, c.hasNot) {
			t.Errorf("%+v: %s", c.neck, words)
		}
	}
}

// TestBridgeCautions: a floating bridge is blocked before strings are slackened, one saddle comes out and loses material for good.
func TestBridgeCautions(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	r.Action[0].HeightMM = 2.1
	for bridge, want := range map[string]string{"": cautionSaddle, TwoPosts: cautionSaddle, OneSaddle: cautionOneSaddle, FloatingBridge: cautionFloating} {
		s.Neck.Bridge = bridge
		a := mustEvaluate(t, s, r, Options{}).Advice[0]
		if a.What != StepAction || !slices.Contains(a.Cautions, want) {
			t.Errorf("%s: %q", bridge, a.Cautions)
		}
		if bridge != FloatingBridge && slices.Contains(a.Cautions, cautionFloating) {
			t.Errorf("%s: %q", bridge, a.Cautions)
		}
	}
}
