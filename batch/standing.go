package batch

// Standing returns the readings that count, in order: those that no other row replaces or takes back. A row that only
// takes another one back is left out too; a withdrawn row that stands by itself says that its point cannot be measured.
func Standing(readings []Reading) []Reading {
	gone := map[string]bool{}
	for i := range readings {
		if id := readings[i].Supersedes; id != "" {
			gone[id] = true
		}
	}
	var standing []Reading
	for _, r := range readings {
		if gone[r.ID] || (r.Withdrawn && r.Supersedes != "") {
			continue
		}
		standing = append(standing, r)
	}
	return standing
}
