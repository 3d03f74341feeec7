package record

import (
	"cmp"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"sagitta/batch/tell"
)

// serialParts compares the index of serial numbers' parts with one that is made anew of them, in a database of its own that is gone
// afterwards: every part with where it stands, and what the index keeps of each serial number and of all.
func (c *comparing) serialParts(moment *sql.Tx) (err error) {
	anew, err := sql.Open("sqlite", "") // in memory as far as there is room, else in a file without a name
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, anew.Close()) }()
	anew.SetMaxOpenConns(1)
	made, err := anew.BeginTx(c.ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = made.Rollback() }()
	if err := c.fillParts(made); err != nil {
		return err
	}
	for _, q := range []*sql.Tx{moment, made} {
		for table, kind := range map[string]string{"every_part": "instance", "parts": "row"} {
			if _, err := q.ExecContext(c.ctx, fmt.Sprintf(`CREATE VIRTUAL TABLE temp.%s USING fts5vocab('main', 'serial_parts', '%s')`, table, kind)); err != nil {
				return err
			}
		}
	}
	for _, part := range []struct{ query, of string }{
		{`SELECT doc, term, "offset" FROM temp.every_part`, ofPart},
		{`SELECT id, hex(sz), '' FROM serial_parts_docsize ORDER BY id`, "length"},
		{`SELECT '', k, v FROM serial_parts_config ORDER BY k`, "setting"},
		{`SELECT '', id, CASE WHEN EXISTS (SELECT 1 FROM serial_parts_docsize) THEN hex(block) ELSE '' END FROM serial_parts_data WHERE id = 1`, "lengths in all"},
	} {
		if err := c.sameParts(made, part.query, part.of); err != nil {
			return err
		}
	}
	if err := c.partsFound(); err != nil {
		return err
	}
	_, err = moment.ExecContext(c.ctx, `DROP TABLE temp.every_part; DROP TABLE temp.parts`)
	return err
}

// partsFound searches for every part: what stands in the index is found as well.
func (c *comparing) partsFound() error {
	type part struct {
		text  string
		necks int
	}
	parts, err := readAhead(c, func(s scanner) (p part, err error) { return p, s.Scan(&p.text, &p.necks) }, `SELECT term, doc FROM temp.parts`)
	if err != nil {
		return err
	}
	defer parts.close()
	for ; parts.more; parts.step() {
		p := parts.next
		var found int
		if err := c.q.QueryRowContext(c.ctx, `SELECT count(*) FROM serial_parts WHERE serial_parts MATCH ?`, `"`+strings.ReplaceAll(p.text, `"`, `""`)+`"`).Scan(&found); err != nil {
			return err
		}
		if found != p.necks {
			return differs("serial_parts", fmt.Sprintf("%s %q", ofPart, p.text), fmt.Sprintf("found are %d of %d", found, p.necks))
		}
	}
	return parts.err
}

// ofPart says that rows are the index's parts.
const ofPart = "part"

// fillParts makes the index anew, as the record's schema has it.
func (c *comparing) fillParts(made *sql.Tx) error {
	var index string
	if err := c.q.QueryRowContext(c.ctx, `SELECT sql FROM sqlite_schema WHERE name = 'serial_parts'`).Scan(&index); err != nil {
		return err
	}
	if _, err := made.ExecContext(c.ctx, index); err != nil {
		return err
	}
	add, err := made.PrepareContext(c.ctx, searchOne)
	if err != nil {
		return err
	}
	defer func() { _ = add.Close() }()
	necks, err := readAhead(c, scanSerial, selectSerials)
	if err != nil {
		return err
	}
	defer necks.close()
	for ; necks.more; necks.step() {
		if _, err := add.ExecContext(c.ctx, necks.next.ord, necks.next.serial); err != nil {
			return err
		}
	}
	return necks.err
}

// sameParts compares what a query finds in both.
func (c *comparing) sameParts(made *sql.Tx, query, of string) error {
	scan := func(s scanner) (row [3]string, err error) { return row, s.Scan(&row[0], &row[1], &row[2]) }
	is, err := readAhead(c, scan, query)
	if err != nil {
		return err
	}
	defer is.close()
	want, err := readAhead(&comparing{ctx: c.ctx, q: &parsed{from: made, known: map[string]*sql.Stmt{}}}, scan, query)
	if err != nil {
		return err
	}
	defer want.close()
	for ; is.more || want.more; is.step() {
		if is.err != nil || want.err != nil {
			break
		}
		if !is.more || !want.more || is.next != want.next {
			row, how := want.next, tell.DerivedMissing
			switch added := is.more && (!want.more || partBefore(is.next, want.next)); {
			case added:
				row, how = is.next, tell.DerivedAdded
			case is.more && of != ofPart:
				how = tell.DerivedValue(of, fmt.Sprintf("%q", is.next), fmt.Sprintf("%q", want.next))
			}
			return c.partDiffers(of, row, how)
		}
		want.step()
	}
	return errors.Join(is.err, want.err)
}

func (c *comparing) partDiffers(of string, row [3]string, how string) error {
	var serial string
	if err := c.q.QueryRowContext(c.ctx, `SELECT coalesce((SELECT serial FROM necks WHERE ord = ?), 'of no neck')`, row[0]).Scan(&serial); err != nil {
		return err
	}
	return differs("serial_parts", fmt.Sprintf("%s %q, serial number %s", of, row[1], serial), how)
}

// partBefore says whether one row of the index comes before another: by its part, then by its neck's order number and where it stands.
func partBefore(a, b [3]string) bool {
	number := func(a, b string) int { return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) }
	return cmp.Or(cmp.Compare(a[1], b[1]), number(a[0], b[0]), number(a[2], b[2])) < 0
}
