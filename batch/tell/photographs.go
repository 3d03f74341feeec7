package tell

import (
	"fmt"

	"sagitta/batch"
)

// Pin is what a photograph shows.
func Pin(pin string) string {
	if pin == batch.WholeInstrument {
		return "the instrument"
	}
	return pin
}

// Photograph is what a photograph is, in a line: what it shows and what was written with it.
func Photograph(p batch.Photograph) string {
	if p.Caption == "" {
		return Upper(Pin(p.Pin))
	}
	return Upper(Pin(p.Pin)) + ": " + p.Caption
}

// VisitOf names the visit of a photograph or a note by its ID; "no visit" where it belongs to none.
func VisitOf(id string, visits []batch.Visit) string {
	for _, v := range visits {
		if id != "" && v.ID == id {
			return fmt.Sprintf("visit %d", v.Number)
		}
	}
	return "no visit"
}

// Photographs says how many photographs in sight there are, and of which visits: the newest first, those of no visit last.
func Photographs(all []batch.Photograph, visits []batch.Visit) string {
	if len(all) == 0 {
		return "There is no photograph to show."
	}
	count := map[string]int{}
	for _, p := range all {
		count[VisitOf(p.VisitID, visits)]++
	}
	var parts []string
	add := func(of string) {
		if count[of] > 0 {
			parts = append(parts, fmt.Sprintf("%d of %s", count[of], of))
		}
	}
	for i := len(visits) - 1; i >= 0; i-- {
		if visits[i].ID != "" {
			add(VisitOf(visits[i].ID, visits))
		}
	}
	add(VisitOf("", nil))
	return Count(len(all), "photograph") + ": " + List(parts) + "."
}
