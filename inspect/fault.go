package inspect

import "strings"

// Fault is one thing wrong with a specification or with readings.
type Fault struct {
	Field   string // dotted path in the file, e.g. "limit[3].upper_mm", counted from 1
	Found   string // "": nothing where something is needed
	Allowed string
}

// Error says where, what was found and what is allowed.
func (f Fault) Error() string {
	if f.Found == "" {
		return f.Field + ": is missing; needed: " + f.Allowed
	}
	return f.Field + ": found " + f.Found + "; allowed: " + f.Allowed
}

// Faults is an error made of one or more faults.
type Faults []Fault

// Error lists the faults, one a line.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i, fault := range f {
		lines[i] = fault.Error()
	}
	return strings.Join(lines, "\n")
}
