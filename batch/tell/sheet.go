package tell

import (
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// SheetWords are the words of the sheet that goes with an instrument, by their keys in sheet.toml. A builder may put others in their place,
// of another language. {fret}, {from}, {to}, {times}, {what}, {steps} and {date} stand for what is filled in.
type SheetWords struct {
	Title       string `toml:"title,omittable"`
	Measured    string `toml:"measured,omittable"`
	Model       string `toml:"model,omittable"`
	Instrument  string `toml:"instrument,omittable"`
	Owner       string `toml:"owner,omittable"`
	Number      string `toml:"number,omittable"`
	Scale       string `toml:"scale,omittable"`
	Frets       string `toml:"frets,omittable"`
	Radius      string `toml:"radius,omittable"`
	LeftHanded  string `toml:"left_handed,omittable"`
	Neck        string `toml:"neck,omittable"`
	Before      string `toml:"before,omittable"`
	After       string `toml:"after,omittable"`
	Bass        string `toml:"bass,omittable"`
	Centre      string `toml:"centre,omittable"`
	Treble      string `toml:"treble,omittable"`
	Stretched   string `toml:"stretched,omittable"`
	Strings     string `toml:"strings,omittable"`
	String      string `toml:"string,omittable"`
	Gauge       string `toml:"gauge,omittable"`
	Tension     string `toml:"tension,omittable"`
	Together    string `toml:"together,omittable"`
	Height      string `toml:"height,omittable"`
	Nut         string `toml:"nut,omittable"`
	Pitch       string `toml:"pitch,omittable"`
	Intonation  string `toml:"intonation,omittable"`
	Relief      string `toml:"relief,omittable"`
	Over        string `toml:"over,omittable"`
	Heights     string `toml:"heights,omittable"`
	FromSaddle  string `toml:"from_saddle,omittable"`
	Rod         string `toml:"rod,omittable"`
	Kind        string `toml:"kind,omittable"`
	Tool        string `toml:"tool,omittable"`
	Turned      string `toml:"turned,omittable"`
	Left        string `toml:"left,omittable"`
	Tighter     string `toml:"tighter,omittable"`
	Looser      string `toml:"looser,omittable"`
	AsFound     string `toml:"as_found,omittable"`
	Climate     string `toml:"climate,omittable"`
	Temperature string `toml:"temperature,omittable"`
	Humidity    string `toml:"humidity,omittable"`
	Wishes      string `toml:"wishes,omittable"`
	Work        string `toml:"work,omittable"`
	WorkBefore  string `toml:"work_before,omittable"`
	Since       string `toml:"since,omittable"`
	Earlier     string `toml:"earlier,omittable"`
	Doubtful    string `toml:"doubtful,omittable"`
	Uncertain   string `toml:"uncertain,omittable"`
	Advice      string `toml:"advice,omittable"`
	Keep        string `toml:"keep,omittable"`
	Photo       string `toml:"photo,omittable"`
	Signature   string `toml:"signature,omittable"`
	Date        string `toml:"date,omittable"`
	Checkpoint  string `toml:"checkpoint,omittable"`
	Batch       string `toml:"batch,omittable"`
	Visit       string `toml:"visit,omittable"`
}

// HouseSheetWords are the sheet's own words.
func HouseSheetWords() SheetWords {
	return SheetWords{
		Title: "Set-up sheet", Measured: "Measured", Model: "Model", Instrument: "Instrument", Owner: "Owner", Number: "Maker's number", Scale: "Scale", Frets: "Frets", Radius: "Board radius", LeftHanded: "left-handed",
		Neck: "The neck", Before: "before, {date}", After: "now, {date}", Bass: "bass side", Centre: "centre", Treble: "treble side",
		Stretched: "heights drawn {times} times larger than lengths",
		Strings:   "Strings", String: "String", Gauge: "Thickness", Tension: "Tension", Together: "all together",
		Height: "Height at fret {fret}", Nut: "At the nut, over fret 1", Pitch: "Pitch", Intonation: "Intonation at fret {fret}",
		Relief: "Relief", Over: "at fret {fret}, over frets {from} and {to}",
		Heights: "The strings over fret {fret}", FromSaddle: "seen from the saddle, mm",
		Rod: "Truss rod", Kind: "Kind", Tool: "Tool", Turned: "Turned in this shop", Left: "Turns left to tighten", Tighter: "tighter", Looser: "looser", AsFound: "not turned",
		Climate: "Climate when measured", Temperature: "Temperature", Humidity: "Humidity", Wishes: "What the player wished", Work: "Work done",
		WorkBefore: "Earlier steps that have no room here: {steps}.",
		Since:      "The last work was done after these figures were taken.",
		Earlier:    "Measured earlier and not changed by the work since: {what}, {date}.",
		Doubtful:   "What was measured with a gauge that is to be checked again is left out.",
		Uncertain:  "± is what the measurement leaves open (k = 2).",
		Advice:     "Keeping it well",
		Keep:       "Keep the instrument between 45 and 55 % RH, in its case with a humidifier where the air is drier. After a move or a change of season give it one to two weeks before anything is turned.",
		Photo:      "Photograph", Signature: "Signature", Date: "Date",
		Checkpoint: "By this checkpoint it can be shown later whether the record that this sheet is from was altered.", Batch: "Batch", Visit: "Visit",
	}
}

// SheetPlace fills in what stands in braces in the words of a sheet.
func SheetPlace(words string, pairs ...string) string {
	for i := 0; i+1 < len(pairs); i += 2 {
		words = strings.ReplaceAll(words, "{"+pairs[i]+"}", pairs[i+1])
	}
	return words
}

// Side is a track's name in the words of a sheet; a track of the specification's own keeps its name.
func (w *SheetWords) Side(track string) string {
	switch track {
	case "bass":
		return w.Bass
	case "centre":
		return w.Centre
	case "treble":
		return w.Treble
	}
	return track
}

// RodTurned says how far the rod was turned since the instrument came, positive tightened.
func (w *SheetWords) RodTurned(turns float64) string {
	switch {
	case turns > 0:
		return inspect.TurnsWords(turns) + " " + w.Tighter
	case turns < 0:
		return inspect.TurnsWords(-turns) + " " + w.Looser
	}
	return w.AsFound
}

// SheetWork says one step of work and its day.
func SheetWork(a batch.ReworkAction) string {
	words := Day(a.At) + "  " + Upper(ReworkStep(a, unit.Millimetre))
	if a.Note != "" {
		words += ": " + a.Note
	}
	return words
}

// Both writes a length in mm and inch side by side: "1.95 mm, 0.077 in".
func Both(mm float64) string {
	return NominalNumber(mm, unit.Millimetre) + " mm, " + unit.Inch.Length(mm, 3, false)
}

// newtonsPerPound is by definition: 0.45359237 kg at 9.80665 m/s².
const newtonsPerPound = 4.4482216152605

// Force writes a tension in N as newton and pound-force, without their units: "79 (17.7)".
func Force(n float64) string {
	return inspect.Number(n, 0, false) + " (" + inspect.Number(n/newtonsPerPound, 1, false) + ")"
}

// Pull writes what all strings pull together, with its expanded uncertainty where it has one (k = 2): "457 ± 12 N, 102.6 lbf".
func Pull(n, u float64) string {
	words := inspect.Number(n, 0, false)
	if u > 0 {
		words += " ± " + inspect.Number(2*u, 0, false)
	}
	return words + " N, " + inspect.Number(n/newtonsPerPound, 1, false) + " lbf"
}
