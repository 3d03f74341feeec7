package sampling

// The tables of MIL-STD-105E (10 May 1989, public domain) for single sampling. All its plans lie on the diagonals of one
// master table: the acceptance number depends on the code letter's index plus the AQL's index.

// letters are the code letters in the order of their sample sizes; S appears in the tightened table only.
var letters = []string{"A", "B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N", "P", "Q", "R", "S"}

// Sample sizes by code letter: Tables II-A and II-B, and II-C.
var (
	sizes        = []int{2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150}
	reducedSizes = []int{2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800}
)

// MostPercent is the largest AQL that may mean percent nonconforming; above it units are not counted but nonconformities
// (MIL-STD-105E 4.4).
const MostPercent = 10

// AQLs are the acceptable quality levels of the tables: percent nonconforming up to 10, nonconformities per 100 units at
// any of them.
var AQLs = []float64{0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10,
	15, 25, 40, 65, 100, 150, 250, 400, 650, 1000}

// Levels are the inspection levels of Table I; II is the usual one.
var Levels = []string{"S-1", "S-2", "S-3", "S-4", "I", "II", "III"}

// codeLetters is Table I: the largest lot of each row and its letters by level. The last row has no largest lot.
var codeLetters = []struct {
	largest int
	letters string
}{
	{8, "AAAAAAB"},
	{15, "AAAAABC"},
	{25, "AABBBCD"},
	{50, "ABBCCDE"},
	{90, "BBCCCEF"},
	{150, "BBCDDFG"},
	{280, "BCDEEGH"},
	{500, "BCDEFHJ"},
	{1200, "CCEFGJK"},
	{3200, "CDEGHKL"},
	{10000, "CDFGJLM"},
	{35000, "CDFHKMN"},
	{150000, "DEGJLNP"},
	{500000, "DEGJMPQ"},
	{0, "DEHKNQR"},
}

// numbers are a plan's acceptance and rejection numbers; reject 0 marks an arrow's cell.
type numbers struct{ accept, reject int }

var arrow numbers

// diagonals are one table: the plans by letter index plus AQL index, from first on. Those from beyond on exist for the
// letters A to E only.
type diagonals struct {
	first  int
	plans  []numbers
	beyond int
	sizes  []int // by letter; their count is that of the table's rows
}

// Tables II-A, II-B and II-C.
var tables = map[Severity]diagonals{
	Normal: {14, []numbers{{0, 1}, arrow, arrow, {1, 2}, {2, 3}, {3, 4}, {5, 6}, {7, 8}, {10, 11}, {14, 15}, {21, 22}, {30, 31}, {44, 45}},
		25, sizes[:16]},
	Tightened: {15, []numbers{{0, 1}, arrow, arrow, {1, 2}, {2, 3}, {3, 4}, {5, 6}, {8, 9}, {12, 13}, {18, 19}, {27, 28}, {41, 42}},
		25, sizes},
	Reduced: {14, []numbers{{0, 1}, arrow, arrow, {0, 2}, {1, 3}, {1, 4}, {2, 5}, {3, 6}, {5, 8}, {7, 10}, {10, 13}, {14, 17}, {21, 24}},
		25, reducedSizes},
}

const (
	lastOfFew = 4 // index of E, the last letter with the plans from beyond on
	rowA      = 0
	rowB      = 1
)

// Table II-C's rows A (from AQL 25 on) and B (from 40 on) leave the diagonals. From memory of the table.
var (
	reducedA = []numbers{{1, 2}, {2, 3}, {3, 4}, {5, 6}, {7, 8}, {10, 11}, {14, 15}, {21, 22}, {30, 31}}
	reducedB = []numbers{{2, 4}, {3, 5}, {5, 6}, {7, 8}, {10, 11}, {14, 15}, {21, 22}, {30, 31}}
)

// cell is the plan of a letter and an AQL, both by index; an arrow has reject 0 and says whether it points down.
func cell(s Severity, letter, aql int) (plan numbers, down bool) {
	if s == Reduced {
		if at := aql - (len(AQLs) - len(reducedA)); letter == rowA && at >= 0 {
			return reducedA[at], false
		}
		if at := aql - (len(AQLs) - len(reducedB)); letter == rowB && at >= 0 {
			return reducedB[at], false
		}
	}
	t := tables[s]
	at := letter + aql
	last := t.first + len(t.plans) - 1
	if letter > lastOfFew {
		last = t.beyond - 1
	}
	switch {
	case at < t.first:
		return arrow, true
	case at > last:
		return arrow, false
	}
	// Of the two arrows beside a 0/1 plan the left one points up to it, except in the tightened table and in row A, which
	// has no row above.
	return t.plans[at-t.first], at > t.first+1 || s == Tightened || letter == rowA
}

// follow finds the plan of a letter and an AQL, along the arrows: the letter whose row holds it. An arrow that leads off
// the table, at the lower end of a column whose plan stands above, is followed the other way.
func follow(s Severity, letter, aql int) (row int, plan numbers) {
	_, down := cell(s, letter, aql)
	for _, step := range []int{direction(down), direction(!down)} {
		for row = letter; row >= 0 && row < len(tables[s].sizes); row += step {
			if plan, _ = cell(s, row, aql); plan.reject > 0 {
				return row, plan
			}
		}
	}
	return letter, arrow // no column of the tables is empty
}

func direction(down bool) int {
	if down {
		return 1
	}
	return -1
}
