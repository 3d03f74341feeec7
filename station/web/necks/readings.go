package necks

import (
	"fmt"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// readingRow is one reading with everything that traces it to the gauge's bytes.
type readingRow struct {
	batch.Reading
	Words  string
	Number string
	Unit   string
	U      string
	Gauge  string
	Frame  string // the raw bytes, printable
	Gone   bool
	Why    string // why it is gone, or what this row takes back
	GoneBy string
}

// readingRows lists readings in order, those that another row replaces or takes back marked as gone, with the reason.
func readingRows(readings []batch.Reading, gauges []batch.Gauge, lengths unit.Unit) (rows []readingRow, gone int) {
	by := map[string]*batch.Reading{}
	seq := map[string]int64{}
	for i := range readings {
		seq[readings[i].ID] = readings[i].Seq
		if readings[i].Supersedes != "" {
			by[readings[i].Supersedes] = &readings[i]
		}
	}
	names := map[string]string{}
	for _, g := range gauges {
		names[g.ID] = g.Name
	}
	for _, r := range readings {
		row := readingRow{Reading: r, Words: tell.Point(r.Point), Gauge: names[r.GaugeID], Frame: tell.Printable(r.Raw), Why: r.Reason}
		if r.Point.Kind == batch.Sweep {
			row.Frame = "the whole pass is kept in the record"
		}
		row.Number, row.U, row.Unit = readingNumber(r, lengths)
		if row.Gauge == "" {
			row.Gauge = show.Pick(r.GaugeID == "", "typed by hand", "gauge "+r.GaugeID)
		}
		if r.Withdrawn {
			row.Number, row.U, row.Unit = "", "", ""
			row.Words = show.Pick(r.Supersedes == "", "not measured: "+row.Words, fmt.Sprintf("takes back reading %d", seq[r.Supersedes]))
		} else if r.Supersedes != "" {
			row.Why = strings.TrimSuffix(fmt.Sprintf("replaces reading %d: %s", seq[r.Supersedes], r.Reason), ": ")
		}
		if later := by[r.ID]; later != nil {
			gone++
			row.Gone, row.GoneBy = true, later.By
			verb := show.Pick(later.Withdrawn, "taken back", "replaced")
			row.Why = fmt.Sprintf("%s by reading %d", verb, later.Seq)
			if later.Reason != "" {
				row.Why += ": " + later.Reason
			}
		}
		rows = append(rows, row)
	}
	return rows, gone
}

// readingNumber writes a reading's value and U (twice its standard uncertainty) in the page's unit.
func readingNumber(r batch.Reading, lengths unit.Unit) (number, u, in string) {
	switch r.Point.Kind {
	case batch.PitchDeclared:
		return "yes", "", ""
	case batch.Sweep:
		return strconv.Itoa(int(r.Value)), "", "crowns"
	case batch.Pitch:
		if r.U > 0 {
			u = show.Fixed(2*r.U, 1, false)
		}
		return show.Fixed(r.Value, 1, true), u, "cents"
	}
	if r.U > 0 {
		u = show.Number(2*r.U, lengths)
	}
	return show.Signed(r.Value, lengths), u, lengths.String()
}
