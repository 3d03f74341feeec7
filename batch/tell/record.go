package tell

import (
	"fmt"
	"strings"
	"time"
)

// What is said of a record that nobody keeps twice, or that nothing signs.
const (
	NoBackups    = "No copies are made by a plan: start the station with --backup-to FOLDER."
	NoCheckpoint = "No checkpoint has been signed yet: nothing outside this record says what is in it."
)

// TrailSize says how many entries the record's trail has.
func TrailSize(n int64) string {
	return Counted(int(n), "entry", "entries") + " in the record's trail."
}

// Verified says when the record was found whole last, with so many entries; the zero time: never.
func Verified(at time.Time, entries int64, now time.Time) string {
	if at.IsZero() {
		return "The record has not been verified yet by this station: it is verified at its start and each night."
	}
	return fmt.Sprintf("The record was found whole %s, with %s.", ago(at, now), Counted(int(entries), "entry", "entries"))
}

// NotWhole says what the last verification found, since when, and when the record was found whole before; the zero time: never.
func NotWhole(found string, since, whole, now time.Time) string {
	words := fmt.Sprintf("The record was found not whole %s: %s.", ago(since, now), strings.TrimSuffix(found, "."))
	if !whole.IsZero() {
		words += fmt.Sprintf(" It was whole %s.", ago(whole, now))
	}
	return words
}

// LookedAt says who looked at what was found.
func LookedAt(by string, at, now time.Time) string {
	return fmt.Sprintf("%s looked at it %s.", by, ago(at, now))
}

// Copied says when a copy was made last, and why the newest try failed, "" where it did not.
func Copied(what string, at time.Time, file, failed string, now time.Time) string {
	words := "No " + what + " has been made yet."
	if !at.IsZero() {
		words = fmt.Sprintf("The newest %s was made %s: %s.", what, ago(at, now), file)
	}
	if failed != "" {
		words += " The last try failed: " + strings.TrimSuffix(failed, ".") + "."
	}
	return words
}

// Drilled says when it was proved last that a copy can be restored, and why the newest could not, "" where it could.
func Drilled(at time.Time, file, failed string, now time.Time) string {
	words := "It has not been proved yet that a copy can be restored."
	if !at.IsZero() {
		words = fmt.Sprintf("It was proved %s that this copy can be restored: %s.", ago(at, now), file)
	}
	if failed != "" {
		words += " The newest could not be proved: " + strings.TrimSuffix(failed, ".") + "."
	}
	return words
}

// Checkpoint says how much of the record is signed.
func Checkpoint(size int64, at time.Time, key string, now time.Time) string {
	return fmt.Sprintf("The first %s of the evidence were signed %s, by the key %s.", Counted(int(size), "entry", "entries"), ago(at, now), key)
}

// Room says how many bytes are left on the record's disk.
func Room(free int64) string {
	if free < 10<<30 {
		return fmt.Sprintf("%d MB are left on the record's disk.", free>>20)
	}
	return fmt.Sprintf("%d GB are left on the record's disk.", free>>30)
}

// ago writes a moment with how long ago it was: "on 2026-11-30 02:00, 9 h ago".
func ago(at, now time.Time) string {
	words := "on " + at.Local().Format("2006-01-02 15:04")
	switch d := now.Sub(at); {
	case d < 2*time.Minute:
		return words + ", just now"
	case d < 2*time.Hour:
		return fmt.Sprintf("%s, %d min ago", words, int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%s, %d h ago", words, int(d.Hours()))
	default:
		return fmt.Sprintf("%s, %d days ago", words, int(d.Hours()/24))
	}
}
