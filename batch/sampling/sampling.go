// Package sampling finds acceptance sampling plans by attributes and says what they are worth: MIL-STD-105E single
// sampling (code letters, normal, tightened and reduced plans), its switching rules, and the operating characteristic.
// Pure functions.
package sampling

import (
	"fmt"
	"slices"
	"strings"
)

// Severity is how strictly lots are inspected.
type Severity string

// The severities of MIL-STD-105E 4.7, and the end of sampling by 4.8.
const (
	Normal       Severity = "normal"
	Tightened    Severity = "tightened"
	Reduced      Severity = "reduced"
	Discontinued Severity = "discontinued"
)

// Plan is a single sampling plan: a lot is accepted when at most Accept nonconforming units are found among N, rejected
// from Reject on. Under reduced inspection numbers between the two accept the lot and end reduced inspection.
type Plan struct {
	Code   string `json:"code"` // the lot's code letter
	N      int    `json:"n"`
	Accept int    `json:"accept"`
	Reject int    `json:"reject"`

	Letter   string `json:"-"` // whose row holds the plan: another than Code where an arrow was followed
	CheckAll bool   `json:"-"` // the sample is the whole lot or more: every unit is checked
}

// Lookup finds the plan of a lot. aql is one of AQLs, level one of Levels. Arrows are followed and bring the sample size of
// the row they lead to. N stays the plan's where it exceeds the lot, and CheckAll is set.
// Source: MIL-STD-105E, Tables I, II-A, II-B and II-C.
func Lookup(lot int, aql float64, level string, severity Severity) (Plan, error) {
	if lot < 2 {
		return Plan{}, fmt.Errorf("lot: found %d; allowed: 2 or more", lot)
	}
	column := slices.Index(AQLs, aql)
	if column < 0 {
		return Plan{}, fmt.Errorf("aql: found %v; allowed: %s", aql, words(AQLs))
	}
	if _, known := tables[severity]; !known {
		return Plan{}, fmt.Errorf("severity: found %q; allowed: normal, tightened, reduced", severity)
	}
	code, err := codeLetter(lot, level)
	if err != nil {
		return Plan{}, err
	}
	row, plan := follow(severity, slices.Index(letters, code), column)
	n := tables[severity].sizes[row]
	return Plan{Code: code, N: n, Accept: plan.accept, Reject: plan.reject, Letter: letters[row], CheckAll: n >= lot}, nil
}

// codeLetter is the letter of a lot at a level.
func codeLetter(lot int, level string) (string, error) {
	column := slices.Index(Levels, level)
	if column < 0 {
		return "", fmt.Errorf("level: found %q; allowed: %s", level, strings.Join(Levels, ", "))
	}
	row := 0
	for codeLetters[row].largest > 0 && lot > codeLetters[row].largest {
		row++
	}
	return codeLetters[row].letters[column : column+1], nil
}

func words(numbers []float64) string {
	texts := make([]string, len(numbers))
	for i, v := range numbers {
		texts[i] = fmt.Sprint(v)
	}
	return strings.Join(texts, ", ")
}
