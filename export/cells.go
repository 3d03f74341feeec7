package export

import "strings"

// SafeCells keeps a spreadsheet program from taking what was typed for a formula, in rows of comma-separated values: what begins like one gets an apostrophe before it.
func SafeCells(row []string) []string {
	for i, cell := range row {
		if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
			row[i] = "'" + cell
		}
	}
	return row
}
