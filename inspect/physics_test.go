package inspect

import (
	"math"
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

// agree checks a value against a reference and notes the fewest digits seen.
func agree(t *testing.T, what string, got, want, tolerance float64, fewest *float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %v, want %v, differ by %.3g", what, got, want, math.Abs(got-want))
	}
	*fewest = math.Min(*fewest, kerneltest.Digits(got, want))
}

// TestRodReferences: conjugate Normal updates and advice recomputed with numpy 1.24.2.
func TestRodReferences(t *testing.T) {
	var ref struct {
		Updates []struct {
			Pairs    [][3]float64 `json:"pairs_turns_fall_u"`
			Mean, SD float64
		}
		Advice []struct {
			Relief    float64    `json:"relief_mm"`
			U         float64    `json:"u_mm"`
			Target    float64    `json:"target_mm"`
			K         float64    `json:"k_mm_per_turn"`
			SD        float64    `json:"k_sd"`
			Needed    float64    `json:"turns_needed"`
			Turns     float64    `json:"turns"`
			Predicted float64    `json:"predicted_relief_mm"`
			Interval  [2]float64 `json:"interval_mm"`
		}
	}
	kerneltest.Load(t, "rod.json", &ref)
	fewest := 16.0
	for _, c := range ref.Updates {
		var steps []RodStep
		for _, p := range c.Pairs {
			s := RodStep{Turns: math.Abs(p[0]), Direction: "tighten", ReliefBeforeMM: 0.4, ReliefAfterMM: 0.4 - p[1], UMM: &p[2]}
			if p[0] < 0 {
				s.Direction = "loosen"
			}
			steps = append(steps, s)
		}
		mean, sd := RodModel{}.NewNeck()
		agree(t, "prior mean", mean, 0.5, 1e-15, &fewest)
		agree(t, "prior sd", sd, 0.125, 1e-15, &fewest)
		mean, sd = UpdateRod(mean, sd, steps)
		agree(t, "mean", mean, c.Mean, 1e-12, &fewest)
		agree(t, "sd", sd, c.SD, 1e-12, &fewest)
	}
	for _, c := range ref.Advice {
		a := AdviseRod(c.Relief, c.U, c.Target, c.K, c.SD)
		agree(t, "needed", a.Needed, c.Needed, 1e-12, &fewest)
		agree(t, "turns", a.Turns, c.Turns, 0, &fewest)
		agree(t, "predicted", a.PredictedMM, c.Predicted, 1e-12, &fewest)
		agree(t, "low", a.IntervalMM[0], c.Interval[0], 1e-12, &fewest)
		agree(t, "high", a.IntervalMM[1], c.Interval[1], 1e-12, &fewest)
	}
	if len(ref.Updates) == 0 || len(ref.Advice) == 0 {
		t.Fatal("no references")
	}
	t.Logf("rod.json (numpy): %d updates and %d turns agree to %.1f digits", len(ref.Updates), len(ref.Advice), fewest)
}

// TestRoundingOfTurns: halves of a sixteenth round away from zero (definition), and a rod that moves nothing gets no turn.
func TestRoundingOfTurns(t *testing.T) {
	for _, c := range []struct{ needed, turns float64 }{{1.0 / 32, 1.0 / 16}, {-1.0 / 32, -1.0 / 16}, {3.0 / 32, 2.0 / 16}, {1.0 / 33, 0}, {7, 0.25}, {-7, -0.25}} {
		if a := AdviseRod(0.25+c.needed, 0, 0.25, 1, 0); a.Turns != c.turns {
			t.Errorf("needed %v: got %v turns, want %v", c.needed, a.Turns, c.turns)
		}
	}
	if a := AdviseRod(0.5, 0.01, 0.3, 0, 0.1); a.Turns != 0 || a.PredictedMM != 0.5 {
		t.Errorf("k = 0: got %+v", a)
	}
}

// TestLearnRod: a model learns from pairs of several necks with the spread between necks added to each pair's noise
// (definition, checked against the formula written out for one pair).
func TestLearnRod(t *testing.T) {
	u := 0.009
	m := LearnRod(&Spec{}, []RodStep{{Turns: 0.25, Direction: "tighten", ReliefBeforeMM: 0.5, ReliefAfterMM: 0.42, UMM: &u}})
	prior := 0.125*0.125 - 0.05*0.05
	noise := math.Pow(0.009/0.25, 2) + 0.05*0.05
	variance := 1 / (1/prior + 1/noise)
	mean := variance * (0.5/prior + 0.08/0.25/noise)
	if math.Abs(m.MeanMM-mean) > 1e-12 || math.Abs(m.SDMM-math.Sqrt(variance)) > 1e-12 || m.Pairs != 1 {
		t.Errorf("got %+v, want mean %v sd %v", m, mean, math.Sqrt(variance))
	}
	if _, sd := m.NewNeck(); math.Abs(sd-math.Sqrt(variance+0.0025)) > 1e-12 {
		t.Errorf("new neck's sd %v", sd)
	}
	if LearnRod(&Spec{}, nil) != (RodModel{}) {
		t.Error("nothing learned must be the default")
	}
}

// TestReliefToActionReferences: closed form recomputed with numpy 1.24.2; saddle move by similar triangles.
func TestReliefToActionReferences(t *testing.T) {
	var ref struct {
		Cases []struct {
			Scale   float64 `json:"scale_mm"`
			First   int     `json:"first"`
			Joint   int     `json:"joint"`
			Relief  int     `json:"relief_fret"`
			Action  int     `json:"action_fret"`
			DRelief float64 `json:"d_relief_mm"`
			DAction float64 `json:"d_action_mm"`
		}
		Saddle []struct {
			DH    float64 `json:"dh_mm"`
			Fret  int     `json:"fret"`
			Scale float64 `json:"scale_mm"`
			DZ    float64 `json:"dz_saddle_mm"`
		} `json:"saddle_move"`
	}
	kerneltest.Load(t, "relief_to_action.json", &ref)
	fewest := 16.0
	for _, c := range ref.Cases {
		got := c.DRelief * reliefToAction(c.Scale, c.First, c.Joint, c.Relief, c.Action)
		agree(t, "action", got, c.DAction, 1e-12, &fewest)
	}
	for _, c := range ref.Saddle {
		agree(t, "saddle", saddleMove(c.Scale, c.DH, c.Fret), c.DZ, 1e-12, &fewest)
	}
	if len(ref.Cases) == 0 || len(ref.Saddle) == 0 {
		t.Fatal("no references")
	}
	t.Logf("relief_to_action.json (numpy): %d cases and %d saddle moves agree to %.1f digits", len(ref.Cases), len(ref.Saddle), fewest)
}

// TestPluckedReferences: amplitude and envelope recomputed, with a check against two travelling waves (d'Alembert).
func TestPluckedReferences(t *testing.T) {
	var ref struct {
		Cases []struct {
			Force     float64 `json:"force_n"`
			Distance  float64 `json:"distance_mm"`
			Length    float64 `json:"length_mm"`
			Tension   float64 `json:"tension_n"`
			Amplitude float64 `json:"amplitude_mm"`
			Envelope  []struct {
				From  float64 `json:"from_held_end_mm"`
				Depth float64 `json:"depth_mm"`
			}
		}
	}
	kerneltest.Load(t, "plucked.json", &ref)
	fewest := 16.0
	for _, c := range ref.Cases {
		agree(t, "amplitude", PluckAmplitude(c.Force, c.Distance, c.Length, c.Tension), c.Amplitude, 1e-12, &fewest)
		for _, e := range c.Envelope {
			agree(t, "depth", PluckEnvelope(c.Force, c.Distance, c.Length, c.Tension, e.From), e.Depth, 1e-12, &fewest)
		}
	}
	if len(ref.Cases) == 0 {
		t.Fatal("no references")
	}
	t.Logf("plucked.json: %d cases agree to %.1f digits", len(ref.Cases), fewest)
	if PluckEnvelope(1, 130, 100, 70, 50) != 0 {
		t.Error("a pluck beyond the held end moves nothing")
	}
}

// TestEnvelopeIsTwoTravellingWaves: the lowest shape over a period, from two halves of the first shape travelling either
// way and reflected with their sign changed at both ends (d'Alembert), is the envelope.
func TestEnvelopeIsTwoTravellingWaves(t *testing.T) {
	const length, p, force, tension = 600.0, 130.0, 0.5, 70.0
	a := PluckAmplitude(force, p, length, tension)
	first := func(d float64) float64 { // from the held end; the pluck is at length - p
		d = math.Mod(math.Mod(d, 2*length)+2*length, 2*length)
		sign := 1.0
		if d > length {
			d, sign = 2*length-d, -1
		}
		if d <= length-p {
			return sign * a * d / (length - p)
		}
		return sign * a * (length - d) / p
	}
	var worst float64
	for d := 0.0; d <= length; d += 10 {
		lowest := math.Inf(1)
		for s := 0.0; s < 2*length; s += 1 {
			lowest = math.Min(lowest, (first(d-s)+first(d+s))/2)
		}
		worst = math.Max(worst, math.Abs(-lowest-PluckEnvelope(force, p, length, tension, d)))
	}
	if worst > 1e-9 {
		t.Errorf("envelope differs from the travelling waves by %v mm of %v", worst, a)
	}
	t.Logf("d'Alembert's two waves: envelope agrees to %.1g mm of %.3f", worst, a)
}

// TestTensionReferences: a printed technicians' example and a textbook problem (H. D. Young and R. A. Freedman, University
// Physics, 14th ed., problem 15.74), and plain steel strings recomputed.
func TestTensionReferences(t *testing.T) {
	var ref struct {
		Plain []struct {
			Diameter float64 `json:"diameter_mm"`
			Scale    float64 `json:"scale_mm"`
			Hz       float64 `json:"hz"`
			Mass     float64 `json:"mass_g_per_m"`
			Tension  float64 `json:"tension_n"`
		} `json:"plain_steel"`
		Printed struct {
			Pounds float64 `json:"printed_lbf"`
			SI     float64 `json:"computed_with_si"`
		} `json:"printed_example"`
		Textbook struct {
			A []struct {
				Hz   float64 `json:"hz"`
				Mass float64 `json:"mass_g_per_m"`
			} `json:"part_a_mass_g_per_m"`
			B float64 `json:"part_b_tension_of_E2_string_at_G3_n"`
		} `json:"textbook_problem"`
	}
	kerneltest.Load(t, "tensions.json", &ref)
	fewest := 16.0
	for _, c := range ref.Plain {
		agree(t, "mass", PlainSteelMass(c.Diameter), c.Mass, 1e-9, &fewest)
		agree(t, "tension", Tension(PlainSteelMass(c.Diameter), c.Scale, c.Hz), c.Tension, 1e-9, &fewest)
	}
	const inch, newtonsPerPound, poundsPerCubicInch = 25.4, 4.4482216152605, 27679.904710203
	density := 0.283 * poundsPerCubicInch // kg/m^3
	mass := PlainSteelMass(0.020*inch) * density / 7850
	pounds := Tension(mass, 16*inch, 440) / newtonsPerPound
	if math.Abs(pounds-ref.Printed.SI) > 1e-4 { // the density was rounded on its way to SI
		t.Errorf("printed example in SI: got %v, want %v", pounds, ref.Printed.SI)
	}
	// The list divides by 386.4 in/s^2 where standard gravity is 386.0886.
	if math.Abs(pounds*386.0886/386.4-ref.Printed.Pounds) > 0.05 {
		t.Errorf("printed example: got %.3f lbf, printed %v", pounds, ref.Printed.Pounds)
	}
	for _, c := range ref.Textbook.A {
		agree(t, "textbook a", Tension(c.Mass, 647.7, c.Hz), 78, 1e-9, &fewest)
	}
	if len(ref.Textbook.A) > 0 {
		agree(t, "textbook b", Tension(ref.Textbook.A[0].Mass, 647.7, 196), ref.Textbook.B, 1e-8, &fewest)
	}
	t.Logf("tensions.json: %d plain strings and problem 15.74 agree to %.1f digits; printed 45.6 lbf, got %.2f", len(ref.Plain), fewest, pounds)
}

// TestFrequencyReferences: equal-tempered notes, B. H. Suits, Physics of Music - Notes (printed to two decimals), and OEIS
// A329207 and A329211 to more.
func TestFrequencyReferences(t *testing.T) {
	var ref struct {
		Notes []struct {
			Note    string
			Hz      float64
			Printed float64 `json:"printed_hz"`
		}
	}
	kerneltest.Load(t, "frequencies.json", &ref)
	if len(ref.Notes) == 0 {
		t.Fatal("no references")
	}
	fewest := 16.0
	for _, c := range ref.Notes {
		got, err := noteHz(c.Note)
		if err != nil {
			t.Fatal(err)
		}
		agree(t, c.Note, got, c.Hz, 5.1e-7, &fewest)
		if math.Abs(got-c.Printed) > 0.0051 {
			t.Errorf("%s: got %v, printed %v", c.Note, got, c.Printed)
		}
	}
	e4, _ := noteHz("E4")
	agree(t, "E4", e4, 329.6275569128692973584, 1e-10, &fewest)
	c4, _ := noteHz("C4")
	agree(t, "C4", c4, 261.6255653005986346778, 1e-10, &fewest)
	sharp, _ := noteHz("F#3")
	flat, err := noteHz("Gb3")
	if err != nil || sharp != flat {
		t.Errorf("F#3 %v, Gb3 %v, %v", sharp, flat, err)
	}
	for _, bad := range []string{"", "H2", "E", "E22", "Ex2", "e2", "E-"} {
		if _, err := noteHz(bad); err == nil {
			t.Errorf("note %q was read", bad)
		}
	}
	t.Logf("frequencies.json (printed table; OEIS): %d notes agree to %.1f digits", len(ref.Notes), fewest)
}

// TestBowReferences: a beam under end moments bends into a curve whose middle deflection is M L^2/(8 EI) (J. M. Gere and B.
// J. Goodno, Mechanics of Materials, tables of deflections). Relief over frets with that beam's shape is its chord height.
func TestBowReferences(t *testing.T) {
	var ref struct {
		Cases []struct {
			EI        float64 `json:"EI_N_m2"`
			Moment    float64 `json:"moment_N_m"`
			Span      float64 `json:"span_mm"`
			Curvature float64 `json:"curvature_per_mm"`
			Middle    float64 `json:"middle_deflection_mm"`
			Quarter   float64 `json:"quarter_deflection_mm"`
		}
	}
	kerneltest.Load(t, "bow.json", &ref)
	if len(ref.Cases) == 0 {
		t.Fatal("no references")
	}
	fewest := 16.0
	for _, c := range ref.Cases {
		deflection := func(x float64) float64 { return c.Curvature * x * (c.Span - x) / 2 } // below the chord
		agree(t, "middle", reliefAt(0, c.Span/2, c.Span, 0, -deflection(c.Span/2), 0), c.Middle, 1e-12, &fewest)
		agree(t, "quarter", reliefAt(0, c.Span/4, c.Span, 0, -deflection(c.Span/4), 0), c.Quarter, 1e-12, &fewest)
		// A neck of that curvature: relief at fret 7 over 1 to 17 and a beam on the same neck agree.
		const scale = 648.0
		z := make([]float64, 22)
		for i := range z {
			x := FretX(scale, i+1)
			z[i] = c.Curvature*x*x/2 - 0.01*x + 3
		}
		want := reliefOver(scale, z, 1, 7, 17)
		spec := &Spec{Neck: NeckSpec{ScaleMM: scale, Frets: 22, JointFret: 17}}
		b := BeamReading{FeetMM: [2]float64{20, 460}, PlungerMM: 250}
		b.ReadingMM = c.Curvature * (b.PlungerMM - b.FeetMM[0]) * (b.FeetMM[1] - b.PlungerMM) / 2
		agree(t, "beam", beamReliefOver(spec, b), want, 1e-12, &fewest)
	}
	t.Logf("bow.json (Gere and Goodno): %d beams agree to %.1f digits", len(ref.Cases), fewest)
}

// TestBeamAndWeights: beam on two feets converted, and the uncertainty of relief by its weights (numpy).
func TestBeamAndWeights(t *testing.T) {
	var ref struct {
		Scale float64 `json:"scale_mm"`
		Cases []struct {
			Feet    [2]float64 `json:"feet_mm"`
			Plunger float64    `json:"plunger_mm"`
			Reading float64    `json:"reading_mm"`
			A, B, K int
			Relief  float64 `json:"relief_mm"`
		}
		U struct {
			UZ      float64    `json:"u_z_mm"`
			Weights [3]float64 `json:"weights"`
			U       float64    `json:"u_relief_mm"`
		} `json:"relief_uncertainty"`
	}
	kerneltest.Load(t, "beam_and_uncertainty.json", &ref)
	fewest := 16.0
	for _, c := range ref.Cases {
		spec := &Spec{Neck: NeckSpec{ScaleMM: ref.Scale, Frets: 22, JointFret: 17}, Datum: Datum{c.A, c.B, c.K}}
		agree(t, "beam", beamReliefOver(spec, BeamReading{FeetMM: c.Feet, PlungerMM: c.Plunger, ReadingMM: c.Reading}), c.Relief, 1e-12, &fewest)
	}
	uncertainty := UncertaintySpec{ResolutionMM: 0.01, CalibrationMM: 0.002, RepeatabilityMM: 0.003, ReferenceMM: 0.002}
	agree(t, "u_z", uncertainty.readingU(), ref.U.UZ, 1e-15, &fewest)
	u := ref.U.UZ * math.Sqrt(ref.U.Weights[0]*ref.U.Weights[0]+ref.U.Weights[1]*ref.U.Weights[1]+1)
	agree(t, "u relief", u, ref.U.U, 1e-12, &fewest)
	t.Logf("beam_and_uncertainty.json: %d beams agree to %.1f digits", len(ref.Cases), fewest)
}

// TestLeafReferences: the logic of feeler leaves, case by case, and the open ends (definition).
func TestLeafReferences(t *testing.T) {
	var ref struct {
		Leaves []struct {
			Passes float64 `json:"passes_mm"`
			Stops  float64 `json:"stops_mm"`
			Lower  *float64
			Upper  *float64
			Zone   Zone
		}
	}
	kerneltest.Load(t, "conformance.json", &ref)
	if len(ref.Leaves) == 0 {
		t.Fatal("no references")
	}
	for _, c := range ref.Leaves {
		if got := LeafZone(&c.Passes, &c.Stops, c.Lower, c.Upper); got != c.Zone {
			t.Errorf("leaves %v to %v: got %s, want %s", c.Passes, c.Stops, got, c.Zone)
		}
	}
	v := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		passes, stops, lower, upper *float64
		want                        Zone
	}{
		{nil, v(0.05), v(0.2), v(0.36), Nonconforming}, // not even the thinnest goes in
		{nil, v(0.30), v(0.2), v(0.36), Undecided},
		{nil, v(0.30), nil, v(0.36), Conforming},
		{v(0.40), nil, v(0.2), v(0.36), Nonconforming}, // every leaf goes in
		{v(0.30), nil, v(0.2), v(0.36), Undecided},
		{v(0.30), nil, v(0.2), nil, Conforming},
		{v(0.30), v(0.35), nil, nil, NoLimit},
	} {
		if got := LeafZone(c.passes, c.stops, c.lower, c.upper); got != c.want {
			t.Errorf("leaves %v to %v in %v to %v: got %s, want %s", show(c.passes), show(c.stops), show(c.lower), show(c.upper), got, c.want)
		}
	}
	t.Logf("conformance.json: %d leaf intervals agree", len(ref.Leaves))
}
