package show

import (
	"sagitta/batch"
	"sagitta/inspect"
)

// NeckLine is one row of the table of necks.
type NeckLine struct {
	batch.NeckRow
	State   string // word for where it stands
	Failing string
}

// NeckLines puts rows of the record in words.
func NeckLines(rows []batch.NeckRow) []NeckLine {
	lines := make([]NeckLine, len(rows))
	for i, r := range rows {
		lines[i] = NeckLine{NeckRow: r, State: neckState(r), Failing: inspect.Name(r.FirstFailing)}
	}
	return lines
}

// neckState says where a neck stands: its disposition, or what it waits for.
func neckState(r batch.NeckRow) string {
	switch {
	case r.State == batch.Open:
		return "on the bench"
	case r.State == batch.Parked:
		return "parked"
	case r.Disposition != "":
		return string(r.Disposition)
	case r.Attempts > 0:
		return "no verdict"
	}
	return "not inspected"
}
