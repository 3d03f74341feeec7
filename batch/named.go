package batch

import (
	"strconv"
	"strings"
)

// Key names a characteristic in an address: name/track/string/fret/held fret, empty parts at the end left out.
func (n Named) Key() string {
	part := func(v int) string {
		if v == 0 {
			return ""
		}
		return strconv.Itoa(v)
	}
	return strings.TrimRight(strings.Join([]string{n.Name, n.Track, part(n.String), part(n.Fret), part(n.HeldFret)}, "/"), "/")
}
