package tell

import (
	"regexp"
	"strconv"
	"strings"

	"sagitta/batch"
)

// happened are the sentences of the kinds of entries in the record's trail. {By} did it; {detail} is what else the entry says, and stands at the end
// where no place is named for it; {note} stands for a signed note, which is not for reading.
var happened = map[string]string{
	"verdict": "The verdict on {neck}, attempt {attempt}, by {By}",

	"inspection " + string(batch.Open):      "{By} took up attempt {attempt} at {neck} again",
	"inspection " + string(batch.Parked):    "{By} parked attempt {attempt} at {neck}",
	"inspection " + string(batch.Abandoned): "{By} gave up attempt {attempt} at {neck}",
	"inspection measured whole":             "{By} had everything measured in attempt {attempt} at {neck}",

	"rework":            "{By} did rework on {neck}",
	"rework taken back": "{By} took back a rework step on {neck}",

	"doubt cast":    "{By} cast doubt on what was measured: {about}",
	"doubt cleared": "{By} cleared {neck} of doubt",

	"gauge saved":                          "{By} saved the page of the gauge {gauge}",
	"gauge retired":                        "{By} retired the gauge {gauge}",
	"gauge calibrated":                     "{By} gave the gauge {gauge} the figures of its certificate",
	"certificate kept":                     "{By} entered a certificate of the gauge {gauge}",
	"gauge check":                          "{By} checked the gauge {gauge}",
	"gauge " + batch.CheckReconnect:        gaugeHappened,
	"gauge " + batch.CheckPowerUp:          gaugeHappened,
	"gauge " + batch.CheckBattery:          gaugeHappened,
	"gauge " + batch.CheckSilence:          gaugeHappened,
	"gauge " + batch.CheckDrop:             gaugeHappened,
	"gauge " + batch.CheckEntry:            gaugeHappened,
	"gauge " + batch.CheckNotWatched:       gaugeHappened,
	"gauge study begun":                    "{By} planned a study of the gauge {gauge}",
	"gauge study finished":                 "{By} finished a study of the gauge {gauge}",
	"gauge study given up":                 "{By} gave up a study of the gauge {gauge}",
	"gauge study used":                     "{By} had the result of a study of the gauge {gauge} used",
	"gauge's repeatability from its study": "{By} gave the gauge {gauge} the repeatability of its study",

	"batch opened":            "{By} opened batch {batch}",
	"batch closed":            "{By} closed batch {batch}",
	"necks registered":        "{By} registered necks of batch {batch}",
	"necks imported":          "{By} took old inspections into batch {batch}",
	"necks invented":          "{By} put invented necks into batch {batch}",
	"control limits frozen":   "{By} froze the control limits of batch {batch}",
	"note for the next shift": "{By} left a note for the next shift",

	"specification added":    "{By} released the specification {about}",
	"specification replaced": "{By} replaced the specification {about}, which no batch used yet",

	"outgoing audit drawn":                   "{By} drew a sample of batch {batch} for its outgoing audit",
	"outgoing audit: conforming":             "{By} found {neck} conforming in an outgoing audit",
	"outgoing audit: nonconforming":          "{By} found {neck} nonconforming in an outgoing audit",
	"outgoing audit accepted":                "{By} signed the outgoing audit of batch {batch}, which accepts the lot",
	"outgoing audit between":                 "{By} signed the outgoing audit of batch {batch}, which accepts the lot, between its two numbers",
	"outgoing audit rejected":                "{By} signed the outgoing audit of batch {batch}, which rejects the lot",
	"outgoing audit given up":                "{By} gave up the outgoing audit of batch {batch}",
	"rejected lot released for another draw": "{By} released the rejected lot of batch {batch} for another draw",

	"alarm":              "{By} raised an alarm{on}",
	"alarm acknowledged": "{By} acknowledged an alarm{on}",

	"instrument entered":            "{By} entered the instrument {neck}",
	"instrument taken in":           "{By} took in the life of {neck} from a file",
	"owner entered":                 "{By} entered whose the instrument {neck} is",
	"visit begun":                   "{By} began a visit of {neck}",
	"visit ended":                   "{By} ended a visit of {neck}",
	"strings fitted":                "{By} entered which strings {neck} was given",
	"note kept":                     "{By} kept a note on {neck}",
	"promised":                      "{By} entered a promise for {neck}",
	"promise ended":                 "{By} ended a promise for {neck}",
	"photograph kept":               "{By} kept a photograph of {neck}",
	"photograph taken out of sight": "{By} took a photograph of {neck} out of sight",

	"person entered":   "{By} entered {person} as {detail}",
	"role changed":     "{By} changed the role of {person} to {detail}",
	"person retired":   "{By} retired {person}, who was {detail}",
	"badge given":      "{By} gave {person} the badge {detail}",
	"badge taken away": "{By} took the badge {detail} away from {person}",

	"people sign on from now":                                 "{By} had people sign on from then on",
	"nobody signs on from now, this machine only":             "{By} had nobody sign on from then on, and the station worked on its own machine only",
	"one-time code issued":                                    "{By} issued a one-time code to {person}, good {detail}",
	"password chosen":                                         "{By} chose a new password",
	"pin chosen":                                              "{By} chose a new PIN",
	"proved who they are":                                     "{By} proved who they are, {strength}",
	"failed to prove who they are":                            "Somebody failed to prove that they are {person}, {strength}",
	string(batch.UnknownName) + " tried":                      "Somebody tried to sign on under a name that is not entered",
	string(batch.UnknownBadge) + " tried":                     "Somebody tried to sign on with a badge that is nobody's",
	string(batch.UnknownCode) + " tried":                      "Somebody tried a one-time code that is not good",
	"made a way in for one device":                            "{By} made a way in for one device of {person}, {strength}",
	"signed one device on by the way in that was made for it": "A device of {person} was signed on by the way in made for it, {strength}",

	"station stopped":               "The station {about} was ended",
	"house chosen":                  "{By} chose whom the record is kept for: a {about}",
	"key of checkpoints":            "{By} signs the record's checkpoints from here on, with the key {detail}",
	"record is not what was signed": "{By} found that the record is not what was signed: {about}{note}",
	"record sealed":                 "{By} took into the evidence what was written before there was any",
	"record restored":               "{By} brought this record back from the copy {about}",
	"record found not whole":        "{By} verified the record and found it not whole",
	"finding looked at":             "{By} looked at what was found, {about}",
	"record salvaged":               "{By} made this record of what could be read of {about}",
}

// gaugeHappened is the sentence of what happened to a gauge; the detail says what.
const gaugeHappened = "{reported}the gauge {gauge} {detail}"

// sealedBy is what an entry says of a digest: the page shows it apart.
var sealedBy = regexp.MustCompile(`[;,]? ?(?:digest \d+, |lot )?sha256 ([0-9a-f]{64})(?:; )?`)

// Entry is what an entry of the record's trail says, as a sentence in the house's words: who did what to what, and why.
func (w Words) Entry(e batch.Entry) string {
	template, known := w.happened(e.What)
	switch {
	case e.Signed != "":
		template = w.signedTemplate(e)
	case !known:
		template = strings.TrimSuffix("{By}: "+e.What+", {about}", ", {about}")
		if e.About != "" {
			template += ", {about}"
		}
	}
	detail := strings.Trim(sealedBy.ReplaceAllString(e.Detail, ""), ";, ")
	if e.Happening().Names == batch.NamesPerson {
		detail = w.roles(detail)
	}
	placed := strings.Contains(template, "{result}") || strings.Contains(template, "{detail}") || strings.Contains(template, "{strength}") || strings.Contains(template, "{note}")
	words := strings.NewReplacer("{By}", doer(e.By), "{neck}", e.Serial, "{attempt}", strconv.Itoa(e.Attempt), "{batch}", e.Batch, "{gauge}", e.Gauge, "{person}", somebody(e.Person),
		"{about}", e.About, "{detail}", detail, "{strength}", strengthWords(e.Detail), "{on}", w.alarmOn(e), "{note}", "", "{result}", w.resultOf(detail), "{reported}", reportedBy(e.By)).Replace(template)
	if !placed && detail != "" {
		words += ": " + detail
	}
	words = Upper(strings.TrimSuffix(Minus(words), ".")) + "."
	if e.PutDoubt != "" {
		words += " It put " + e.PutDoubt + " in doubt."
	}
	return words
}

// Knows says whether a kind of entry has a sentence of its own.
func Knows(what string) bool {
	_, known := happened[what]
	e := batch.Entry{Event: batch.Event{What: what}}
	e.Read()
	return known || e.Signed != "" && e.Happening().Matter != ""
}

// Digest is the SHA-256 in hex with which an entry seals what it is about, "" where it seals nothing.
func Digest(e batch.Entry) string {
	if found := sealedBy.FindStringSubmatch(e.Detail); found != nil {
		return found[1]
	}
	return ""
}

// signedTemplate is the sentence of a signature.
func (w Words) signedTemplate(e batch.Entry) string {
	words := "{By} signed"
	if e.Second {
		words += " as the second person"
	}
	words += ", to " + w.Say(e.Signed)
	switch about := e.Happening().Names; {
	case about == batch.NamesStudy:
		words += ": {gauge}"
	case e.About != "":
		words += ": {about}"
	}
	if e.Reason != "" {
		words += "; " + e.Reason
	}
	return words
}

// doer is who did what an entry tells.
func doer(by string) string {
	switch by {
	case "":
		return "somebody"
	case "station":
		return "the station"
	case batch.AtTheMachine:
		return "somebody at the machine"
	}
	return by
}

// reportedBy begins what happened to a gauge, where a person said so.
func reportedBy(by string) string {
	if by == "" {
		return ""
	}
	return doer(by) + " reported: "
}

func somebody(name string) string {
	if name == "" {
		return "the first administrator"
	}
	return name
}

// strengthWords says how somebody proves who they are.
func strengthWords(strength string) string {
	switch batch.Strength(strength) {
	case batch.AtBench:
		return "for the bench"
	case batch.ByPassword:
		return "by password"
	}
	return strength
}

// alarmOn says what an alarm is about.
func (w Words) alarmOn(e batch.Entry) string {
	var of []string
	if e.Batch != "" {
		of = append(of, strings.TrimPrefix(w.Say("batch")+" ", "visit ")+e.Batch) // a visit's number says that it is one
	}
	if e.Gauge != "" {
		of = append(of, "the gauge "+e.Gauge)
	}
	if len(of) == 0 {
		return ""
	}
	return " about " + List(of)
}

// MatterName names what entries of the record's trail are about.
func (w Words) MatterName(m batch.Matter) string {
	if own, there := builderMatters[m]; there && w.builder {
		return own
	}
	return Upper(string(m))
}
