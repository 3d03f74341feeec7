package record

import (
	"context"
	"strings"

	"sagitta/batch"
)

// NeckPage returns the necks of a batch that a filter picks, a page of them, in the order in which they were registered.
func (db *DB) NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error) {
	const what = "reading a page of necks"
	limit := f.Limit
	if limit <= 0 {
		limit = -1
	}
	args := []any{f.BatchID}
	var where []string
	var firsts bool
	add := func(condition string, values ...any) {
		where = append(where, condition)
		args = append(args, values...)
	}
	byFirst := func(condition string, values ...any) {
		firsts = true
		add(condition, values...)
	}
	if f.Reason != "" {
		byFirst(`f.reason = ?`, f.Reason)
	}
	if f.Inspector != "" {
		byFirst(`f.inspector = ?`, f.Inspector)
	}
	if f.GaugeID != "" {
		byFirst(`EXISTS (SELECT 1 FROM json_each(nullif(f.gauges, '')) g WHERE g.value ->> 'gauge' = ?)`, f.GaugeID)
	}
	if f.Hour != nil {
		byFirst(`f.hour = ?`, *f.Hour)
	}
	if f.Near {
		byFirst(`f.near = 1`)
	}
	if f.Disposition != "" {
		add(`s.disposition = ?`, f.Disposition)
	}
	if f.State != "" {
		add(`s.state = ?`, f.State)
	}
	if part := strings.TrimSpace(f.Serial); part != "" {
		add(`n.serial LIKE ? ESCAPE '\'`, "%"+escapeLike(part)+"%")
	}
	if f.InDoubt {
		add(`n.id IN (SELECT neck_id FROM standing_doubts d WHERE d.batch_id = ?1)`)
	}
	if f.Held {
		add(`n.id IN (SELECT neck_id FROM held_necks)`)
	}
	from := ` FROM necks n`
	if firsts {
		from += ` JOIN neck_first f ON f.neck_ord = n.ord`
	}
	if f.Disposition != "" || f.State != "" {
		from += ` JOIN neck_status s ON s.neck_id = n.id`
	}
	from += ` WHERE n.batch_id = ?1`
	for _, w := range where {
		from += ` AND ` + w
	}
	var page batch.NeckPage
	if err := db.reader.QueryRowContext(ctx, `SELECT count(*)`+from, args...).Scan(&page.Total); err != nil {
		return page, translate(err, what)
	}
	var err error
	page.Necks, err = list(ctx, db.reader, scanNeckRow, selectNeckRow+`WHERE n.ord IN (SELECT n.ord`+from+` ORDER BY n.ord LIMIT ? OFFSET ?) ORDER BY n.ord`,
		append(args, limit, max(f.Offset, 0))...)
	return page, translate(err, what)
}

// escapeLike writes a text so that LIKE takes it as it is.
func escapeLike(part string) string {
	return strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(part)
}

// trigramLength is the shortest part that the index of trigrams finds.
const trigramLength = 3

// SearchNecks returns at most limit necks whose serial number contains part (letters of either case), in order of
// registration, newest first; the neck whose whole serial number it is comes before all others.
func (db *DB) SearchNecks(ctx context.Context, part string, limit int) ([]batch.NeckRow, error) {
	part = strings.TrimSpace(part)
	found := `SELECT rowid AS ord FROM serial_parts WHERE serial_parts MATCH ?3 ORDER BY rowid DESC LIMIT ?2`
	args := []any{part, limit, `"` + strings.ReplaceAll(part, `"`, `""`) + `"`}
	switch n := len([]rune(part)); {
	case n == 0:
		found = `SELECT ord FROM necks ORDER BY ord DESC LIMIT ?2`
	case n < trigramLength:
		found = `SELECT n.ord FROM serial_grams g CROSS JOIN necks n ON n.ord BETWEEN g.block * ?5 AND g.block * ?5 + ?5 - 1
			WHERE g.gram = ?4 AND n.serial LIKE ?3 ESCAPE '\' ORDER BY g.block DESC, n.ord DESC LIMIT ?2`
		args = []any{part, limit, "%" + escapeLike(part) + "%", folded(part), gramBlock}
	}
	all, err := list(ctx, db.reader, scanNeckRow, selectNeckRow+`WHERE n.ord IN (SELECT ord FROM (`+found+`) UNION ALL SELECT ord FROM necks WHERE serial = ?1)
		ORDER BY n.serial = ?1 DESC, n.ord DESC LIMIT ?2`, args...)
	return all, translate(err, "searching necks")
}
