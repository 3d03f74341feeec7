package record

import (
	"path"
	"strings"
)

// Schema is the newest version of the record's schema that this program knows: the number of its last migration.
func Schema() string {
	files, err := migrations.ReadDir("migrations")
	if err != nil || len(files) == 0 {
		return "unknown" // they are embedded, so that this cannot be
	}
	number, _, _ := strings.Cut(path.Base(files[len(files)-1].Name()), "_")
	return strings.TrimLeft(number, "0")
}
