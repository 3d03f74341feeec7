package trend

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// setKind is a kind of sets that can be compared over a scope.
type setKind struct {
	what, one, title string
	article          string // before a set's name
	by               batch.Dimension
	note             string
}

// setKinds are in the order of the page.
var setKinds = []setKind{
	{"inspectors", "inspector", "Two inspectors", "", batch.ByInspector, "Each inspected other necks: like with like compares only what both did of one batch in one month."},
	{"shifts", "shift", "Two shifts", "shift ", batch.ByShift, "Each shift inspected other necks: like with like compares only what both did of one batch in one month."},
	{"months", "month", "Two months", "", batch.ByMonth, "What differs between months may be the season's, the material's or the people's; like with like compares within model and revision."},
	{"gauges", "gauge", "Two gauges", "the ", batch.ByGauge, "Each gauge measured other necks: what differs may be the necks', the people's or the season's. Whether the gauges themselves differ, a study of the same necks with both tells; plan one on a gauge's page."},
	{"revisions", "revision", "Two revisions", "", batch.ByRevision, "Revisions follow each other, so that what differs may be the time's; each yield is by its own limits."},
	{"stations", "station", "Two stations", "station ", batch.ByStation, "Each station inspected other necks: like with like compares only what both did of one batch in one month."},
	{"humidity", "band of humidity", "Two bands of humidity", "", batch.ByHumidity, "Days of one humidity have more in common than that: like with like compares within batch and month."},
	{"weekdays", "weekday", "Two weekdays", "", batch.ByWeekday, "Each weekday saw other necks: like with like compares only what both saw of one batch in one month."},
}

func kindOf(what string) (setKind, bool) {
	i := slices.IndexFunc(setKinds, func(k setKind) bool { return k.what == what })
	if i < 0 {
		return setKind{}, false
	}
	return setKinds[i], true
}

// kept says whether a set's sums are kept with the record, so that all of it is compared.
func (k setKind) kept() bool {
	return k.by == batch.ByMonth || k.by == batch.ByGauge || k.by == batch.ByRevision
}

// words names a set of the kind.
func (k setKind) words(value string, gauges map[string]string) string {
	switch k.by {
	case batch.ByMonth:
		if n, err := strconv.Atoi(value); err == nil && n > 0 {
			return tell.Month(batch.Month(n))
		}
	case batch.ByRevision:
		return strings.Replace(value, "\n", ", revision ", 1)
	case batch.ByShift:
		return strings.Replace(value, "-", ":00 to ", 1) + ":00"
	}
	return show.DimensionWords(k.by, value, gauges)
}

// setForm lets two sets of a kind be chosen.
type setForm struct {
	What, Title string
	A, B        []form.Option
	Problem     string // why none can be chosen
}

// setForms are the kinds of which there are two sets in the strata at least.
func setForms(p *comparePage, strata batch.Strata, shifts []time.Duration, gauges map[string]string) []setForm {
	var forms []setForm
	for _, k := range setKinds {
		if uneven(shifts) && k.by == batch.ByShift {
			forms = append(forms, setForm{What: k.what, Title: k.title, Problem: tell.ShiftsWithinAnHour(shifts)})
			continue
		}
		values := setsOf(strata, k.by, shifts)
		if len(values) < 2 {
			continue
		}
		f := setForm{What: k.what, Title: k.title, A: []form.Option{{Value: "", Label: "choose one", On: p.What != k.what}}, B: []form.Option{{Value: "", Label: "choose another", On: p.What != k.what}}}
		for _, v := range values {
			label := k.words(v, gauges)
			f.A = append(f.A, form.Option{Value: v, Label: label, On: p.What == k.what && v == p.A})
			f.B = append(f.B, form.Option{Value: v, Label: label, On: p.What == k.what && v == p.B})
		}
		forms = append(forms, f)
	}
	return forms
}

// setsOf are the values of a kind that the strata hold.
func setsOf(strata batch.Strata, by batch.Dimension, shifts []time.Duration) []string {
	if by == batch.ByShift {
		return shiftsOf(shifts)
	}
	shares := strata.Shares[by]
	if len(shares) == 0 {
		shares = strata.Shares[batch.ByAll]
	}
	var values []string
	for _, sh := range shares {
		if v := setOf(sh, by); v != "" && !slices.Contains(values, v) {
			values = append(values, v)
		}
	}
	slices.Sort(values)
	return values
}

// uneven says whether a shift begins within an hour: necks are counted by the full hour.
func uneven(shifts []time.Duration) bool {
	return slices.ContainsFunc(shifts, func(at time.Duration) bool { return at%time.Hour != 0 })
}

// shiftsOf are the station's shifts by their hours; before and after noon where it has none.
func shiftsOf(begin []time.Duration) []string {
	if len(begin) < 2 {
		begin = []time.Duration{0, 12 * time.Hour}
	}
	var all []string
	for i, b := range begin {
		all = append(all, fmt.Sprintf("%02d-%02d", int(b.Hours()), int(begin[(i+1)%len(begin)].Hours())))
	}
	return all
}

// setOf is the set that a share belongs to.
func setOf(sh batch.StratumShare, by batch.Dimension) string {
	switch by {
	case batch.ByBatch:
		return sh.Batch
	case batch.ByMonth:
		return strconv.Itoa(int(sh.Month))
	case batch.ByRevision:
		return sh.SpecName + "\n" + sh.Revision
	}
	return sh.Value
}

// like is the stratum within which two sets of a kind are compared: without what tells the sets themselves apart, and what follows
// from that.
func like(s batch.Stratum, by batch.Dimension) batch.Stratum {
	switch by {
	case batch.ByBatch:
		return batch.Stratum{Span: s.Span}
	case batch.ByMonth:
		return batch.Stratum{SpecName: s.SpecName, Revision: s.Revision, Span: s.Span}
	case batch.ByRevision:
		return batch.Stratum{SpecName: s.SpecName, Span: s.Span}
	}
	return s
}

// setPairs are two sets' first-pass yields put together and by stratum.
type setPairs struct {
	whole  batch.Pair
	strata map[batch.Stratum]batch.Pair
	like   string // what the strata have in common
	split  bool   // there is more than one
}

// contrast compares the first set with the second as a group with the rest.
func (p setPairs) contrast() batch.Contrast {
	var group, all []batch.StratumShare
	for s, pair := range p.strata {
		group = append(group, batch.StratumShare{Stratum: s, Value: "a", Inspected: pair.Of, FirstPass: pair.Passed})
		all = append(all, batch.StratumShare{Stratum: s, Inspected: pair.Of + pair.RestOf, FirstPass: pair.Passed + pair.RestPassed})
	}
	return batch.ContrastsOf(group, all, show.Confidence)[0]
}

// pairsOf sets two sets against each other.
func pairsOf(strata batch.Strata, by batch.Dimension, a, b string) setPairs {
	out := setPairs{strata: map[batch.Stratum]batch.Pair{}, like: likeWords(by)}
	shares, in := strata.Shares[by], func(value string, sh batch.StratumShare) bool { return setOf(sh, by) == value }
	switch by {
	case batch.ByBatch, batch.ByMonth, batch.ByRevision:
		shares = strata.Shares[batch.ByAll]
	case batch.ByShift:
		shares, in = strata.Shares[batch.ByHour], func(value string, sh batch.StratumShare) bool { return inShift(value, sh.Value) }
	}
	for _, sh := range shares {
		var p batch.Pair
		if in(a, sh) {
			p.Passed, p.Of = sh.FirstPass, sh.Inspected
		}
		if in(b, sh) {
			p.RestPassed, p.RestOf = sh.FirstPass, sh.Inspected
		}
		if p != (batch.Pair{}) {
			out.whole = out.whole.Plus(p)
			key := like(sh.Stratum, by)
			out.strata[key] = out.strata[key].Plus(p)
		}
	}
	out.split = len(out.strata) > 1
	return out
}

// inShift reports whether an hour, "07", lies in a shift, "06-14".
func inShift(shift, hour string) bool {
	from, to, _ := strings.Cut(shift, "-")
	if from < to {
		return hour >= from && hour < to
	}
	return hour >= from || hour < to
}

// likeWords says what is alike in a stratum of sets of a kind.
func likeWords(by batch.Dimension) string {
	switch by {
	case batch.ByBatch:
		return "apart from days on which a gauge may have read wrong"
	case batch.ByMonth:
		return "within model and revision, apart from days on which a gauge may have read wrong"
	case batch.ByRevision:
		return "within the model, apart from days on which a gauge may have read wrong"
	}
	return "within the same batch and month, apart from days on which a gauge may have read wrong"
}

// setLink leads to the batches behind a set.
func setLink(scope batch.Scope, by batch.Dimension, value string) string {
	switch by {
	case batch.ByMonth:
		if n, err := strconv.Atoi(value); err == nil {
			return site.BehindPath(monthScope(scope, batch.Month(n)), batch.ByAll, "", "")
		}
	case batch.ByRevision:
		scope.SpecName, scope.Revision, _ = strings.Cut(value, "\n")
		return site.BehindPath(scope, batch.ByAll, "", "")
	case batch.ByShift:
		return site.BehindPath(scope, batch.ByAll, "", "")
	}
	return site.BehindPath(scope, by, value, "")
}

// setValues are two sets' first measurements: put together by characteristic, in the order of names, and by stratum.
type setValues struct {
	a, b   []batch.CharacteristicRow
	strata map[batch.Named]map[batch.Stratum]batch.MeansPair
	like   string
	split  bool
}

// mostCompared is how many of the newest necks of two sets are read where their sums are not kept.
const mostCompared = 20000

func (s *server) valuesOf(ctx context.Context, scope batch.Scope, by batch.Dimension, a, b string) (setValues, error) {
	out := setValues{strata: map[batch.Named]map[batch.Stratum]batch.MeansPair{}, like: likeWords(by)}
	sides, err := s.opt.Record.SetValues(ctx, scope, by, a, b, mostCompared)
	if err != nil {
		return out, err
	}
	seen := map[batch.Stratum]bool{}
	var whole [2]map[batch.Named]batch.Moments
	for i, side := range sides {
		whole[i] = map[batch.Named]batch.Moments{}
		for _, v := range side {
			whole[i][v.Named] = whole[i][v.Named].Plus(v.Moments)
			if out.strata[v.Named] == nil {
				out.strata[v.Named] = map[batch.Stratum]batch.MeansPair{}
			}
			key := like(v.Stratum, by)
			seen[key] = true
			p := out.strata[v.Named][key]
			if i == 0 {
				p.Group = p.Group.Plus(v.Moments)
			} else {
				p.Rest = p.Rest.Plus(v.Moments)
			}
			out.strata[v.Named][key] = p
		}
	}
	out.a, out.b, out.split = rowsOf(whole[0]), rowsOf(whole[1]), len(seen) > 1
	return out, nil
}

// rowsOf are one set's characteristics in the order of their keys.
func rowsOf(whole map[batch.Named]batch.Moments) []batch.CharacteristicRow {
	rows := make([]batch.CharacteristicRow, 0, len(whole))
	for n, m := range whole {
		rows = append(rows, batch.CharacteristicRow{Named: n, Moments: m})
	}
	slices.SortFunc(rows, func(x, y batch.CharacteristicRow) int { return cmp.Compare(x.Named.Key(), y.Named.Key()) })
	return rows
}

// within compares a characteristic's means like with like.
func (v setValues) within(n batch.Named, confidence float64) (batch.Comparison, int) {
	strata := make([]batch.MeansPair, 0, len(v.strata[n]))
	for _, p := range v.strata[n] {
		strata = append(strata, p)
	}
	return batch.DifferenceWithinStrata(strata, confidence)
}
