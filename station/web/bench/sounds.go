package bench

import (
	"encoding/json"
	"math"
	"strings"

	"sagitta/station/bench"
)

// sound is what is heard of one thing: its notes, short or long, each a step of a scale. What tells sounds apart is their rhythm and
// whether they rise or fall, so that nobody needs an ear for pitch.
type sound struct {
	Name  bench.Sound
	Notes string // "s2 s4": a short note, then a short one two steps higher; "l": a long one
	Says  string // for the sound check
}

// language is the whole of it. What is heard most is shortest.
var language = []sound{
	{bench.Taken, "s3", "a reading is recorded"},
	{bench.TakenBack, "s4 s2", "what was recorded no longer counts"},
	{bench.Skipped, "s2 s2", "a point is noted as not to be measured"},
	{bench.Accepted, "s2 s4", "a neck, a batch or a person came"},
	{bench.Refused, "l1 l1", "nothing was done; the page says why"},
	{bench.Asked, "s3 l5", "the bench waits for an answer"},
	{bench.Passed, "s2 s3 l5", "the neck passed, or is released by concession"},
	{bench.ToRework, "l4 s2 s2", "the neck goes to rework"},
	{bench.ToRepair, "l4 l3 l1", "the neck goes to the repairer, or is scrap"},
	{bench.Undecided, "s3 s5 s3 s5", "measure again, or a person decides"},
	{bench.CheckPassed, "l2 l4", "the gauge may judge"},
	{bench.CheckFailed, "l4 l2 s1 s1", "the gauge is locked out"},
	{bench.Lost, "l4 s2 l4 s2", "nothing is heard from the station, or it can record nothing"},
}

// The length of notes and of what is silent between them, ms.
const (
	shortNote = 70
	longNote  = 260
	rest      = 60
)

// note is one note for the page's module.
type note struct {
	Hz  float64 `json:"hz"`
	At  int     `json:"at"`  // ms after the sound begins
	For int     `json:"for"` // ms
}

// notes are a sound's notes; the scale's steps are minor thirds up from 294 Hz.
func (s sound) notes() []note {
	var all []note
	at := 0
	for _, word := range strings.Fields(s.Notes) {
		n := note{Hz: math.Round(294 * math.Exp2(float64(word[1]-'1')/4)), At: at, For: shortNote}
		if word[0] == 'l' {
			n.For = longNote
		}
		at += n.For + rest
		all = append(all, n)
	}
	return all
}

// soundTable is the language as the page's module reads it: notes by name.
func soundTable() (string, error) {
	table := map[bench.Sound][]note{}
	for _, s := range language {
		table[s.Name] = s.notes()
	}
	text, err := json.Marshal(table)
	return string(text), err
}
