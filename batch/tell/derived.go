package tell

import "fmt"

// derivedShows says, by the tables that a record keeps beside its rows, what people see of them and what it should follow from.
var derivedShows = map[string]string{
	"neck_status":          "what lists and counts show of it is not what its inspections and verdicts say",
	"batch_tally":          "the counts shown of it are not those of its necks",
	"neck_first":           "what yields and breakdowns take from its first inspection is not what its verdict says",
	"first_tally":          "the yields shown of it are not those of its necks' first inspections",
	"characteristic_tally": "the means, spreads and capability shown of it are not those of its verdicts",
	"serial_grams":         "the search by one or two characters does not find the serial numbers that have them",
	"serial_parts":         "the search by a part of a serial number does not find the serial numbers that have it",
	"uncounted":            "it stands among the necks of an older record that are still to be counted, as if bringing the record up to date had not ended",
	"restated":             "it stands among the necks of an older record whose status is still to be worked out, as if bringing the record up to date had not ended",
}

// Derived says what it means for the reader that a row which the record keeps beside the rows of what was done, in a table, is not what
// these give. of is the neck, batch or else that the row is about, how in what it differs.
func Derived(table, of, how string) string {
	shows := derivedShows[table]
	if shows == "" {
		shows = "what is kept in " + table + " is not what the rows give"
	}
	return fmt.Sprintf("%s: %s (%s, %s). What was measured and judged is as it was written; sagitta salvage makes a record in which what is shown of it is worked out anew", of, shows, table, how)
}

// The ways in which a derived row differs.
const (
	DerivedAdded   = "a row that nothing gives"
	DerivedMissing = "a row is missing"
)

// DerivedValue says that a column of a derived row holds another value than what is worked out.
func DerivedValue(column, stands, worked string) string {
	return fmt.Sprintf("%s stands as %s, worked out anew it is %s", column, stands, worked)
}
