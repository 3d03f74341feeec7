package batch

import (
	"slices"
	"strings"
	"time"
)

// Matter is what an entry of the record's trail is about, as it is looked for.
type Matter string

// The matters.
const (
	OfVerdicts   Matter = "verdicts"
	OfInspecting Matter = "inspections"
	OfRework     Matter = "rework"
	OfDoubt      Matter = "doubt"
	OfGauges     Matter = "gauges"
	OfBatches    Matter = "batches"
	OfSpecs      Matter = "specifications"
	OfAudits     Matter = "outgoing audits"
	OfAlarms     Matter = "alarms"
	OfLives      Matter = "instruments" // single ones, their visits and what is kept of them
	OfPeople     Matter = "people"
	OfSigningOn  Matter = "signing on"
	OfSignatures Matter = "signatures"
	OfRecord     Matter = "record"
)

// Matters are all of them, in the order in which they are offered.
var Matters = []Matter{OfVerdicts, OfInspecting, OfRework, OfDoubt, OfGauges, OfBatches, OfSpecs, OfAudits, OfAlarms, OfLives, OfPeople, OfSigningOn, OfSignatures, OfRecord}

// About says what the About of an entry names.
type About string

// What an About names.
const (
	NamesNothing About = ""
	NamesNeck    About = "neck" // a serial number, or one with ", attempt 2"
	NamesBatch   About = "batch"
	NamesGauge   About = "gauge"
	NamesPerson  About = "person"
	NamesStudy   About = "study" // its ID
	NamesAlarm   About = "alarm" // its subject
	NamesText    About = "text"  // as it stands
)

// Happening is a kind of entry in the record's trail.
type Happening struct {
	What   string // as the trail has it
	Matter Matter
	Names  About
}

// signedHead begins what an entry of a signature says; the right that was signed follows.
const signedHead = "signed: "

// signedAbout says what the acts of a right are about.
var signedAbout = map[Right]About{
	Concede: NamesNeck, ClearDoubt: NamesNeck, SignAudit: NamesBatch, Freeze: NamesBatch, TypeU: NamesGauge, ReleaseSpec: NamesText, UseStudy: NamesStudy, Certify: NamesGauge,
	RetireGauge: NamesGauge, CloseBatch: NamesBatch, ManagePeople: NamesPerson,
}

// Happenings are all kinds of entries that the program writes, or wrote once.
var Happenings = slices.Concat([]Happening{
	{"verdict", OfVerdicts, NamesNeck},

	{"inspection " + string(Open), OfInspecting, NamesNeck},
	{"inspection " + string(Parked), OfInspecting, NamesNeck},
	{"inspection " + string(Abandoned), OfInspecting, NamesNeck},
	{"inspection measured whole", OfInspecting, NamesNeck},

	{"rework", OfRework, NamesNeck},
	{"rework taken back", OfRework, NamesNeck},

	{"doubt cast", OfDoubt, NamesText},
	{"doubt cleared", OfDoubt, NamesNeck},

	{"gauge saved", OfGauges, NamesGauge},
	{"gauge retired", OfGauges, NamesGauge},
	{"gauge calibrated", OfGauges, NamesGauge},
	{"certificate kept", OfGauges, NamesGauge},
	{"gauge check", OfGauges, NamesGauge},
	{"gauge " + CheckReconnect, OfGauges, NamesGauge},
	{"gauge " + CheckPowerUp, OfGauges, NamesGauge},
	{"gauge " + CheckBattery, OfGauges, NamesGauge},
	{"gauge " + CheckSilence, OfGauges, NamesGauge},
	{"gauge " + CheckDrop, OfGauges, NamesGauge},
	{"gauge " + CheckEntry, OfGauges, NamesGauge},
	{"gauge " + CheckNotWatched, OfGauges, NamesGauge},
	{"gauge study begun", OfGauges, NamesGauge},
	{"gauge study " + string(StudyFinished), OfGauges, NamesStudy},
	{"gauge study " + string(StudyGivenUp), OfGauges, NamesStudy},
	{"gauge study used", OfGauges, NamesStudy},
	{"gauge's repeatability from its study", OfGauges, NamesGauge},

	{"batch opened", OfBatches, NamesBatch},
	{"batch closed", OfBatches, NamesBatch},
	{"necks registered", OfBatches, NamesBatch},
	{"necks " + string(Imported), OfBatches, NamesBatch},
	{"necks " + string(Invented), OfBatches, NamesBatch},
	{"control limits frozen", OfBatches, NamesBatch},
	{"note for the next shift", OfBatches, NamesNothing},

	{"specification added", OfSpecs, NamesText},
	{"specification replaced", OfSpecs, NamesText},

	{"outgoing audit drawn", OfAudits, NamesBatch},
	{"outgoing audit: conforming", OfAudits, NamesNeck},
	{"outgoing audit: nonconforming", OfAudits, NamesNeck},
	{"outgoing audit " + string(OutgoingAccepted), OfAudits, NamesBatch},
	{"outgoing audit " + string(OutgoingBetween), OfAudits, NamesBatch},
	{"outgoing audit " + string(OutgoingRejected), OfAudits, NamesBatch},
	{"outgoing audit " + string(OutgoingGivenUp), OfAudits, NamesBatch},
	{"rejected lot released for another draw", OfAudits, NamesBatch},

	{"alarm", OfAlarms, NamesAlarm},
	{"alarm acknowledged", OfAlarms, NamesAlarm},

	{"instrument entered", OfLives, NamesNeck},
	{"instrument taken in", OfLives, NamesNeck},
	{"owner entered", OfLives, NamesNeck},
	{"visit begun", OfLives, NamesNeck},
	{"visit ended", OfLives, NamesNeck},
	{"strings fitted", OfLives, NamesNeck},
	{"note kept", OfLives, NamesNeck},
	{"promised", OfLives, NamesNeck},
	{"promise ended", OfLives, NamesNeck},
	{"photograph kept", OfLives, NamesNeck},
	{"photograph taken out of sight", OfLives, NamesNeck},

	{"person entered", OfPeople, NamesPerson},
	{"role changed", OfPeople, NamesPerson},
	{"person retired", OfPeople, NamesPerson},
	{"badge given", OfPeople, NamesPerson},
	{"badge taken away", OfPeople, NamesPerson},

	{"people sign on from now", OfSigningOn, NamesNothing},
	{"nobody signs on from now, this machine only", OfSigningOn, NamesNothing},
	{"one-time code issued", OfSigningOn, NamesPerson},
	{"password chosen", OfSigningOn, NamesPerson},
	{"pin chosen", OfSigningOn, NamesPerson},
	{"proved who they are", OfSigningOn, NamesPerson},
	{"failed to prove who they are", OfSigningOn, NamesPerson},
	{string(UnknownName) + " tried", OfSigningOn, NamesNothing},
	{string(UnknownBadge) + " tried", OfSigningOn, NamesNothing},
	{string(UnknownCode) + " tried", OfSigningOn, NamesNothing},
	{"made a way in for one device", OfSigningOn, NamesPerson},
	{"signed one device on by the way in that was made for it", OfSigningOn, NamesPerson},

	{"station stopped", OfRecord, NamesText},
	{"house chosen", OfRecord, NamesText},
	{"record sealed", OfRecord, NamesNothing},
	{"key of checkpoints", OfRecord, NamesNothing},
	{"record is not what was signed", OfRecord, NamesText},
	{"record salvaged", OfRecord, NamesText},
	{"record restored", OfRecord, NamesText},
	{"record found not whole", OfRecord, NamesNothing},
	{"finding looked at", OfRecord, NamesText},
}, signatures())

func signatures() (all []Happening) {
	for _, r := range signed {
		all = append(all, Happening{signedHead + string(r), OfSignatures, signedAbout[r]})
	}
	return all
}

// happenings are all kinds by what the trail has of them.
var happenings = func() map[string]Happening {
	all := make(map[string]Happening, len(Happenings))
	for _, h := range Happenings {
		all[h.What] = h
	}
	return all
}()

// Entry is an entry of the record's trail with what it names.
type Entry struct {
	Event
	Station string

	Serial  string // of the neck, "" where none is named; so the others
	Attempt int    // of its inspection, 0 where none is named
	Batch   string // its own, or its neck's
	Gauge   string
	Person  string

	Signed   Right  // what was signed; "" for what is no signature
	Reason   string // of a signature
	Second   bool   // it is that of a second person
	PutDoubt string // the neck, or "necks of batch QM-2611", looked for, which the entry does not name and what it tells put in doubt
}

// Happening is the entry's kind; one without a matter is of no kind that this program knows.
func (e *Entry) Happening() Happening { return happenings[e.What] }

// Read takes from what the entry says what it names: all but what the record alone knows.
func (e *Entry) Read() {
	e.Signed = ""
	if right, ok := strings.CutPrefix(e.What, signedHead); ok {
		e.Signed = Right(right)
	}
	switch e.Happening().Names {
	case NamesNeck:
		e.Serial, e.Attempt = cutAttempt(e.About)
	case NamesBatch:
		e.Batch = e.About
	case NamesGauge:
		e.Gauge = e.About
	case NamesPerson:
		e.Person = e.About
	}
}

// cutAttempt takes "QM-2611-0001, attempt 2" apart; 0 where no attempt is named.
func cutAttempt(about string) (serial string, attempt int) {
	serial, number, found := strings.Cut(about, ", attempt ")
	if !found {
		return about, 0
	}
	for _, c := range number {
		if c < '0' || c > '9' {
			return about, 0
		}
		attempt = 10*attempt + int(c-'0')
	}
	return serial, attempt
}

// TrailFilter says which entries of the record's trail are wanted. What is empty picks nothing out.
type TrailFilter struct {
	Person string // who did it, or whom it is about
	Serial string // of a neck: also what put it in doubt, registered or drew it
	Batch  string // its number: also what is about its necks, and what put any of them in doubt
	Gauge  string // its name: also its studies, and doubt cast on it
	Matter Matter
	From   time.Time // not before it
	To     time.Time // before it

	Before int64 // entries before the one of this number; 0: from the newest on
	Limit  int   // at most so many; below 1 all
}

// WhatOf lists what the trail has of a matter.
func WhatOf(m Matter) (all []string) {
	for _, h := range Happenings {
		if h.Matter == m {
			all = append(all, h.What)
		}
	}
	return all
}
