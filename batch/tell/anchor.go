package tell

import (
	"fmt"
	"time"

	"sagitta/batch/anchor"
)

// AnchorLimit says what checkpoints do not show.
const AnchorLimit = "Whoever has both the record and its key can make everything anew that was recorded after the last checkpoint which left the building, and nothing before it."

// AnchorCarried says what a checkpoint in a file that leaves the building is for.
const AnchorCarried = "What the record was at the moment named here, signed by its station. Keep this file: sagitta verify --against FILE shows by it whether all of that is still there unchanged."

// checkpointMoment is a time of a checkpoint, with its zone.
func checkpointMoment(at time.Time) string {
	if at.IsZero() {
		return "an unknown time"
	}
	return at.UTC().Format("2006-01-02 15:04:05") + " UTC"
}

// Evidence says how much evidence a record has.
func Evidence(size int64, root string) string {
	return fmt.Sprintf("Its evidence has %s, one for each time that something was written: readings too, which the trail does not list. Their root is %s.", Counted(int(size), "entry", "entries"), root)
}

// NewestCheckpoint says what of a record's evidence is signed; nil is nothing.
func NewestCheckpoint(c *anchor.Checkpoint, entries int64) string {
	if c == nil {
		return "Nothing of it is signed: its station signs it at the next start."
	}
	words := fmt.Sprintf("The newest checkpoint is of %s and covers ", checkpointMoment(c.At))
	switch left := entries - c.Size; {
	case left <= 0:
		words += "all of them"
	default:
		words += fmt.Sprintf("the first %d; %s recorded since", c.Size, Counted(int(left), "was", "were"))
	}
	return words + ". It is signed with the public key " + c.Key
}

// BesideAnchor says what a checkpoint from elsewhere shows of the record.
func BesideAnchor(b *anchor.Beside) string {
	if b.Signed == anchor.BadSignature {
		return fmt.Sprintf("it shows nothing: the signature of its checkpoint of %s is not valid. It was altered, or no station signed it.", Counted(int(b.Size), "entry", "entries"))
	}
	words := fmt.Sprintf("all that was recorded up to %s (%s) is still there unchanged", checkpointMoment(b.At), Counted(int(b.Size), "entry", "entries"))
	switch {
	case b.Short:
		words = fmt.Sprintf("%s recorded up to %s, and the record has %d: its end is missing. It was cut off, or an older copy was brought back. Whether the %d are unchanged this cannot tell",
			Counted(int(b.Size), "entry was", "entries were"), checkpointMoment(b.At), b.Entries, b.Entries)
	case b.Other:
		words = fmt.Sprintf("what was recorded up to %s (%s) is not what stands here: it was rewritten after that, or an older copy was brought back and written on", checkpointMoment(b.At), Counted(int(b.Size), "entry", "entries"))
	case b.Entries > b.Size:
		words += fmt.Sprintf("; %s added since", Counted(int(b.Entries-b.Size), "entry was", "entries were"))
	}
	words += "."
	if b.Unkept && b.Signed == anchor.KnownKey && !b.Short && !b.Other {
		words += " But the record does not hold this checkpoint itself any more: it was removed, or an older copy was brought back."
	}
	if b.Signed == anchor.OtherKey {
		words += " But it is signed with another key than this record's: " + b.Key + "."
	}
	return words
}

// NoAnchor says why a file shows nothing of the record.
func NoAnchor(err error) string { return "it shows nothing: " + err.Error() }

// BesideAnchors sums up what files show of the record: so many agree with it, so many do not, the others show nothing.
func BesideAnchors(files, agree, differ int) string {
	switch {
	case agree == files:
		return fmt.Sprintf("all %d files agree with the record", files)
	case files == 1 && differ == 1:
		return "the file does not agree with the record"
	case files == 1:
		return "the file shows nothing of the record"
	}
	record := "the record" // named once
	var says []string
	for _, part := range []struct {
		n             int
		one, many, it string
	}{{agree, "agrees", "agree", "with"}, {differ, "does not agree", "do not agree", "with"}, {files - agree - differ, "shows nothing", "show nothing", "of"}} {
		if part.n > 0 {
			says = append(says, Counted(part.n, part.one, part.many)+" "+part.it+" "+record)
			record = "it"
		}
	}
	if len(says) == 1 {
		return fmt.Sprintf("none of %d files says that the record is as it was: %s", files, says[0])
	}
	return fmt.Sprintf("of %d files %s", files, List(says))
}

// UpToAnchor says up to where the record is as it was, where a later checkpoint shows that it is not.
func UpToAnchor(holds *anchor.Beside) string {
	return fmt.Sprintf("Up to %s (%s) all is as it was: what was rewritten or is missing came after that.", checkpointMoment(holds.At), Counted(int(holds.Size), "entry", "entries"))
}

// Stamp says when an authority had a checkpoint.
func Stamp(s *anchor.Stamp) string {
	words := fmt.Sprintf("the authority %s says that it had this checkpoint at %s", s.Authority, checkpointMoment(s.At))
	if s.Trusted {
		return words + "; its certificate comes from a root that you gave."
	}
	return words + ". Whether it is who it says was not checked: give --stamp-roots, or compare its certificate's SHA-256, " + s.Certificate + "."
}
