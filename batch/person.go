package batch

import (
	"regexp"
	"time"
)

// Person is somebody who works with the record.
type Person struct {
	ID    string
	Name  string
	Role  Role
	Since time.Time
	Badge string // code of their badge, which says at the bench who measures; "" for none

	Administers bool // enters people, changes their roles and retires them, beside what the role may
	Retired     bool // has no rights any more; what they did stays theirs
}

var badge = regexp.MustCompile(`^(?:[A-Za-z][A-Za-z0-9._/-]{2,29}|[0-9]{5,30})$`)

// CheckBadge refuses what cannot be a badge's code: one that could be taken for a value, or that a Code 128 of the usual length does not
// hold.
func CheckBadge(code string) error {
	if !badge.MatchString(code) {
		return Mendable.Errorf("the badge's code %q is none: it begins with a letter and has 3 to 30 letters, digits, dots, strokes or hyphens, "+
			"or it is 5 to 30 digits; shorter numbers would be taken for readings", code)
	}
	return nil
}

// Role says what a person may decide.
type Role string

// The roles: an inspector measures and records rework, a repairer does what an inspector may not, a quality manager
// opens and closes batches, releases specifications, grants concessions, enters certificates, has studies used, freezes
// control limits and clears necks of doubt. A viewer reads pages, an auditor the record's trail too. What each may is in right.go.
const (
	Viewer         Role = "viewer"
	Auditor        Role = "auditor"
	Inspector      Role = "inspector"
	Repairer       Role = "repairer"
	QualityManager Role = "quality manager"
)

// AtTheMachine is who acts where a command on the station's own machine does what a person would need rights for. Nobody is entered under it.
const AtTheMachine = "at the machine"

// SecretKind is what a person proves themselves by.
type SecretKind string

// The kinds of secrets: a password for everything, a PIN at the bench.
const (
	Password SecretKind = "password"
	PIN      SecretKind = "pin"
)

// Strength says how well a session knows its person.
type Strength string

// The strengths: at the bench by badge, or by name and PIN; everywhere by password. What holds at the bench alone is in MayAtBench.
const (
	AtBench    Strength = "bench"
	ByPassword Strength = "password"
)

// OneTimeCode lets one person choose their own password and PIN, once.
type OneTimeCode struct {
	ID     string
	Person string // the name, "" for the first administrator, who gives their own
	Until  time.Time
}

// Unknown is what somebody tried to sign on with that is nobody's.
type Unknown string

// What nobody has: a name that is not entered, a badge, a one-time code.
const (
	UnknownName  Unknown = "unknown name"
	UnknownBadge Unknown = "unknown badge"
	UnknownCode  Unknown = "unknown one-time code"
)
