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

// A part of at least WholeSearch characters is looked for in every serial number, out of an index; a shorter one in those
// of the NewestSearched newest necks, one by one.
const (
	WholeSearch    = 3
	NewestSearched = 20_000
)

// SearchNecks returns at most limit necks whose serial number contains part (letters of either case), in order of
// registration, newest first. Of a part shorter than WholeSearch it returns those among the NewestSearched newest necks,
// and the neck whose whole serial number it is.
func (db *DB) SearchNecks(ctx context.Context, part string, limit int) ([]batch.NeckRow, error) {
	part = strings.TrimSpace(part)
	found := `SELECT rowid FROM serial_parts WHERE serial_parts MATCH ?1 ORDER BY rowid DESC LIMIT ?2`
	args := []any{`"` + strings.ReplaceAll(part, `"`, `""`) + `"`, limit}
	if len([]rune(part)) < WholeSearch {
		found = `SELECT ord FROM necks WHERE ord > (SELECT max(ord) FROM necks) - ?3 AND serial LIKE ?1 ESCAPE '\'
			UNION SELECT ord FROM necks WHERE serial = ?4 ORDER BY ord DESC LIMIT ?2`
		args = []any{"%" + escapeLike(part) + "%", limit, NewestSearched, part}
	}
	all, err := list(ctx, db.reader, scanNeckRow, selectNeckRow+`WHERE n.ord IN (`+found+`) ORDER BY n.ord DESC`, args...)
	return all, translate(err, "searching necks")
}
