package specs

import (
	_ "embed"
)

// exampleSpec is a complete, commented specification of an invented six-string to start from.
//
//go:embed example.toml
var exampleSpec string

// specKey says what a block of a specification's text holds.
type specKey struct{ Block, Keys, About string }

// specKeys lists the blocks of a specification's text with their keys and units.
func specKeys() []specKey {
	return []specKey{
		{"", "name, revision", "text; together they name the specification"},
		{"[neck]", "scale_mm, frets, joint_fret, nut_radius_mm, last_fret_radius_mm, rod, rod_turns_left, kind, joint, zero_fret, bridge", "words of the trade; mm; fret numbers; rod single, double or none; turns; kind, joint, zero_fret and bridge may be left out. A multi-scale neck has scale_bass_mm and scale_treble_mm, of its outermost strings, instead of scale_mm, and may name its perpendicular_fret; scale_in is the scale in inches, instead of scale_mm"},
		{"[[string]]", "number, name, pitch_hz, y_nut_mm, y_saddle_mm, diameter_mm, plain, material, mass_g_per_m", "one block a string: Hz, mm from the middle line, g per metre: of a wound string estimated where it is left out, of nylon never"},
		{"[[track]]", "name, y_nut_mm, y_saddle_mm", "mm; may be left out: bass and treble run under the outer strings"},
		{"[datum]", "first_fret, second_fret, relief_fret", "fret numbers; may be left out"},
		{"[decision]", "rule, guard_factor", "simple, guarded_acceptance or guarded_rejection; may be left out"},
		{"[uncertainty]", "resolution_mm, calibration_mm, repeatability_mm, reference_mm", "mm; may be left out"},
		{"[pluck]", "force_n, distance_mm", "newtons; mm from the saddle; may be left out"},
		{"[routine]", "tracks, profile, action_frets, strings, pitch, posture, closing", "what is measured, in words; closing true or false; may be left out"},
		{"[plan]", "first_pass_percent, final_percent", "planned yields, percent of the inspected necks; may be left out"},
		{"[alarms]", "characteristics, tests, least_necks", "characteristics whose charts are watched; run tests 1 to 8; inspected necks from which a yield is compared with its plan; may be left out"},
		{"[[limit]]", "characteristic, track, string, fret, held_fret, lower_mm, target_mm, upper_mm", "one block a limit; _deg instead of _mm for twist, _cents for pitch"},
	}
}
