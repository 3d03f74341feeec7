package batch

import (
	"fmt"
	"regexp"
	"time"

	"sagitta/inspect"
)

// SpecRevision is one revision of a specification in the record. It may be replaced until its first use freezes it.
type SpecRevision struct {
	ID       string
	Name     string
	Revision string
	Text     string        // the TOML file as it came in
	Spec     *inspect.Spec // parsed, with defaults filled in
	AddedAt  time.Time
	AddedBy  string
	Reason   string    // why this revision was made, "" where nobody said
	FrozenAt time.Time // zero until a batch is opened against it
}

// Batch is a run of necks judged against one frozen specification revision.
type Batch struct {
	ID       string
	Number   string // e.g. QM-2611
	Spec     SpecRevision
	Planned  int         // necks planned; 0 is open-ended
	Pattern  string      // regular expression that every serial number must match; empty: any registered serial number
	Check    CheckSystem // how every serial number ends in a check character, "" where it ends in none
	Note     string
	OpenedAt time.Time
	OpenedBy string
	ClosedAt time.Time // zero while open
	Visit    int       // the number of the visit that it is (see Visit); 0 of a shop's batch
}

// SerialPattern compiles the batch's pattern so that it must match a whole serial number. The error names a pattern that is
// no regular expression.
func (b *Batch) SerialPattern() (*regexp.Regexp, error) {
	re, err := regexp.Compile(`^(?:` + b.Pattern + `)$`)
	if err != nil {
		return nil, fmt.Errorf("the pattern %q for serial numbers is not a regular expression: %w", b.Pattern, err)
	}
	return re, nil
}

// Neck is one serial number of a batch. A serial number stands in one batch of the shop, and once more in each visit of its instrument.
type Neck struct {
	ID           string
	Serial       string
	BatchID      string
	BatchNumber  string
	Visit        int // the number of the visit that its batch is; 0 of a shop's batch
	RegisteredAt time.Time
}
