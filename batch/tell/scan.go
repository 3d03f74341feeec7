package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
)

// SignedOn says who measures from now on, after a badge was scanned; before is who did, serial the neck that is being measured, each ""
// for none.
func SignedOn(name, before, serial string) string {
	switch {
	case name == before:
		return name + " is signed on already."
	case serial != "":
		return fmt.Sprintf("%s measures from now on. What was taken of %s before stays under the name that it has.", name, serial)
	}
	return name + " measures from now on."
}

var throughWords = map[inspect.Disposition]string{
	inspect.Pass: "passed", inspect.Concession: "was released by concession", inspect.Scrap: "was judged scrap",
}

// InspectAgain asks whether a neck that needs no further inspection is inspected again; v is the verdict that it stands under, last the
// inspection of it, at its time in words.
func InspectAgain(w Words, v batch.Verdict, last batch.Inspection, at string) string {
	by := last.Inspector
	if v.DecidedBy != "" {
		by = v.DecidedBy
	}
	if by != "" {
		by = " by " + by
	}
	return fmt.Sprintf(w.Say("%s %s at %s, attempt %d%s, and needs no further inspection. Begin attempt %d?"),
		last.Serial, w.Say(throughWords[v.Disposition]), at, last.Attempt, by, last.Attempt+1)
}
