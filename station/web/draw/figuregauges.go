package draw

import (
	"fmt"

	"sagitta/station/web/show"
)

// theGauges are the figures of gauges: where each stands, and which way its reading grows.
var theGauges = map[string]func(f *figure){
	show.HelpOnCarriage: func(f *figure) { f.carriage(1, f.last, f.k, "every crown, on each track in turn") },
	show.HelpOnSweep: func(f *figure) {
		f.carriage(1, f.last, f.k, "")
		f.arrow("hand", f.of(f.k)+24, 118, f.of(f.k)+84, 118)
		f.text(f.of(f.k)+24, 108, "start", "one slow push to the end")
		f.words = "The carriage is pushed along the track from the nut to the last fret in one go, its plunger on the crowns; the highest point over each fret is that fret's crown. A higher crown reads higher."
	},
	show.HelpOnHeightGauge: func(f *figure) {
		top, under := f.overUsualFret()
		f.heightGauge(208, top, under)
		f.words = "The gauge's foot stands on the top of the fret beside the string; its finger is raised until it just touches the underside. A higher string reads higher."
	},
	show.HelpOnCaliper: func(f *figure) {
		top, under := f.overUsualFret()
		f.box("metal", 205, under, 6, top-under)
		f.box("gauge", 196, 4, 24, under-4)
		f.positive(264, top-28, 264, top-58)
		f.text(278, top-40, "start", "positive: higher")
		f.words = "The caliper's depth rod stands on the top of the fret beside the string; the end of its body is brought level with the string's underside without touching it. A higher string reads higher."
	},
	show.HelpOnRuler: func(f *figure) {
		top, under := f.overUsualFret()
		f.ruler(208, top)
		f.path("measure dashed", "M%.1f %.1fL%.1f %.1f", 228.0, under, 352.0, under)
		f.path("line", "M352 %.1fq12 -10 24 0q-12 10 -24 0Z", under)
		f.dot("line", 364, under, 3)
		f.text(364, under-14, "middle", "eye")
		f.words = "The ruler stands on the top of the fret beside the string; the eye is level with the string's underside, where the mark is read."
	},
	show.HelpOnLeaves: func(f *figure) {
		f.height = 168
		const y = 60.0
		z := f.heights(f.bow(0.30))
		f.crowns(y, sideUnits, z[:f.b])
		f.line("line", f.of(f.a)-14, y, f.of(f.b)+20, y)
		for _, n := range []int{f.a, f.b} {
			f.arrow("hand", f.of(n), y-30, f.of(n), y-4)
		}
		f.text(f.of(f.a)-6, y-36, "start", fmt.Sprintf("string pressed at fret %d", f.a))
		f.text(f.of(f.b), y-36, "middle", fmt.Sprintf("and fret %d", f.b))
		low := y - z[f.k-1]*sideUnits
		f.box("gauge", f.of(f.k)-8, y+1, 16, low-y-5)
		f.text(f.of(f.k)+16, y+20, "start", "leaf")
		f.fretName(f.k, low+20)
		f.text(200, low+38, "middle", "the thickest that passes, and the thinnest that does not")
		f.taller(f.height-4, sideUnits)
		f.words = fmt.Sprintf("The string is pressed at frets %d and %d and serves as the straight line; a leaf goes between it and the crown of fret %d. The thickest leaf that passes and the thinnest that does not are noted. A gap is positive; where no leaf passes there may be a back-bow.", f.a, f.b, f.k)
	},
	show.HelpOnBeam: func(f *figure) {
		f.height = 178
		const y = 70.0
		z := f.heights(f.bow(0.30))
		f.crowns(y, sideUnits, z[:f.b])
		f.box("gauge", f.of(f.a)-12, y-36, f.of(f.b)-f.of(f.a)+24, 16)
		for _, n := range []int{f.a, f.b} {
			f.path("gauge", "M%.1f %.1fl8 16l8 -16Z", f.of(n)-8, y-20)
		}
		f.indicator(f.of(f.k), y-36, y-z[f.k-1]*sideUnits-3)
		f.positive(f.of(f.k)+26, y-4, f.of(f.k)+26, y+24)
		f.text(200, y-z[f.k-1]*sideUnits+40, "middle", "positive: the plunger goes out")
		f.text(f.of(f.a), y-42, "middle", "foot")
		f.text(f.of(f.b), y-42, "middle", "foot")
		f.fretName(f.k, y-z[f.k-1]*sideUnits+22)
		f.taller(f.height-4, sideUnits)
		f.words = "A beam stands on the crowns with two feet; the plunger between them reaches down to a crown. It was zeroed on a flat, so its reading is the depth of the bow between the feet: a plunger that goes out is positive, a forward bow."
	},
	show.HelpOnCheck: func(f *figure) {
		f.height = 150
		for i, words := range []string{"1. on the flat: zero", "2. on the master: its size"} {
			x := 100 + 200*float64(i)
			f.box("metal", x-80, 96, 160, 18)
			end := 96.0
			if i == 1 {
				f.box("gauge", x-24, 70, 48, 26)
				f.text(x+32, 88, "start", "master")
				end = 70
			}
			f.indicator(x, 40, end)
			f.text(x, 138, "middle", words)
		}
		f.positive(346, 54, 346, 24)
		f.words = "First the gauge stands on the flat reference and is zeroed; then its plunger stands on the master, whose size it has to show. On the master it reads higher: positive."
	},
	show.HelpOnLaying: func(f *figure) {
		f.plan(1, f.last, 40)
		for _, side := range []float64{-1, 1} {
			for _, n := range f.links() {
				x, y := f.track(side, n, 40)
				f.dot("measure open", x, y, 8)
			}
		}
		f.height = 122
		f.text(200, 96, "middle", "ringed: the first, the middle and the last crown")
		f.text(200, 113, "middle", "of each track, measured once more")
		f.words = "The neck from above: after something was moved, the first, the middle and the last crown of each track are measured once more, so that what was read before can be carried over."
	},
	show.HelpOnFootSwitch: func(f *figure) {
		f.height = 118
		f.path("gauge", "M110 84L250 48l8 12L250 84Z")
		f.box("metal", 96, 84, 190, 14)
		f.arrow("hand", 230, 14, 230, 46)
		f.text(216, 30, "end", "press: the reading is taken")
		f.text(200, 114, "middle", "held for 0.8 s: the last reading is taken back")
		f.words = "A foot switch: pressed shortly it takes the reading, held down for 0.8 s it takes the last one back."
	},
	show.HelpOnLamp: func(f *figure) {
		f.height = 108
		for i, words := range []string{"green: pass", "red: rework, repair, refused", "both: an answer is awaited"} {
			y := 22 + 34*float64(i)
			f.dot(map[bool]string{true: "dot", false: "gauge"}[i != 1], 60, y, 9)
			f.dot(map[bool]string{true: "dot", false: "gauge"}[i != 0], 92, y, 9)
			f.text(120, y+4, "start", words)
		}
		f.words = "A lamp with two lights: the one that RTS lights is green after a pass, the one that DTR lights red after rework, repair or a refusal; both together wait for an answer or a decision."
	},
	show.HelpOnRod: func(f *figure) {
		f.height = 150
		for i, words := range []string{"tighten: relief falls", "loosen: relief rises"} {
			x, way := 100+200*float64(i), 1-2*float64(i)
			f.dot("gauge", x, 66, 44)
			f.path("metal", "M%.1f 48l15.6 9v18l-15.6 9l-15.6 -9v-18Z", x)
			f.path("measure", "M%.1f 32A34 34 0 0 %d %.1f 66", x, 1-i, x+34*way)
			f.head("sign", x+34*way-2*way, 52, x+34*way, 70)
			f.text(x, 130, "middle", words)
			f.text(x, 147, "middle", []string{"clockwise as you face it", "counter-clockwise"}[i])
		}
		f.words = "The rod's nut as one faces it: clockwise tightens, and relief falls; counter-clockwise loosens, and the strings pull more relief in. A quarter turn is the most at a step."
	},
}

// indicator draws a dial on a stem at x, from its mount down to what its plunger touches.
func (f *figure) indicator(x, mount, touched float64) {
	f.box("gauge", x-5, mount, 10, min(22, touched-mount-6))
	f.line("line", x, mount+20, x, touched)
	f.dot("gauge", x, mount-10, 16)
	f.line("line", x, mount-10, x+7, mount-19)
}

// heightGauge draws a gauge that stands on a crown and touches a string's underside.
func (f *figure) heightGauge(x, top, under float64) {
	f.path("gauge", "M%.1f %.1fV%.1fh34V%.1fh-20V%.1fZ", x-4, top, top-62, top-38, top)
	f.line("line", x+10, under, x+22, under)
	f.line("line", x+22, under, x+22, top-38)
	f.positive(x+56, top-28, x+56, top-58)
	f.text(x+70, top-40, "start", "positive: higher")
}

// ruler draws a ruler that stands on a crown.
func (f *figure) ruler(x, top float64) {
	f.box("gauge", x-12, top-62, 24, 62)
	for i := range 9 {
		long := 8.0
		if i%4 == 0 {
			long = 14
		}
		f.line("line", x+12-long, top-7*float64(i), x+12, top-7*float64(i))
	}
}

// links are the frets whose crowns are measured once more where a laying ended: the first, the middle one and the last.
func (f *figure) links() []int {
	middle := 1
	half := (f.fretX(1) + f.fretX(f.last)) / 2
	for n := 1; n <= f.last; n++ {
		if abs(f.fretX(n)-half) < abs(f.fretX(middle)-half) {
			middle = n
		}
	}
	return []int{1, middle, f.last}
}

func abs(x float64) float64 { return max(x, -x) }
