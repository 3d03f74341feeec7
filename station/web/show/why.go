package show

import (
	"strings"
	"time"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// WhyWords says why a result is what it is: what does not conform first, by value and limit; what was carried over into it, told at a moment; and
// what its rod did.
func WhyWords(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit, now time.Time) string {
	return whyRod(spec, res, lengths, now, inspect.FailingWords)
}

// WrongWords says the same as whoever holds the neck would.
func WrongWords(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit, now time.Time) string {
	return whyRod(spec, res, lengths, now, tell.Wrong)
}

// inWords says what is wrong with a value.
type inWords func(s *inspect.Spec, c inspect.Characteristic, lengths unit.Unit) string

func whyRod(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit, now time.Time, of inWords) string {
	words := why(spec, res, lengths, of)
	if carried := tell.CarriedOver(res.Characteristics, now); carried != "" {
		words = strings.TrimSuffix(words, ".") + "; " + carried + "."
	}
	if res.RodNote != "" {
		words += " " + res.RodNote + "."
	}
	return words
}

// why says what does not conform first, in the words given.
func why(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit, of inWords) string {
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
	words := tell.Upper(of(spec, *first, lengths))
	if more > 0 {
		words += "; " + tell.Counted(more, "more value does not conform", "more values do not conform")
	}
	return words + "."
}
