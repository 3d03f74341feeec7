package batch

import (
	"cmp"
	"math"
	"slices"
)

// Stratum is what necks have in common that are compared like with like: batch, and with it model and revision, month, and
// whether a gauge may have read wrong. Months are those of the first judged inspection.
type Stratum struct {
	Batch, SpecName, Revision string
	Month                     Month
	Span                      int // number of the bad span among [Strata.Spans] in which they were measured, from 1; 0: none
}

// StratumShare counts the necks of one value of a dimension in one stratum.
type StratumShare struct {
	Stratum
	Value     string
	Inspected int
	FirstPass int
}

// Strata are a scope's first inspections by dimension and stratum; those of ByAll are all of them.
type Strata struct {
	Spans  []BadSpan
	Shares map[Dimension][]StratumShare
}

// ValueStratum holds the first measurements of one characteristic in one stratum.
type ValueStratum struct {
	Named
	Stratum
	Moments
}

// Contrast compares the first-pass yield of one value of a dimension with that of the rest.
type Contrast struct {
	Value  string
	Pair           // all put together
	Crude  Rates   // of all put together
	Within Rates   // like with like
	Models []Model // like with like, of each model that tells anything, by name
	Differ float64 // probability that models lie so far apart by chance; 1 with fewer than two
	Why    Why     // what makes crude and within lie apart
	Span   int     // of WhySpan: the number of the span
	Model  string  // of WhyModel: the model that the group has most of, compared with the rest
}

// Model is one model's part of a contrast.
type Model struct {
	Name string
	Rates
}

// Why is what a group is mixed up with.
type Why string

// The reasons for which a crude difference is not one of like with like: a gauge that may have read wrong, another mix of models or
// revisions, other batches or months, or these together.
const (
	WhySpan     Why = "gauge"
	WhyModel    Why = "model"
	WhyTime     Why = "batch and month"
	WhyTogether Why = "together"
)

// Values counts the values of a dimension.
func (s Strata) Values(d Dimension) int {
	seen := map[string]bool{}
	for _, sh := range s.Shares[d] {
		seen[sh.Value] = true
	}
	return len(seen)
}

// Contrasts compares every value of a dimension with the rest, in the shares' order of values.
func (s Strata) Contrasts(d Dimension, confidence float64) []Contrast {
	return ContrastsOf(s.Shares[d], s.Shares[ByAll], confidence)
}

// ContrastsOf compares every value among shares with the rest of all, which counts every neck once.
func ContrastsOf(shares, all []StratumShare, confidence float64) []Contrast {
	byValue := map[string]map[Stratum]Pair{}
	var values []string
	for _, sh := range shares {
		if byValue[sh.Value] == nil {
			byValue[sh.Value] = map[Stratum]Pair{}
			values = append(values, sh.Value)
		}
		byValue[sh.Value][sh.Stratum] = byValue[sh.Value][sh.Stratum].Plus(Pair{Passed: sh.FirstPass, Of: sh.Inspected})
	}
	out := make([]Contrast, 0, len(values))
	for _, v := range values {
		pairs := byValue[v]
		for _, sh := range all { // the group's part is taken off the whole
			pairs[sh.Stratum] = pairs[sh.Stratum].Plus(Pair{RestPassed: sh.FirstPass, RestOf: sh.Inspected})
		}
		for k, p := range pairs {
			p.RestPassed, p.RestOf = p.RestPassed-p.Passed, p.RestOf-p.Of
			pairs[k] = p
		}
		out = append(out, contrastOf(v, pairs, confidence))
	}
	return out
}

func contrastOf(value string, pairs map[Stratum]Pair, confidence float64) Contrast {
	c := Contrast{Value: value}
	for _, p := range pairs {
		c.Pair = c.Plus(p)
	}
	by := func(key func(Stratum) Stratum) Rates { return DifferenceOfRates(regroup(pairs, key), confidence) }
	c.Crude = by(func(Stratum) Stratum { return Stratum{} })
	c.Within = by(func(s Stratum) Stratum { return s })
	c.models(pairs, confidence)
	gap := c.Crude.Value - c.Within.Value
	if gap == 0 || c.Within.Told == 0 && c.Of == 0 {
		return c
	}
	c.Why = WhyTogether
	for _, f := range []struct {
		why Why
		key func(Stratum) Stratum
	}{
		{WhySpan, func(s Stratum) Stratum { return Stratum{Span: s.Span} }},
		{WhyModel, func(s Stratum) Stratum { return Stratum{SpecName: s.SpecName, Revision: s.Revision} }},
		{WhyTime, func(s Stratum) Stratum { return Stratum{Batch: s.Batch, Month: s.Month} }},
	} {
		if r := by(f.key); r.Told > 0 && (c.Crude.Value-r.Value)/gap >= 0.5 || r.Told == 0 {
			c.Why = f.why
			break
		}
	}
	c.Span, c.Model = heaviestSpan(pairs), heaviestModel(pairs)
	return c
}

// regroup adds the pairs of strata up that have a key in common, in an order of their own.
func regroup(pairs map[Stratum]Pair, key func(Stratum) Stratum) []Pair {
	sums := map[Stratum]Pair{}
	for s, p := range pairs {
		sums[key(s)] = sums[key(s)].Plus(p)
	}
	out := make([]Pair, 0, len(sums))
	for _, s := range slices.SortedFunc(keys(sums), compareStrata) {
		out = append(out, sums[s])
	}
	return out
}

func keys(m map[Stratum]Pair) func(func(Stratum) bool) {
	return func(yield func(Stratum) bool) {
		for s := range m {
			if !yield(s) {
				return
			}
		}
	}
}

func compareStrata(a, b Stratum) int {
	return cmp.Or(cmp.Compare(a.SpecName, b.SpecName), cmp.Compare(a.Revision, b.Revision), cmp.Compare(a.Batch, b.Batch), cmp.Compare(a.Month, b.Month), cmp.Compare(a.Span, b.Span))
}

// models compares within each model.
func (c *Contrast) models(pairs map[Stratum]Pair, confidence float64) {
	of := map[string][]Pair{}
	for s, p := range pairs {
		of[s.SpecName] = append(of[s.SpecName], p)
	}
	c.Differ = 1
	var all []Comparison
	for name, strata := range of {
		if r := DifferenceOfRates(strata, confidence); r.Told > 0 {
			c.Models = append(c.Models, Model{name, r})
		}
	}
	slices.SortFunc(c.Models, func(a, b Model) int { return cmp.Compare(a.Name, b.Name) })
	for _, m := range c.Models {
		all = append(all, m.Comparison)
	}
	c.Differ = differ(all, confidence)
}

// heaviestSpan is the bad span with the most of the group's necks compared with its share of the rest's, 0 for none.
func heaviestSpan(pairs map[Stratum]Pair) int {
	n := map[int]Pair{}
	for s, p := range pairs {
		n[s.Span] = n[s.Span].Plus(p)
	}
	best, most := 0, 0.0
	for span, weight := range excess(n) {
		if span != 0 && (weight > most || weight == most && weight > 0 && span < best) {
			best, most = span, weight
		}
	}
	return best
}

func heaviestModel(pairs map[Stratum]Pair) string {
	n := map[string]Pair{}
	for s, p := range pairs {
		n[s.SpecName] = n[s.SpecName].Plus(p)
	}
	best, most := "", math.Inf(-1)
	for name, weight := range excess(n) {
		if weight > most || weight == most && name < best {
			best, most = name, weight
		}
	}
	return best
}

// excess is how much more of the group than of the rest lies in each part, a share.
func excess[K comparable](parts map[K]Pair) map[K]float64 {
	var whole Pair
	for _, p := range parts {
		whole = whole.Plus(p)
	}
	out := map[K]float64{}
	for k, p := range parts {
		out[k] = float64(p.Of)/float64(max(1, whole.Of)) - float64(p.RestOf)/float64(max(1, whole.RestOf))
	}
	return out
}
