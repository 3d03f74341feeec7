package show

import (
	"embed"
	"fmt"
	"html/template"
	"time"

	"sagitta/batch/tell"
	"sagitta/inspect/unit"
)

// Templates write what pages of several groups show.
//
//go:embed templates
var Templates embed.FS

// Funcs are what the templates of every page call.
func Funcs(now func() time.Time) template.FuncMap {
	return template.FuncMap{
		"when":       func(t time.Time) string { return When(t, now()) },
		"clock":      func(t time.Time) string { return t.Local().Format("15:04:05") },
		"day":        Day,
		"today":      func() string { return now().Local().Format("2006-01-02 15:04") },
		"number":     func(mm float64, u unit.Unit) string { return Number(mm, u) },
		"signed":     func(mm float64, u unit.Unit) string { return Signed(mm, u) },
		"exactly":    func(mm float64, u unit.Unit) string { return ExactValue(mm, u) },
		"fine":       Fine,
		"decimals":   func(v float64, n int) string { return Fixed(v, n, false) },
		"twice":      func(v float64) float64 { return 2 * v },
		"mul4":       func(percent float64) float64 { return 4 * percent },
		"add":        func(a, b int) int { return a + b },
		"figure":     Figure,
		"reliefArc":  ReliefArc,
		"counted":    tell.Counted,
		"because":    tell.Because,
		"checked":    tell.Checked,
		"yieldNote":  func() string { return tell.YieldNote },
		"minus":      tell.Minus,
		"commonest":  Commonest,
		"indexNote":  tell.IndexNote,
		"upperFirst": tell.Upper,
		"formula":    Formula,
		"help":       Help,
		"dict":       dict,
	}
}

// dict makes a map of names and values, for a template that takes more than one thing.
func dict(pairs ...any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict: %d arguments; names and values are needed in pairs", len(pairs))
	}
	m := make(map[string]any, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("dict: argument %d is no name", i+1)
		}
		m[name] = pairs[i+1]
	}
	return m, nil
}
