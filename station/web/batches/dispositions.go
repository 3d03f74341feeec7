package batches

import (
	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// dispositionRow counts the necks whose newest verdict is the same.
type dispositionRow struct {
	Disposition inspect.Disposition
	Words       string
	Necks       int
	Share       float64 // percent of the necks with a verdict
}

// dispositionsOf lists how many necks stand where, in the order of how far they are from shipping.
func dispositionsOf(c batch.Counts) []dispositionRow {
	total := c.Passed + c.Concession + c.Undecided + c.Rework + c.Repair + c.Scrap
	var rows []dispositionRow
	for _, d := range tell.Dispositions {
		if n := c.Of(d); n > 0 {
			rows = append(rows, dispositionRow{d, tell.Disposition(d), n, 100 * float64(n) / float64(total)})
		}
	}
	return rows
}
