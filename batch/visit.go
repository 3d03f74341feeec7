package batch

import (
	"fmt"
	"regexp"
	"time"

	"sagitta/inspect"
)

// Instrument is what is known of one instrument over its life. It is known by its serial number.
type Instrument struct {
	Serial      string
	Kind        string // a template's name (see package instrument); "" where nobody said
	MakerNumber string // as its maker numbered it, "" where that is the serial number
	Owner       Owner  // the newest
	At          time.Time
	By          string
}

// Owner is whose an instrument is, as somebody entered it.
type Owner struct {
	Name    string
	Contact string // how to reach them, in any words
	At      time.Time
	By      string
}

// InstrumentRow is an instrument in a list.
type InstrumentRow struct {
	Instrument
	Visits  int
	Newest  Visit    // its Number is 0 where there was none
	Promise *Promise // the one to be kept first, nil for none
}

// Visit is one stay of an instrument in the shop: a batch of its one neck, with the player's wishes as the limits of a specification of its
// own. The inspection of a factory's batch under the same serial number is part of the same life: its Number is 0.
type Visit struct {
	ID       string // "" of a factory's inspection
	Serial   string
	Number   int // 1, 2, 3 ...
	Batch    Batch
	Neck     Neck
	Wishes   string // in the player's own words
	OpenedAt time.Time
	OpenedBy string
	EndedAt  time.Time // zero while it lasts
	EndedBy  string
	Result   string // in words, as who ended it wrote them
}

// VisitBatch is the number of the batch that a visit is.
func VisitBatch(serial string, visit int) string { return fmt.Sprintf("%s visit %d", serial, visit) }

// StringSet is a set of strings that an instrument was given.
type StringSet struct {
	ID      string
	Serial  string
	Fitted  Day
	Name    string
	Strings []inspect.String
	At      time.Time
	By      string
}

// InstrumentNote is something worth knowing of an instrument.
type InstrumentNote struct {
	ID      string
	Serial  string
	VisitID string // "" where it belongs to none
	Text    string
	At      time.Time
	By      string
}

// Promise is something to be done for an instrument by a day.
type Promise struct {
	ID      string
	Serial  string
	Due     Day
	What    string
	At      time.Time
	By      string
	EndedAt time.Time // zero while it is to be kept
	EndedBy string
	Ended   string // how, in words
}

// How a promise ends; what is said of it follows after a colon.
const (
	PromiseKept    = "kept"
	PromiseDropped = "dropped"
)

// Photograph is a picture of an instrument. Its file lies in the folder photographs beside the record's file, named by its digest.
type Photograph struct {
	ID            string
	Serial        string
	VisitID       string // "" where it belongs to none
	Pin           string // what it shows: "visit", "fret 7", "string 3"; see IsPin
	Digest        string // SHA-256 of the file, hex
	Width, Height int    // pixels
	Bytes         int
	Caption       string
	At            time.Time
	By            string
}

// WholeInstrument is the pin of a photograph that shows no one place.
const WholeInstrument = "visit"

var pins = regexp.MustCompile(`^(visit|fret [1-9][0-9]?|string [1-9][0-9]?)$`)

// IsPin says that a text names what a photograph may be pinned to.
func IsPin(text string) bool { return pins.MatchString(text) }

// Day is a day of the calendar, YYYY-MM-DD.
type Day string

// ParseDay reads a day. The error is Mendable and says what is allowed.
func ParseDay(text string) (Day, error) {
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return "", Mendable.Errorf("found %q as a day; allowed: a day of the calendar such as 2026-03-01", Shown(text))
	}
	return Day(at.Format(time.DateOnly)), nil
}

// DayOf is the day of a moment by the shop's clock.
func DayOf(at time.Time) Day { return Day(at.Local().Format(time.DateOnly)) }

// After is the day so many days later.
func (d Day) After(days int) Day {
	at, _ := time.Parse(time.DateOnly, string(d))
	return Day(at.AddDate(0, 0, days).Format(time.DateOnly))
}

// Until counts the days to another, below 0 to one before.
func (d Day) Until(other Day) int {
	from, _ := time.Parse(time.DateOnly, string(d))
	to, _ := time.Parse(time.DateOnly, string(other))
	return int(to.Sub(from) / (24 * time.Hour))
}

// House says for whom a record is kept.
type House string

// The houses. A record that nobody said it of is a factory's.
const (
	Factory House = "factory"
	Builder House = "builder"
)
