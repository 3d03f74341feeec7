package draw

import (
	"fmt"
	"html/template"
	"math"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// Step draws what the hand does in a step of rework, 160 by 160: which way and how far the rod's nut turns as one faces it, a crown
// that stands high, a slot, a saddle. Empty for work that has no picture.
func Step(a inspect.Advice) template.HTML {
	switch a.What {
	case inspect.StepRod:
		if a.Turns != nil && *a.Turns > 0 {
			return rodTurn(a.Direction, *a.Turns)
		}
	case inspect.StepLevel:
		return stepSVG("One crown stands above its neighbours",
			`<path class="line" d="M8 118H152"/><path class="crown" d="M22 118a12 14 0 0 1 24 0zM112 118a12 14 0 0 1 24 0z"/><path class="crown high" d="M66 118v-12a13 16 0 0 1 28 0v12z"/><path class="arrow" d="M80 30V74M70 62l10 14 10-14"/>`)
	case inspect.StepNut:
		return stepSVG("A slot of the nut, with its string",
			`<path class="crown" d="M20 132V64h46v30a14 14 0 0 0 28 0V64h46v68z"/><circle class="crown high" cx="80" cy="88" r="11"/><path class="arrow" d="`+upOrDown(amountOf(a) > 0)+`"/>`)
	case inspect.StepAction:
		return stepSVG("The saddle, with its string",
			`<path class="line" d="M8 132H152"/><path class="crown" d="M56 132l8-52h32l8 52z"/><path class="line" d="M8 74L80 78L152 98"/><path class="arrow" d="`+upOrDown(amountOf(a) < 0)+`"/>`)
	}
	return ""
}

// amountOf is the first item's amount, mm; 0 where it has none.
func amountOf(a inspect.Advice) float64 {
	for _, it := range a.Items {
		if it.AmountMM != nil {
			return *it.AmountMM
		}
	}
	return 0
}

func upOrDown(down bool) string {
	if down {
		return "M80 12V56M70 44l10 14 10-14"
	}
	return "M80 58V14M70 26l10-14 10 14"
}

func stepSVG(words, inner string) template.HTML {
	return template.HTML(`<svg class="step" viewBox="0 0 160 160" role="img" aria-label="` + template.HTMLEscapeString(words) + `">` + inner + `</svg>`)
}

// rodTurn is a clock face over the rod's nut: the hand goes from twelve by the turn, clockwise to tighten (a right-handed thread;
// common practice, no source).
func rodTurn(direction string, turns float64) template.HTML {
	way := 1.0
	if direction == "loosen" {
		way = -1
	}
	angle := way * turns * 2 * math.Pi
	at := func(r, angle float64) (x, y float64) { return 80 + r*math.Sin(angle), 80 - r*math.Cos(angle) }
	const ring = 62.0 // where the arrow runs, outside the hours
	x, y := at(ring, angle)
	inner := `<circle class="line" cx="80" cy="80" r="70"/>`
	for i, hour := range []string{"12", "3", "6", "9"} {
		tx, ty := at(44, float64(i)*math.Pi/2)
		inner += fmt.Sprintf(`<text class="hour" x="%.1f" y="%.1f">%s</text>`, tx, ty+6, hour)
	}
	for i := range 16 {
		from := 66.0
		if i%4 == 0 {
			from = 62
		}
		x0, y0 := at(from, float64(i)*math.Pi/8)
		x1, y1 := at(70, float64(i)*math.Pi/8)
		inner += fmt.Sprintf(`<path class="line" d="M%.1f %.1fL%.1f %.1f"/>`, x0, y0, x1, y1)
	}
	nut := ""
	for i := range 6 {
		nx, ny := at(20, float64(i)*math.Pi/3)
		nut += fmt.Sprintf("%.1f %.1f ", nx, ny)
	}
	sweep := 1
	if way < 0 {
		sweep = 0
	}
	// The arrow's head lies along the way that the hand goes.
	hx, hy := way*math.Cos(angle), way*math.Sin(angle)
	head := fmt.Sprintf("M%.1f %.1fL%.1f %.1fL%.1f %.1fZ", x+hx*14, y+hy*14, x-hy*9, y+hx*9, x+hy*9, y-hx*9)
	inner += fmt.Sprintf(`<path class="crown" d="M%sZ"/><path class="from" d="M80 22V8"/><path class="arrow" d="M80 18A62 62 0 0 %d %.1f %.1f"/><path class="head" d="%s"/>`, nut, sweep, x, y, head)
	return stepSVG("Turn the nut "+tell.Turn(turns)+" "+tell.Way(direction)+" as you face it, "+tell.Clock(direction, turns), inner)
}
