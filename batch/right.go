package batch

import (
	"slices"
	"strings"
)

// Right is something that a person may do, in the words that follow "may".
type Right string

// The rights. Those from Concede on are signed: they release product or change what readings are judged by.
const (
	Look         Right = "look at the pages"
	Measure      Right = "measure and record rework"
	SetUp        Right = "set up gauges and their lines"
	Acknowledge  Right = "acknowledge alarms"
	OpenBatch    Right = "open batches and register serial numbers"
	Keep         Right = "keep instruments and their visits"
	Audit        Right = "draw outgoing audits and give them up"
	ReadTrail    Right = "read the record's trail"
	PlanStudy    Right = "plan gauge studies"
	CastDoubt    Right = "cast doubt on readings"
	Concede      Right = "grant a concession"
	ClearDoubt   Right = "clear necks of doubt"
	SignAudit    Right = "sign an outgoing audit"
	Freeze       Right = "freeze control limits"
	TypeU        Right = "enter an uncertainty by hand"
	ReleaseSpec  Right = "release a specification"
	UseStudy     Right = "have a study's result used"
	Certify      Right = "enter a certificate"
	RetireGauge  Right = "retire a gauge"
	CloseBatch   Right = "close a batch"
	ManagePeople Right = "enter people, change their roles and retire them"
)

var signed = []Right{Concede, ClearDoubt, SignAudit, Freeze, TypeU, ReleaseSpec, UseStudy, Certify, RetireGauge, CloseBatch, ManagePeople}

// Signed says that the act asks for the person's own password at that moment and is kept with a Signature, where people sign on.
func (r Right) Signed() bool { return slices.Contains(signed, r) }

// rights of each role. Managing people is no right of a role, see Person.Administers: who does it reads the record's trail too.
var rights = map[Role][]Right{
	Viewer:    {Look},
	Auditor:   {Look, ReadTrail},
	Inspector: {Look, Measure, SetUp, Acknowledge},
	Repairer:  {Look, Measure, SetUp, Acknowledge},
	QualityManager: {Look, Measure, SetUp, Acknowledge, OpenBatch, Keep, Audit, ReadTrail, PlanStudy, CastDoubt,
		Concede, ClearDoubt, SignAudit, Freeze, TypeU, ReleaseSpec, UseStudy, Certify, RetireGauge, CloseBatch},
}

// May says whether a person has a right. Who is retired has none.
func (p Person) May(r Right) bool {
	if p.Retired {
		return false
	}
	return slices.Contains(rights[p.Role], r) || p.Administers && (r == ManagePeople || r == ReadTrail)
}

// MayAtBench says whether a right holds for who signed on at the bench alone: by badge, or by name and PIN.
func MayAtBench(r Right) bool {
	return slices.Contains([]Right{Look, Measure, SetUp, Acknowledge}, r)
}

// Takes names who has a right, as in "this takes a quality manager".
func (r Right) Takes() string {
	if r == ManagePeople {
		return "an administrator"
	}
	words := map[Role]string{Viewer: "a viewer", Auditor: "an auditor", Inspector: "an inspector", Repairer: "a repairer", QualityManager: "a quality manager"}
	var who []string
	for _, role := range []Role{Viewer, Auditor, Inspector, Repairer, QualityManager} {
		if slices.Contains(rights[role], r) {
			who = append(who, words[role])
		}
	}
	if r == ReadTrail {
		who = append(who, "an administrator")
	}
	return strings.Join(who, " or ")
}
