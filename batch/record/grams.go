package record

import (
	"context"
	"strings"
)

// gramBlock is how many necks, by their order numbers, one block of serial_grams covers.
const gramBlock = 256

// grams are the characters and pairs of characters of serial numbers, with the blocks of necks they stand in.
type grams map[gram]struct{}

type gram struct {
	text  string
	block int64
}

// add takes in the serial number of a neck.
func (g grams) add(neck int64, serial string) {
	serial = folded(serial)
	block := neck / gramBlock
	before := -1 // where the character before begins
	for at, r := range serial {
		end := at + len(string(r))
		g[gram{serial[at:end], block}] = struct{}{}
		if before >= 0 {
			g[gram{serial[before:end], block}] = struct{}{}
		}
		before = at
	}
}

// write adds them to the record's.
func (g grams) write(t *tx) error {
	rows := t.rows(`INSERT INTO serial_grams (gram, block)`, 2, ` ON CONFLICT DO NOTHING`)
	for k := range g {
		if err := rows.add(k.text, k.block); err != nil {
			return err
		}
	}
	return rows.end()
}

// folded is a text in small letters of ASCII: what LIKE takes as the same.
func folded(s string) string {
	return strings.Map(func(r rune) rune {
		if 'A' <= r && r <= 'Z' {
			return r + 'a' - 'A'
		}
		return r
	}, s)
}

// catchUpGrams fills serial_grams of a record from before it, all at once.
func (db *DB) catchUpGrams(ctx context.Context) error {
	var missing bool
	const ask = `SELECT EXISTS (SELECT 1 FROM necks) AND NOT EXISTS (SELECT 1 FROM serial_grams)`
	if err := db.writer.QueryRowContext(ctx, ask).Scan(&missing); err != nil || !missing {
		return err
	}
	return db.write(ctx, "making an older record's serial numbers searchable", func(t *tx) error {
		g := grams{}
		type neck struct {
			ord    int64
			serial string
		}
		all, err := list(ctx, t, func(s scanner) (n neck, err error) { return n, s.Scan(&n.ord, &n.serial) }, `SELECT ord, serial FROM necks`)
		if err != nil {
			return err
		}
		for _, n := range all {
			g.add(n.ord, n.serial)
		}
		return g.write(t)
	})
}
