package export

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// peeked is how many judged necks are looked at before the columns are fixed.
const peeked = 100

// A neck in doubt, or one that an outgoing audit found nonconforming, may not ship.
const (
	inDoubt = "in doubt"
	held    = "held"
)

// Words of a neck's disposition, and the colours they get.
var dispositionWords = []word{
	{string(inspect.Pass), good}, {string(inspect.Concession), special}, {string(inspect.Rework), bad},
	{string(inspect.Repair), bad}, {string(inspect.Scrap), bad}, {string(inspect.Remeasure), unsure},
}

// The fixed columns of Necks, before the values.
const (
	neckSerial = iota
	neckAttempts
	neckFirst
	neckLast
	neckInspector
	neckDisposition
	neckKept
	neckState
	neckFirstPass
	neckFirstFailing
	neckWorst
	neckWorstZone
	neckMargin
	neckDecidedBy
	neckReason
	neckWhy
	neckValues
)

var neckColumns = []column{
	neckSerial:       {head: "Serial number", width: 17, format: textFormat},
	neckAttempts:     {head: "Attempts", width: 10, format: wholeFormat},
	neckFirst:        {head: "First inspected", width: 19, format: timeFormat},
	neckLast:         {head: "Last inspected", width: 19, format: timeFormat},
	neckInspector:    {head: "Inspector", width: 16, format: textFormat},
	neckDisposition:  {head: "Disposition", width: 13, format: textFormat, words: dispositionWords},
	neckKept:         {head: "Kept back", width: 10, format: textFormat, words: []word{{inDoubt, unsure}, {held, unsure}}},
	neckState:        {head: "Inspection", width: 12, format: textFormat},
	neckFirstPass:    {head: "Passed at the first inspection", width: 11, format: textFormat, words: []word{{"yes", good}, {"no", bad}}},
	neckFirstFailing: {head: "First failing characteristic", width: 26, format: textFormat},
	neckWorst:        {head: "Closest to its limits, last", width: 26, format: textFormat},
	neckWorstZone: {head: "State of that", width: 15, format: textFormat, words: []word{
		{string(inspect.Conforming), good}, {string(inspect.Nonconforming), bad}, {string(inspect.Undecided), unsure}}},
	neckMargin:    {head: "Its margin (multiples of U)", width: 13, format: "0.0"},
	neckDecidedBy: {head: "Decided by", width: 16, format: textFormat},
	neckReason:    {head: "Reason given", width: 24, format: textFormat},
	neckWhy:       {head: "Why it is in doubt", width: 30, format: textFormat},
}

// neckTable is the Necks sheet with the columns of its values.
type neckTable struct {
	*table
	groups  []group
	at      map[key]int // column of a group's first value
	best    []*inspect.Characteristic
	rest    int // column of limited characteristics that have none of their own
	carried int // column of what was carried over
	looks   map[zoneStyle]int
}

// zoneStyle is a value's look: its zone and decimals.
type zoneStyle struct {
	zone     inspect.Zone
	decimals int
}

// writeNecks writes one row a neck and collects the first relief values and what rework achieved. The columns come from
// the first judged necks; a limited characteristic that none of those had goes to the last column in words.
func (b *book) writeNecks() error {
	var t *neckTable
	var held []batch.NeckReport
	judged, n := 0, 0
	for r, err := range b.src.EachNeck(b.ctx, b.batch.ID) {
		if err != nil {
			return fmt.Errorf("after %d necks: %w", n, err)
		}
		n++
		for _, in := range r.Inspections {
			if in.Station != "" && !slices.Contains(b.stations, in.Station) {
				b.stations = append(b.stations, in.Station)
			}
		}
		if t != nil {
			if err := t.add(&r); err != nil {
				return err
			}
			continue
		}
		held = append(held, r)
		if first, _ := resultsOf(&r); first != nil {
			judged++
		}
		if judged == peeked {
			if t, err = b.beginNecks(held); err != nil {
				return err
			}
			held = nil
		}
	}
	if t == nil {
		var err error
		if t, err = b.beginNecks(held); err != nil {
			return err
		}
	}
	return t.close()
}

// beginNecks lays out the sheet by its first necks and writes these.
func (b *book) beginNecks(held []batch.NeckReport) (*neckTable, error) {
	var results []*inspect.Result
	for i := range held {
		if first, last := resultsOf(&held[i]); first != nil {
			results = append(results, first, last)
		}
	}
	t, err := b.newNeckTable(groupsOf(results))
	if err != nil {
		return nil, err
	}
	for i := range held {
		if err := t.add(&held[i]); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// resultsOf are the results of a neck's first and last judged inspection, nil where none is judged.
func resultsOf(r *batch.NeckReport) (first, last *inspect.Result) {
	for i := range r.Inspections {
		if v := r.Inspections[i].Verdict; v != nil && v.Result != nil {
			if first == nil {
				first = v.Result
			}
			last = v.Result
		}
	}
	return first, last
}

// newNeckTable lays out the columns.
func (b *book) newNeckTable(groups []group) (*neckTable, error) {
	columns := append([]column(nil), neckColumns...)
	at := map[key]int{}
	for i := range groups {
		g := &groups[i]
		at[g.key] = len(columns)
		u, format := b.unit.label(g.unit), numberFormat(decimalsOf(g.unit, b.decimals))
		for _, which := range []string{"first", "last"} {
			columns = append(columns, column{head: g.head(which, u), width: 14, format: format})
			if g.fret || g.between {
				columns = append(columns, column{head: g.fretHead(which), width: 11, format: wholeFormat})
			}
		}
		if g.key.name == inspect.Relief {
			b.tracks = append(b.tracks, reliefTrack{group: *g})
		}
	}
	columns = append(columns, column{head: "Other limited characteristics, last", width: 34, format: textFormat},
		column{head: "Carried over from an earlier attempt, last", width: 34, format: textFormat})
	t, err := b.newTable("Necks", columns)
	if err != nil {
		return nil, err
	}
	return &neckTable{table: t, groups: groups, at: at, best: make([]*inspect.Characteristic, len(columns)),
		rest: len(columns) - 2, carried: len(columns) - 1, looks: map[zoneStyle]int{}}, nil
}

// add writes a neck's row.
func (t *neckTable) add(r *batch.NeckReport) error {
	if t.full() {
		return fmt.Errorf("%d necks are more than one sheet holds; allowed are %d: split the batch", t.rows, t.book.opt.rowLimit-1)
	}
	t.text(neckSerial, r.Serial)
	t.put(neckAttempts, r.Attempts)
	t.time(neckFirst, r.First)
	t.time(neckLast, r.Last)
	t.text(neckInspector, r.Inspector)
	t.text(neckDisposition, string(r.Disposition))
	switch {
	case r.InDoubt:
		t.text(neckKept, inDoubt)
		t.text(neckWhy, strings.Join(tell.DoubtCauses(r.Doubts), " "))
	case r.Held:
		t.text(neckKept, held)
	}
	t.text(neckState, tell.State(r.State))
	t.text(neckFirstFailing, r.FirstFailing)
	if n := len(r.Inspections); n > 0 {
		if v := r.Inspections[n-1].Verdict; v != nil {
			t.text(neckDecidedBy, v.DecidedBy)
			t.text(neckReason, v.Reason)
		}
	}
	if first, last := resultsOf(r); first != nil {
		switch {
		case r.FirstPass:
			t.text(neckFirstPass, "yes")
		case r.Disposition != inspect.Remeasure || r.FirstFailing != "":
			t.text(neckFirstPass, "no")
		}
		if c, margin := worst(last); c != nil {
			t.text(neckWorst, keyAt(c).words())
			t.text(neckWorstZone, string(c.Zone))
			t.number(neckMargin, margin)
		}
		if err := t.values(first, 0); err != nil {
			return err
		}
		if err := t.values(last, 1); err != nil {
			return err
		}
		t.text(t.carried, tell.CarriedOver(last.Characteristics, time.Time{}))
		t.book.collect(r, first)
	}
	t.book.progress()
	return t.write()
}

// keyAt is a characteristic's own key, its fret kept.
func keyAt(c *inspect.Characteristic) key {
	return key{name: c.Name, track: c.Track, string: c.String, fret: c.Fret, heldAt: c.HeldFret}
}

// values sets the cells of one result: which 0 is the first inspection, 1 the last.
func (t *neckTable) values(r *inspect.Result, which int) error {
	clear(t.best)
	var rest []string
	for i := range r.Characteristics {
		c := &r.Characteristics[i]
		at, ok := t.at[keyOf(c)]
		if !ok {
			if which == 1 && limited(c) {
				rest = append(rest, t.book.inWords(c))
			}
			continue
		}
		if t.best[at] == nil || worse(c, t.best[at]) {
			t.best[at] = c
		}
	}
	if len(rest) > 0 {
		t.text(t.rest, strings.Join(rest, "; "))
	}
	for i := range t.groups {
		g := &t.groups[i]
		at := t.at[g.key]
		c := t.best[at]
		if c == nil {
			continue
		}
		step := 1
		if g.fret || g.between {
			step = 2
		}
		at += step * which
		if err := t.value(at, c); err != nil {
			return err
		}
		if step == 2 && c.Value != nil && c.Fret > 0 {
			t.put(at+1, c.Fret)
		}
	}
	return nil
}

// value sets one value in the look of its zone; what is limited and not measured says so.
func (t *neckTable) value(at int, c *inspect.Characteristic) error {
	decimals := decimalsOf(c.Unit, t.book.decimals)
	if c.Value == nil {
		if s := t.book.withoutValue(c); s != "" {
			l := look{format: textFormat, right: true, color: faint}
			if z := zoneLook(c.Zone, decimals); z.tint.fill != "" {
				l.tint, l.color = z.tint, ""
			}
			id, err := t.book.styles.id(l)
			if err != nil {
				return err
			}
			t.text(at, s)
			t.cells[at].StyleID = id
		}
		return nil
	}
	s := zoneStyle{c.Zone, decimals}
	id, ok := t.looks[s]
	if !ok {
		var err error
		if id, err = t.book.styles.id(zoneLook(c.Zone, decimals)); err != nil {
			return err
		}
		t.looks[s] = id
	}
	t.put(at, t.book.unit.shown(*c.Value, c.Unit))
	t.cells[at].StyleID = id
	return nil
}

// withoutValue says in words what is known where there is no value: an open interval of feeler leaves, or nothing.
func (b *book) withoutValue(c *inspect.Characteristic) string {
	mark := map[inspect.Zone]string{inspect.Nonconforming: " out", inspect.Undecided: " ?"}[c.Zone]
	if in := c.IntervalMM; in != nil {
		switch {
		case in[0] != nil && in[1] == nil:
			return fmt.Sprintf("over %.*f%s", b.decimals, b.unit.From(*in[0]), mark)
		case in[0] == nil && in[1] != nil:
			return fmt.Sprintf("under %.*f%s", b.decimals, b.unit.From(*in[1]), mark)
		}
	}
	if c.Zone == inspect.NoLimit {
		return ""
	}
	return string(c.Zone)
}

// inWords is a characteristic with its value in one line.
func (b *book) inWords(c *inspect.Characteristic) string {
	s := keyAt(c).words() + " "
	if c.Value == nil {
		return s + b.withoutValue(c)
	}
	return s + fmt.Sprintf("%.*f %s (%s)", decimalsOf(c.Unit, b.decimals), b.unit.shown(*c.Value, c.Unit), b.unit.label(c.Unit), c.Zone)
}

// collect keeps what later sheets draw on: the first relief, and the mean relief of each attempt of a neck inspected again.
func (b *book) collect(r *batch.NeckReport, first *inspect.Result) {
	if len(b.tracks) > 0 {
		f := firstRelief{at: r.First, serial: r.Serial, values: make([]*float64, len(b.tracks))}
		measured := false
		for i := range first.Characteristics {
			c := &first.Characteristics[i]
			for j := range b.tracks {
				if c.Value != nil && keyOf(c) == b.tracks[j].key {
					v := *c.Value
					f.values[j], measured = &v, true
				}
			}
		}
		if measured {
			b.firsts = append(b.firsts, f)
		}
	}
	if len(r.Inspections) < 2 {
		return
	}
	var means []*float64
	for i := range r.Inspections {
		in := &r.Inspections[i]
		for len(means) < in.Attempt {
			means = append(means, nil)
		}
		if in.Verdict != nil && in.Verdict.Result != nil && in.Attempt > 0 {
			if !slices.ContainsFunc(in.Verdict.Result.Characteristics, func(c inspect.Characteristic) bool { return c.Name == inspect.Relief && c.CarriedFrom != nil }) {
				means[in.Attempt-1], _ = inspect.MeanRelief(in.Verdict.Result)
			}
		}
	}
	b.reliefs[r.Serial] = means
}
