package batch

import "time"

// Person is somebody who works with the record.
type Person struct {
	ID    string
	Name  string
	Role  Role
	Since time.Time
}

// Role says what a person may decide.
type Role string

// The roles: an inspector measures and records rework, a repairer does what an inspector may not, a quality manager
// opens and closes batches, releases specifications, grants concessions, enters certificates, has studies used, freezes
// control limits and clears necks of doubt.
const (
	Inspector      Role = "inspector"
	Repairer       Role = "repairer"
	QualityManager Role = "quality manager"
)
