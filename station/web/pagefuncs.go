package web

import (
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// pageFuncs are what the templates of the pages for reading and managing call.
func pageFuncs(now func() time.Time) template.FuncMap {
	return template.FuncMap{
		"when":         func(t time.Time) string { return when(t, now()) },
		"clock":        func(t time.Time) string { return t.Local().Format("15:04:05") },
		"day":          day,
		"kilobytes":    func(bytes int) int { return (bytes + 999) / 1000 },
		"today":        func() string { return now().Local().Format("2006-01-02 15:04") },
		"batchPath":    batchPath,
		"neckPath":     neckPath,
		"number":       func(mm float64, u unit.Unit) string { return numberIn(mm, u) },
		"signed":       func(mm float64, u unit.Unit) string { return signedIn(mm, u) },
		"exactly":      func(mm float64, u unit.Unit) string { return exactValue(mm, u) },
		"fine":         fineLength,
		"decimals":     func(v float64, n int) string { return fixed(v, n, false) },
		"twice":        func(v float64) float64 { return 2 * v },
		"usualBase":    func() int { return batch.UsualBase },
		"mul4":         func(percent float64) float64 { return 4 * percent },
		"alarmPath":    alarmPath,
		"alarmCount":   alarmCount,
		"auditPath":    outgoingPath,
		"auditShape":   outgoingShape,
		"findingShape": func(conforms bool) string { return pick(conforms, "pass", "rework") },
		"nothingTyped": func() acknowledgement { return acknowledgement{} },
		"scopeFields":  scopeFields,
		"dict":         dict,
		"commonest":    commonest,
		"formula":      formula,
		"because":      because,
		"dispositions": func() []string {
			return []string{string(inspect.Pass), string(inspect.Rework), string(inspect.Repair), string(inspect.Remeasure), string(inspect.Scrap), string(inspect.Concession)}
		},
		"figure":  figureWords,
		"counted": counted,
		"add":     func(a, b int) int { return a + b },
	}
}

// commonest says in a sentence what leads a Pareto table; of names what is counted, in the plural.
func commonest(rows []reasonRow, of string) string {
	total := 0
	for _, r := range rows {
		total += r.Necks
	}
	if total == 0 {
		return ""
	}
	names := upperFirst(rows[0].Name)
	if n := slices.IndexFunc(rows, func(r reasonRow) bool { return r.Necks < rows[0].Necks }); n != 1 {
		if n < 0 {
			n = len(rows)
		}
		for i, r := range rows[1:n] {
			names += pick(i == n-2, " and ", ", ") + r.Name
		}
		return fmt.Sprintf("%s stand first with %d each of %d %s (%.1f %% each).", names, rows[0].Necks, total, of, rows[0].Share)
	}
	return fmt.Sprintf("%s stands first: %d of %d %s (%.1f %%).", names, rows[0].Necks, total, of, rows[0].Share)
}

// because says in words what made a check needed.
func because(after string) string {
	switch after {
	case batch.CheckFirstUse:
		return "it had never been checked"
	case batch.CheckShift:
		return "a shift began"
	case batch.CheckDue:
		return "its last check had run out"
	case batch.CheckFailed:
		return "its last check failed"
	case batch.CheckAskedFor:
		return "it was asked for"
	case batch.CheckReconnect:
		return "it had been unplugged"
	case batch.CheckPowerUp:
		return "it had lost power"
	case batch.CheckSilence:
		return "it had been silent and may have been switched off"
	case batch.CheckBattery:
		return "its battery was low"
	case batch.CheckDrop:
		return "it fell or was knocked"
	case batch.CheckNotWatched:
		return "it had not been watched all the time"
	case batch.CheckEntry:
		return "its entry had changed what its readings mean"
	}
	return after
}

var indexed = regexp.MustCompile(`\b([a-zA-Z])_([a-z0-9]+)\b`)

// formula writes a formula of plain signs with its indices set low and with minus signs.
func formula(plain string) template.HTML {
	text := strings.ReplaceAll(template.HTMLEscapeString(plain), " - ", " − ")
	return template.HTML(indexed.ReplaceAllString(text, "$1<sub>$2</sub>"))
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
