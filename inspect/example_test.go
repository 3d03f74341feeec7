package inspect_test

import (
	"fmt"
	"math"

	"sagitta/inspect"
)

// An invented four-string neck with 20 frets, its joint at fret 16, whose crowns lie on an even arc between frets 1 and 16
// and fall away by 1 in 1000 beyond; fret 12 stands 0.030 mm high on the treble side.
func exampleNeck() (*inspect.Spec, *inspect.Readings) {
	spec := &inspect.Spec{
		Name: "Quillmere long", Revision: "A",
		Neck:        inspect.NeckSpec{ScaleMM: 864, Frets: 20, JointFret: 16, Rod: "double"},
		Uncertainty: inspect.UncertaintySpec{ResolutionMM: 0.01, CalibrationMM: 0.002, RepeatabilityMM: 0.003, ReferenceMM: 0.002},
		Pluck:       &inspect.Pluck{ForceN: 0.25, DistanceMM: 130},
	}
	mass := []float64{6.3, 11.2, 18.8, 29.6}
	for i, note := range []string{"G2", "D2", "A1", "E1"} {
		hz := 440 * math.Exp2(-float64(26+5*i)/12) // fourths below the G two octaves and two semitones under A4
		y := 15 - 10*float64(i)
		spec.Strings = append(spec.Strings, inspect.String{
			Number: i + 1, Name: note, PitchHz: hz, YNutMM: y, YSaddleMM: 1.9 * y, DiameterMM: 1 + 0.5*float64(i), MassGPerM: &mass[i],
		})
	}
	readings := &inspect.Readings{Serial: "QM-2611-0001"}
	for i, name := range []string{"bass", "treble"} {
		t := inspect.TrackReading{Track: name, YNutMM: -15 + 30*float64(i), YSaddleMM: 1.9 * (-15 + 30*float64(i))}
		first, joint := inspect.FretX(864, 1), inspect.FretX(864, 16)
		for n := 1; n <= 20; n++ {
			x := inspect.FretX(864, n)
			z := -1.1e-5 * (x - first) * (joint - x) / 2
			if n > 16 {
				z = 1.1e-5*(joint-first)/2*(x-joint) - 0.001*(x-joint)
			}
			z = math.Round(z*1000) / 1000
			if name == "treble" && n == 12 {
				z += 0.030 // a high fret
			}
			t.ZMM = append(t.ZMM, &z)
		}
		readings.Profile = append(readings.Profile, t)
	}
	for i := 1; i <= 4; i++ {
		readings.Action = append(readings.Action, inspect.HeightReading{String: i, Fret: 12, HeightMM: 1.8 + 0.1*float64(i)})
		readings.NutHeight = append(readings.NutHeight, inspect.HeightReading{String: i, HeightMM: 0.44 + 0.02*float64(i)})
		cents := 0.5 * float64(i)
		readings.Pitch = append(readings.Pitch, inspect.PitchReading{String: i, Cents: &cents})
	}
	return spec, readings
}

// show evaluates the example's neck and prints the characteristics of one name.
func show(name string) {
	spec, readings := exampleNeck()
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range res.Characteristics {
		if c.Name == name && (c.Fret == 0 || c.Fret == 12 || c.Name == "relief" || c.Name == "relief_max") {
			fmt.Printf("%s: %.3f %s, U = %.3f\n", inspect.Words(spec, c), math.Round(*c.Value*1000)/1000+0, c.Unit, 2**c.U)
		}
	}
}

func ExampleEvaluate_relief() {
	show("relief")
	// Output:
	// relief, bass side, fret 7 over frets 1–16: 0.307 mm, U = 0.012
	// relief, treble side, fret 7 over frets 1–16: 0.307 mm, U = 0.012
}

func ExampleEvaluate_largestRelief() {
	show("relief_max")
	// Output:
	// largest relief, bass side, fret 7 over frets 1–16: 0.307 mm, U = 0.012
	// largest relief, treble side, fret 7 over frets 1–16: 0.307 mm, U = 0.012
}

func ExampleEvaluate_sideDifference() {
	show("relief_side_difference")
	// Output:
	// relief side difference over frets 1–16: 0.000 mm, U = 0.017
}

func ExampleEvaluate_rocker() {
	show("rocker")
	// Output:
	// rocker, bass side, fret 12: 0.000 mm, U = 0.012
	// rocker, treble side, fret 12: 0.030 mm, U = 0.012
}

func ExampleEvaluate_levelDeviation() {
	show("level_deviation")
	// Output:
	// level deviation, bass side, fret 12: 0.000 mm, U = 0.009
	// level deviation, treble side, fret 12: 0.028 mm, U = 0.011
}

func ExampleEvaluate_straightness() {
	show("straightness")
	// Output:
	// straightness, bass side: 0.357 mm, U = 0.010
	// straightness, treble side: 0.357 mm, U = 0.010
}

func ExampleEvaluate_flatness() {
	show("flatness")
	// Output:
	// flatness: 0.357 mm, U = 0.011
}

func ExampleEvaluate_levelZone() {
	show("level_zone")
	// Output:
	// level zone: 0.029 mm, U = 0.011
}

func ExampleEvaluate_hump() {
	show("hump")
	// Output:
	// hump, bass side: 0.000 mm, U = 0.000
	// hump, treble side: 0.000 mm, U = 0.000
}

func ExampleEvaluate_fallAway() {
	show("fall_away")
	// Output:
	// fall-away, bass side: 0.071 mm, U = 0.020
	// fall-away, treble side: 0.068 mm, U = 0.020
}

func ExampleEvaluate_twist() {
	show("twist")
	// Output:
	// twist: 0.000 deg, U = 0.031
}

func ExampleEvaluate_action() {
	show("action")
	// Output:
	// action, string 1, fret 12, open: 1.900 mm, U = 0.010
	// action, string 2, fret 12, open: 2.000 mm, U = 0.010
	// action, string 3, fret 12, open: 2.100 mm, U = 0.010
	// action, string 4, fret 12, open: 2.200 mm, U = 0.010
}

func ExampleEvaluate_nutHeight() {
	show("nut_height")
	// Output:
	// nut height, string 1: 0.460 mm, U = 0.010
	// nut height, string 2: 0.480 mm, U = 0.010
	// nut height, string 3: 0.500 mm, U = 0.010
	// nut height, string 4: 0.520 mm, U = 0.010
}

func ExampleEvaluate_clearance() {
	spec, readings := exampleNeck()
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range res.Clearance {
		if c.String == 4 && c.HeldFret <= 2 {
			fmt.Printf("string 4 pressed at fret %d: least %.3f mm over fret %d, when plucked %.3f mm over fret %d\n",
				c.HeldFret, *c.LeastMM, c.AtFret, *c.MarginMM, c.MarginAtFret)
		}
	}
	// Output:
	// string 4 pressed at fret 0: least 0.520 mm over fret 1, when plucked 0.451 mm over fret 1
	// string 4 pressed at fret 1: least 0.314 mm over fret 2, when plucked 0.250 mm over fret 2
	// string 4 pressed at fret 2: least 0.294 mm over fret 3, when plucked 0.234 mm over fret 3
}

func ExampleEvaluate_leastClearance() {
	show("clearance")
	// Output:
	// least clearance, string 1: 0.124 mm, U = 0.013
	// least clearance, string 2: 0.140 mm, U = 0.010
	// least clearance, string 3: 0.150 mm, U = 0.010
	// least clearance, string 4: 0.159 mm, U = 0.012
}

func ExampleEvaluate_clearanceMargin() {
	show("clearance_margin")
	// Output:
	// clearance when plucked, string 1: 0.098 mm, U = 0.013
	// clearance when plucked, string 2: 0.117 mm, U = 0.010
	// clearance when plucked, string 3: 0.130 mm, U = 0.009
	// clearance when plucked, string 4: 0.137 mm, U = 0.010
}

func ExampleEvaluate_boardRadius() {
	// Three crowns of fret 9 on a circle of 305 mm, by their depth below the middle one.
	spec, readings := exampleNeck()
	spec.Neck.NutRadiusMM, spec.Neck.LastFretRadiusMM = 305, 305
	middle := inspect.TrackReading{Track: "centre", ZMM: make([]*float64, 20)}
	readings.Profile = append(readings.Profile, middle)
	for i := range readings.Profile {
		t := &readings.Profile[i]
		z := -inspect.Sagitta(305, 2*inspect.TrackY(t.YNutMM, t.YSaddleMM, 864, inspect.FretX(864, 9)))
		t.ZMM[8] = &z
	}
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range res.Characteristics {
		if c.Name == "board_radius" {
			fmt.Printf("%s: %.1f mm, U = %.1f mm\n", inspect.Words(spec, c), *c.Value, 2**c.U)
		}
	}
	// Output:
	// board radius, fret 9: 305.0 mm, U = 5.5 mm
}

func ExampleEvaluate_intonation() {
	spec, readings := exampleNeck()
	readings.Intonation = []inspect.IntonationReading{{String: 1, Fret: 12, OpenHz: 98, FrettedHz: 196.4}}
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range res.Characteristics {
		if c.Name == "intonation" {
			fmt.Printf("%s: %.1f cents\n", inspect.Words(spec, c), *c.Value)
		}
	}
	// Output:
	// intonation, string 1, fret 12: 3.5 cents
}

func ExampleEvaluate_fretPosition() {
	// Frets 11 and 12 as measured from the nut; fret 12 belongs at half the scale.
	spec, readings := exampleNeck()
	eleven, twelve := 406.4, 432.12
	readings.FretXMM = make([]*float64, 20)
	readings.FretXMM[10], readings.FretXMM[11] = &eleven, &twelve
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range res.Characteristics {
		if c.Name == "fret_position" && c.StepMM != nil {
			fmt.Printf("%s: %+.3f mm, from the fret before %+.3f mm\n", inspect.Words(spec, c), *c.Value, *c.StepMM)
		}
	}
	// Output:
	// fret position, fret 12: +0.120 mm, from the fret before +0.032 mm
}

func ExampleEvaluate_advice() {
	// Relief of 0.306 mm where 0.20 mm is wanted: what to do, and what each value should then be.
	spec, readings := exampleNeck()
	lower, target, upper := 0.15, 0.20, 0.28
	spec.Limits = []inspect.Limit{{Characteristic: "relief", Track: "each", LowerMM: &lower, TargetMM: &target, UpperMM: &upper}}
	res, err := inspect.Evaluate(spec, readings, inspect.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range res.Advice {
		fmt.Println(inspect.StepWords(a), a.Direction, inspect.TurnsWords(*a.Turns))
		for _, p := range a.Predicted {
			fmt.Printf("%s, %s: %.3f mm, then %.3f mm (%.3f to %.3f), %s\n", p.Name, p.Track, *p.Before, p.Value, p.Interval[0], p.Interval[1], p.Zone)
		}
	}
	// Output:
	// turn the truss rod tighten 3/16 turn
	// relief, bass: 0.307 mm, then 0.213 mm (0.165 to 0.262), conforming
	// relief, treble: 0.307 mm, then 0.213 mm (0.165 to 0.262), conforming
}

func ExampleWorkings() {
	spec, readings := exampleNeck()
	w, err := inspect.Workings(spec, readings, inspect.Characteristic{Name: "relief", Track: "bass", Fret: 7})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, k := range w {
		fmt.Printf("%s: %.3f %s\n", k.Name, math.Round(k.Value*1000)/1000+0, k.Unit)
	}
	// Output:
	// x of fret 1: 48.493 mm
	// x of fret 7: 287.349 mm
	// x of fret 16: 521.121 mm
	// crown, bass side, fret 1: 0.000 mm
	// crown, bass side, fret 7: -0.307 mm
	// crown, bass side, fret 16: 0.000 mm
	// chord over fret 7: 0.000 mm
}

func ExampleEvaluate_pitch() {
	show("pitch")
	// Output:
	// pitch, string 1: 0.500 cents, U = 0.000
	// pitch, string 2: 1.000 cents, U = 0.000
	// pitch, string 3: 1.500 cents, U = 0.000
	// pitch, string 4: 2.000 cents, U = 0.000
}

func ExampleLeafZone() {
	passes, stops, lower, upper := 0.35, 0.40, 0.20, 0.36
	fmt.Println(inspect.LeafZone(&passes, &stops, &lower, &upper))
	// Output: undecided
}

func ExampleAdviseRod() {
	mean, sd := inspect.RodModel{}.NewNeck() // nothing is known of the model yet
	a := inspect.AdviseRod(0.41, 0.006, 0.30, mean, sd)
	fmt.Printf("needed %.2f turns, turn %+.4f, relief then %.3f mm (%.2f to %.2f)\n", a.Needed, a.Turns, a.PredictedMM, a.IntervalMM[0], a.IntervalMM[1])
	// Output: needed 0.22 turns, turn +0.2500, relief then 0.285 mm (0.22 to 0.35)
}

func ExampleUpdateRod() {
	u := 0.009
	mean, sd := inspect.UpdateRod(0.5, 0.125, []inspect.RodStep{{Turns: 0.25, Direction: "tighten", ReliefBeforeMM: 0.52, ReliefAfterMM: 0.40, UMM: &u}})
	fmt.Printf("a turn takes %.3f +- %.3f mm off this neck's relief\n", mean, sd)
	// Output: a turn takes 0.482 +- 0.035 mm off this neck's relief
}

func ExampleTension() {
	e4 := 440 * math.Exp2(-5.0/12) // a fourth below A4
	fmt.Printf("%.1f N\n", inspect.Tension(inspect.PlainSteelMass(0.254), 648, e4))
	// Output: 72.6 N
}

func ExamplePluckEnvelope() {
	fmt.Printf("%.3f mm\n", inspect.PluckEnvelope(0.25, 130, 648, 66, 130))
	// Output: 0.394 mm
}

func ExampleIntonationCents() {
	fmt.Printf("%+.2f cents\n", inspect.IntonationCents(82.41, 164.9, 12))
	// Output: +0.84 cents
}
