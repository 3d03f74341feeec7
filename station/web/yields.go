package web

import (
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/show"
)

// shipSentence answers for a batch: how many may ship, what the others wait for, and what causes it.
func shipSentence(c batch.Counts) string {
	of := max(c.Planned, c.Registered)
	if c.Inspected == 0 && c.Undecided == 0 {
		switch {
		case c.InProgress > 0:
			return fmt.Sprintf("%d of %d %s on the bench; no verdict yet.", c.InProgress, of, show.Pick(c.InProgress == 1, "is", "are"))
		case of == 0:
			return "No neck has been inspected yet."
		}
		return fmt.Sprintf("None of %d has been inspected yet.", of)
	}
	parts := []string{fmt.Sprintf("%d of %d may ship", c.MayShip(), of)}
	switch c.Lot() {
	case batch.OutgoingRejected:
		parts[0] = fmt.Sprintf("None of %d may ship, for the lot was rejected; %d passed", of, c.Ready())
	case batch.OutgoingOpen:
		parts[0] = fmt.Sprintf("None of %d may ship before the outgoing audit is signed; %d passed", of, c.Ready())
	}
	add := func(n int, one, many string) {
		if n == 1 {
			parts = append(parts, "1 "+one)
		} else if n > 1 {
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	add(c.Withheld, "is in doubt", "are in doubt")
	add(c.Held, "is held after an outgoing audit", "are held after an outgoing audit")
	add(c.Rework, "waits for rework", "wait for rework")
	add(c.Repair, "waits for repair", "wait for repair")
	add(c.Undecided, "must be measured again", "must be measured again")
	add(c.Scrap, "is scrap", "are scrap")
	if rest := of - c.Inspected - c.Undecided; rest > 0 {
		add(rest, "has no verdict yet", "have no verdict yet")
	}
	if why := show.CauseWords(c.Reasons); why != "" {
		parts = append(parts, why)
	}
	return strings.Join(parts, "; ") + "."
}

// dispositionRow counts the necks whose newest verdict is the same.
type dispositionRow struct {
	Disposition inspect.Disposition
	Words       string
	Necks       int
	Share       float64 // percent of the necks with a verdict
}

// dispositionsOf lists how many necks stand where, in the order of how far they are from shipping.
func dispositionsOf(c batch.Counts) []dispositionRow {
	all := []dispositionRow{
		{inspect.Pass, "may ship", c.Passed, 0},
		{inspect.Concession, "released though nonconforming, by a named person", c.Concession, 0},
		{inspect.Remeasure, "undecided or not fully measured: measure again", c.Undecided, 0},
		{inspect.Rework, "to be set up again at the bench", c.Rework, 0},
		{inspect.Repair, "to the repairer", c.Repair, 0},
		{inspect.Scrap, "withdrawn", c.Scrap, 0},
	}
	total := c.Passed + c.Concession + c.Undecided + c.Rework + c.Repair + c.Scrap
	var rows []dispositionRow
	for _, r := range all {
		if r.Necks > 0 {
			r.Share = 100 * float64(r.Necks) / float64(total)
			rows = append(rows, r)
		}
	}
	return rows
}
