package show

import (
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// WhyWords says why a result is what it is: what does not conform first, by value and limit; and what its rod did.
func WhyWords(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit) string {
	words := whyWords(spec, res, lengths)
	if res.RodNote != "" {
		words += " " + res.RodNote + "."
	}
	return words
}

func whyWords(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit) string {
	first := inspect.FirstFailing(res)
	if first == nil {
		return tell.Upper(res.Why) + "."
	}
	more := -1
	for _, c := range res.Characteristics {
		if c.Zone == inspect.Nonconforming {
			more++
		}
	}
	words := tell.Upper(inspect.FailingWords(spec, *first, lengths))
	if more > 0 {
		words += "; " + tell.Counted(more, "more value does not conform", "more values do not conform")
	}
	return words + "."
}
