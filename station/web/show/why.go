package show

import (
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// WhyWords says in one sentence why a result is what it is: what does not conform first, by value and limit.
func WhyWords(spec *inspect.Spec, res *inspect.Result, lengths unit.Unit) string {
	first := inspect.FirstFailing(res)
	if first == nil {
		return UpperFirst(res.Why) + "."
	}
	more := -1
	for _, c := range res.Characteristics {
		if c.Zone == inspect.Nonconforming {
			more++
		}
	}
	words := UpperFirst(missWords(spec, *first, lengths))
	if more > 0 {
		words += "; " + Counted(more, "more value does not conform", "more values do not conform")
	}
	return words + "."
}

// missWords says how a nonconforming value misses its limit.
func missWords(spec *inspect.Spec, c inspect.Characteristic, lengths unit.Unit) string {
	words := inspect.Words(spec, c)
	if c.Value == nil {
		return words + " does not conform"
	}
	in := c.Unit
	if in == "mm" {
		in = lengths.String()
	}
	r := Rounded(spec, &c, lengths)
	words += " is " + r.Value(*c.Value, SignedByNature(c.Name)) + " " + in
	switch {
	case c.Upper != nil && *c.Value > *c.Upper:
		return words + ", above its limit of " + r.Limit(*c.Upper) + " " + in
	case c.Lower != nil && *c.Value < *c.Lower:
		return words + ", below its limit of " + r.Limit(*c.Lower) + " " + in
	}
	return words + " and does not conform"
}
