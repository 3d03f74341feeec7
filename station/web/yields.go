package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
)

// confidence is that of the intervals beside every rate.
const confidence = 0.95

// yield is a rate with its Wilson interval, all in percent for the page.
type yield struct {
	Title         string
	Of            int
	Count         int
	Rate, Lo, Hi  float64 // percent
	Words         string  // what is counted
	HasRate       bool
	Left, Across  float64 // of the interval's bar, in hundredths of its width
	MarkX         float64
	SpokenSummary string
}

// yieldOf builds one; without any neck there is no rate.
func yieldOf(title, words string, k, n int) yield {
	y := yield{Title: title, Words: words, Count: k, Of: n, HasRate: n > 0}
	if n == 0 {
		return y
	}
	lo, hi := batch.Wilson(k, n, confidence)
	y.Rate, y.Lo, y.Hi = 100*float64(k)/float64(n), 100*lo, 100*hi
	y.Left, y.Across, y.MarkX = y.Lo, y.Hi-y.Lo, y.Rate
	y.SpokenSummary = fmt.Sprintf("%s %.1f percent, interval %.1f to %.1f percent", title, y.Rate, y.Lo, y.Hi)
	return y
}

// yields are a batch's first-pass and final yield. A neck released by concession does not conform and counts in neither.
func yields(c batch.Counts) []yield {
	return []yield{
		yieldOf("First-pass yield", "passed at the first inspection", c.FirstPass, c.Inspected),
		yieldOf("Final yield", "passed, at whichever inspection", c.Passed, c.Inspected),
	}
}

// reasonRow is one bar of the Pareto diagram.
type reasonRow struct {
	Key, Name         string // the characteristic's name in files, and in words
	Necks             int
	Share, Cumulative float64 // percent of all of them
	Link              string  // to the necks behind it
}

// paretoOf orders the reasons from the commonest, each with its share, the running total, and the link to its necks, by its
// name in files; nil for none.
func paretoOf(reasons []batch.Reason, link func(name string) string) []reasonRow {
	sorted := slices.Clone(reasons)
	slices.SortStableFunc(sorted, func(a, b batch.Reason) int {
		return cmp.Or(cmp.Compare(b.Necks, a.Necks), cmp.Compare(a.Name, b.Name))
	})
	total := 0
	for _, r := range sorted {
		total += r.Necks
	}
	if total == 0 {
		return nil
	}
	rows := make([]reasonRow, len(sorted))
	sum := 0
	for i, r := range sorted {
		sum += r.Necks
		rows[i] = reasonRow{
			Key: r.Name, Name: inspect.Name(r.Name), Necks: r.Necks, Share: 100 * float64(r.Necks) / float64(total),
			Cumulative: 100 * float64(sum) / float64(total),
		}
		if link != nil {
			rows[i].Link = link(r.Name)
		}
	}
	return rows
}

// shipSentence answers for a batch: how many may ship, what the others wait for, and what causes it.
func shipSentence(c batch.Counts) string {
	of := max(c.Planned, c.Registered)
	if c.Inspected == 0 && c.Undecided == 0 {
		switch {
		case c.InProgress > 0:
			return fmt.Sprintf("%d of %d %s on the bench; no verdict yet.", c.InProgress, of, pick(c.InProgress == 1, "is", "are"))
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
	if why := causeWords(c.Reasons); why != "" {
		parts = append(parts, why)
	}
	return strings.Join(parts, "; ") + "."
}

// causeWords says which characteristic fails first most often.
func causeWords(reasons []batch.Reason) string {
	rows := paretoOf(reasons, nil)
	if len(rows) == 0 {
		return ""
	}
	total := 0
	for _, r := range rows {
		total += r.Necks
	}
	top := rows[0]
	switch {
	case total == 1:
		return top.Name + " causes the one rejection"
	case top.Necks == total && total == 2:
		return top.Name + " causes both rejections"
	case top.Necks == total:
		return fmt.Sprintf("%s causes all %d rejections", top.Name, total)
	case len(rows) > 1 && rows[1].Necks == top.Necks:
		return fmt.Sprintf("%s and %s cause %s each", top.Name, rows[1].Name, counted(top.Necks, "rejection", "rejections"))
	case 2*top.Necks > total:
		return fmt.Sprintf("%s causes most rejections (%d of %d)", top.Name, top.Necks, total)
	}
	return fmt.Sprintf("%s causes more rejections than any other (%d of %d)", top.Name, top.Necks, total)
}

// spaced is a characteristic's name in words.
func spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }

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
