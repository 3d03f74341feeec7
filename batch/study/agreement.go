package study

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Rating is one decision of an attribute study. Reference is the item's true rating where it is known, else empty.
type Rating struct{ Item, Appraiser, Trial, Rating, Reference string }

// AgreementResult is an attribute study's result. A nil kappa is not defined: chance agreement is 1.
type AgreementResult struct {
	FleissKappa *float64         `json:"fleiss_kappa"` // over all ratings of an item, unweighted
	Between     []PairKappa      `json:"between"`      // each two appraisers, trial by trial
	Reference   []ReferenceKappa `json:"reference"`    // each appraiser with the reference over all trials; empty without one

	Items      int        `json:"-"`
	Trials     int        `json:"-"`
	Categories []string   `json:"-"`
	Appraisers []Decision `json:"-"`
}

// PairKappa is Cohen's kappa of two appraisers.
type PairKappa struct {
	A     string   `json:"a"`
	B     string   `json:"b"`
	Kappa *float64 `json:"cohen_kappa"`
}

// ReferenceKappa is Cohen's kappa of an appraiser and the reference.
type ReferenceKappa struct {
	Appraiser string   `json:"appraiser"`
	Kappa     *float64 `json:"kappa"`
}

// Decision counts one appraiser's decisions.
type Decision struct {
	Appraiser  string
	Consistent int       // items rated the same at every trial
	Correct    int       // items rated as the reference at every trial; 0 without a reference
	Wrong      []WrongOf // one for each rating of the reference
	Table      [][]int   // reference by rating, in the order of Categories
}

// WrongOf counts the decisions on items whose reference is one rating: bad ones called good are misses, good ones called
// bad false alarms.
type WrongOf struct {
	Reference        string
	Wrong, Decisions int
}

// Agreement evaluates an attribute study in which every appraiser rates every item at every trial. With weights, ratings
// must be numbers (or only two words): the distance between two ratings is that of their numbers. Errors: an empty cell, a
// decision twice or missing (named), a reference that changes within an item or is missing for some, fewer than two items,
// fewer than two ratings an item. Source: Measurement Systems Analysis reference manual (AIAG, 4th ed., 2010), chapter III
// section C; kappa as cited at its functions.
func Agreement(ratings []Rating, weights Weights) (AgreementResult, error) {
	s, err := newScores(ratings)
	if err != nil {
		return AgreementResult{}, err
	}
	positions, err := s.positions(weights)
	if err != nil {
		return AgreementResult{}, err
	}
	distance, err := weights.distances(positions)
	if err != nil {
		return AgreementResult{}, err
	}
	r := AgreementResult{Between: []PairKappa{}, Reference: []ReferenceKappa{}, Items: len(s.items), Trials: len(s.trials), Categories: s.categories}
	counts := make([][]int, len(s.items))
	for i := range s.items {
		counts[i] = make([]int, len(s.categories))
		for a := range s.appraisers {
			for t := range s.trials {
				counts[i][s.at(i, a, t)]++
			}
		}
	}
	r.FleissKappa = fleiss(counts)
	for a := range s.appraisers {
		for b := a + 1; b < len(s.appraisers); b++ {
			table := s.cross(func(i, t int) (int, int) { return s.at(i, a, t), s.at(i, b, t) })
			r.Between = append(r.Between, PairKappa{s.appraisers[a], s.appraisers[b], cohen(table, distance)})
		}
		d := s.decisions(a)
		r.Appraisers = append(r.Appraisers, d)
		if s.truth != nil {
			r.Reference = append(r.Reference, ReferenceKappa{s.appraisers[a], cohen(d.Table, distance)})
		}
	}
	return r, nil
}

// scores are an attribute study's decisions in their cells; ratings are numbered in the order of categories.
type scores struct {
	items, appraisers, trials, categories []string
	rating                                []int // by item, appraiser, trial
	truth                                 []int // by item; nil without a reference
}

func (s *scores) at(item, appraiser, trial int) int {
	return s.rating[(item*len(s.appraisers)+appraiser)*len(s.trials)+trial]
}

// cross counts pairs of ratings over all items and trials.
func (s *scores) cross(pair func(item, trial int) (int, int)) [][]int {
	table := make([][]int, len(s.categories))
	for i := range table {
		table[i] = make([]int, len(s.categories))
	}
	for i := range s.items {
		for t := range s.trials {
			a, b := pair(i, t)
			table[a][b]++
		}
	}
	return table
}

// decisions counts one appraiser's decisions.
func (s *scores) decisions(appraiser int) Decision {
	d := Decision{Appraiser: s.appraisers[appraiser]}
	for i := range s.items {
		same := true
		for t := range s.trials {
			same = same && s.at(i, appraiser, t) == s.at(i, appraiser, 0)
		}
		if same {
			d.Consistent++
			if s.truth != nil && s.at(i, appraiser, 0) == s.truth[i] {
				d.Correct++
			}
		}
	}
	if s.truth == nil {
		return d
	}
	d.Table = s.cross(func(i, t int) (int, int) { return s.truth[i], s.at(i, appraiser, t) })
	for k, row := range d.Table {
		w := WrongOf{Reference: s.categories[k]}
		for j, count := range row {
			w.Decisions += count
			if j != k {
				w.Wrong += count
			}
		}
		if w.Decisions > 0 {
			d.Wrong = append(d.Wrong, w)
		}
	}
	return d
}

// positions are the categories on their scale: their own numbers where all are numbers, otherwise their order.
func (s *scores) positions(w Weights) ([]float64, error) {
	positions := make([]float64, len(s.categories))
	numbers := true
	for i, c := range s.categories {
		v, isNumber := number(c)
		numbers = numbers && isNumber
		positions[i] = v
	}
	if numbers {
		return positions, nil
	}
	if w != Unweighted && len(s.categories) > 2 {
		return nil, OptionError{"weights", fmt.Sprintf("the ratings %q are words without an order; with weights give numbers", s.categories)}
	}
	for i := range positions {
		positions[i] = float64(i)
	}
	return positions, nil
}

// newScores puts decisions in their cells.
func newScores(ratings []Rating) (*scores, error) {
	m := make([]Measurement, len(ratings))
	var seen labels
	for i, r := range ratings {
		if r.Rating == "" {
			return nil, RowError{i, "rating", "is empty; needed: a word or a number"}
		}
		seen.add(plain(r.Rating))
		if r.Reference != "" {
			seen.add(plain(r.Reference))
		}
		m[i] = Measurement{Part: r.Item, Appraiser: r.Appraiser, Trial: r.Trial}
	}
	s := &scores{categories: slices.Clone(seen.names)}
	slices.SortFunc(s.categories, byNumberOrText)
	index := map[string]int{}
	for k, c := range s.categories {
		index[c] = k
	}
	for i, r := range ratings {
		m[i].Value = float64(index[plain(r.Rating)])
	}
	g, err := newGrid(m, attributeStudy)
	if err != nil {
		return nil, err
	}
	s.items, s.appraisers, s.trials = g.parts, g.appraisers, g.trials
	s.rating = make([]int, len(g.v))
	for i, v := range g.v {
		s.rating[i] = int(v)
	}
	s.truth, err = truths(ratings, g.parts, index)
	return s, err
}

// truths are the items' reference ratings; nil where no row has one.
func truths(ratings []Rating, items []string, index map[string]int) ([]int, error) {
	known := map[string]string{}
	for i, r := range ratings {
		before, again := known[r.Item]
		if again && plain(before) != plain(r.Reference) {
			return nil, RowError{i, "reference", fmt.Sprintf("found %q, but item %s had %q before; allowed: one reference an item", r.Reference, r.Item, before)}
		}
		known[r.Item] = r.Reference
	}
	truth := make([]int, len(items))
	without := 0
	for i, item := range items {
		if known[item] == "" {
			without++
			continue
		}
		truth[i] = index[plain(known[item])]
	}
	if without == len(items) {
		return nil, nil
	}
	for i, r := range ratings {
		if r.Reference == "" {
			return nil, RowError{i, "reference", fmt.Sprintf("is empty for item %s while other items have one; needed: one for every item, or none", r.Item)}
		}
	}
	return truth, nil
}

// number reads a rating that is a number of ordinary size.
func number(text string) (v float64, ok bool) {
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && math.Abs(v) < 1e100
}

// plain is a rating as it is compared: a number in its shortest form, so that 1 and 1.0 agree; words as they are.
func plain(text string) string {
	if v, ok := number(text); ok {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return text
}

// byNumberOrText orders numbers before words, numbers by value and words by their letters.
func byNumberOrText(a, b string) int {
	x, first := number(a)
	y, second := number(b)
	switch {
	case first && second && x != y:
		return cmp.Compare(x, y)
	case first && !second:
		return -1
	case second && !first:
		return 1
	}
	return strings.Compare(a, b)
}
