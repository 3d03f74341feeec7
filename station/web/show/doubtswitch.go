package show

import (
	"net/url"

	"sagitta/batch/tell"
)

// DoubtSwitch says how many of the numbers on a page are in doubt, and leads to the page without them, or with them again. The zero value
// says nothing.
type DoubtSwitch struct {
	Words, Link, Label string
	Without            bool // they are left out
}

// SwitchOf is the switch of the page at an address, whose numbers are of so many necks, n of them in doubt.
func SwitchOf(address *url.URL, n, of int, without bool) DoubtSwitch {
	if n == 0 && !without {
		return DoubtSwitch{}
	}
	q := address.Query()
	s := DoubtSwitch{Words: tell.InStatistics(n, of, without), Label: "Leave them out", Without: without}
	if q.Set("without", "doubt"); without {
		s.Label = "Take them in"
		q.Del("without")
	}
	s.Link = (&url.URL{Path: address.Path, RawQuery: q.Encode()}).String()
	return s
}
