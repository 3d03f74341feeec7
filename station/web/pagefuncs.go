package web

import (
	"html/template"
	"time"
)

// pageFuncs are what the templates of the pages for reading and managing call.
func pageFuncs(now func() time.Time) template.FuncMap {
	return template.FuncMap{
		"when":      func(t time.Time) string { return when(t, now()) },
		"clock":     func(t time.Time) string { return t.Local().Format("15:04:05") },
		"day":       day,
		"today":     func() string { return now().Local().Format("2006-01-02 15:04") },
		"batchPath": batchPath,
		"neckPath":  neckPath,
		"number":    func(mm float64, u Unit) string { return u.number(mm) },
		"signed":    func(mm float64, u Unit) string { return u.signed(mm) },
		"exactly":   func(mm float64, u Unit) string { return exactValue(mm, u) },
		"fine":      fineLength,
		"decimals":  func(v float64, n int) string { return fixed(v, n, false) },
		"twice":     func(v float64) float64 { return 2 * v },
		"mul4":      func(percent float64) float64 { return 4 * percent },
		"figure":    figureWords,
		"add":       func(a, b int) int { return a + b },
	}
}

// fineLength writes an uncertainty with two digits more than a measured value carries.
func fineLength(mm float64, u Unit) string {
	if u == Inch {
		return fixed(mm/mmPerInch, 5, false)
	}
	return fixed(mm, 4, false)
}
