package study

import (
	"fmt"
	"math"
)

// Weights says how far apart two ratings count as disagreeing.
type Weights string

// Ratings agree or not, or disagree by their distance or its square.
const (
	Unweighted Weights = ""
	Linear     Weights = "linear"
	Quadratic  Weights = "quadratic"
)

// distances are the disagreements between ratings of a scale, from its positions; unweighted, any two that differ are 1
// apart.
func (w Weights) distances(positions []float64) ([][]float64, error) {
	if w != Unweighted && w != Linear && w != Quadratic {
		return nil, OptionError{"weights", fmt.Sprintf("found %q; allowed: linear or quadratic", string(w))}
	}
	d := make([][]float64, len(positions))
	for i, a := range positions {
		d[i] = make([]float64, len(positions))
		for j, b := range positions {
			switch {
			case i == j:
			case w == Unweighted:
				d[i][j] = 1
			case w == Linear:
				d[i][j] = math.Abs(a - b)
			default:
				d[i][j] = (a - b) * (a - b)
			}
		}
	}
	return d, nil
}

// cohen is the kappa of two raters: 1 - observed/chance disagreement, chance from both raters' own shares. table[i][j]
// counts the decisions that the first called i and the second j; distance weighs them. Nil where chance disagreement is 0
// (chance agreement is 1). Sources: J. Cohen, Educational and Psychological Measurement 20 (1960) 37-46; weighted:
// J. Cohen, Psychological Bulletin 70 (1968) 213-220.
func cohen(table [][]int, distance [][]float64) *float64 {
	first, second := make([]float64, len(table)), make([]float64, len(table))
	n, observed := 0.0, 0.0
	for i, row := range table {
		for j, count := range row {
			c := float64(count)
			n += c
			first[i] += c
			second[j] += c
			observed += c * distance[i][j]
		}
	}
	chance := 0.0
	for i := range first {
		for j := range second {
			chance += first[i] * second[j] * distance[i][j]
		}
	}
	if n == 0 || chance == 0 {
		return nil
	}
	return Defined(1 - observed*n/chance)
}

// fleiss is the kappa of many ratings an item. counts[i][k] is how many of item i's ratings are k; every item has the same
// number of ratings, at least two. Nil where all ratings are the same (chance agreement is 1).
// Source: J. L. Fleiss, Psychological Bulletin 76 (1971) 378-382.
func fleiss(counts [][]int) *float64 {
	if len(counts) == 0 {
		return nil
	}
	shares := make([]float64, len(counts[0]))
	ratings, pairs := 0, 0.0
	for _, item := range counts {
		ratings = 0
		for k, c := range item {
			ratings += c
			pairs += float64(c) * float64(c-1)
			shares[k] += float64(c)
		}
	}
	if ratings < 2 {
		return nil
	}
	all := float64(len(counts)) * float64(ratings)
	chance := 0.0
	for _, s := range shares {
		if s == all {
			return nil
		}
		chance += s / all * s / all
	}
	agreement := pairs / (all * float64(ratings-1))
	return Defined((agreement - chance) / (1 - chance))
}
