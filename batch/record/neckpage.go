package record

import (
	"context"
	"fmt"
	"reflect"
	"strings"

	"sagitta/batch"
)

// firstIs is what a value of a dimension asks of the first inspection f; %s stands for the value.
var firstIs = map[batch.Dimension]string{
	batch.ByInspector: `f.inspector = %s`,
	batch.ByStation:   `f.station = %s`,
	batch.ByGauge:     `CASE WHEN f.gauges = '' THEN %[1]s = '' ELSE replace(f.gauges, '"gauge":"' || %[1]s || '"', '') <> f.gauges END`,
	batch.ByHour:      `CASE WHEN f.hour < 10 THEN '0' ELSE '' END || f.hour = %s`,
	batch.ByWeekday:   `CAST(f.weekday AS TEXT) = %s`,
	batch.ByHumidity:  fmt.Sprintf(`coalesce(CAST(CAST(f.humidity_percent AS INTEGER) / %[1]d * %[1]d AS TEXT), '') = %%s`, humidityBand),
	batch.ByReason:    `f.reason = %s`,
	batch.ByFailing:   `replace(' ' || f.failing || ' ', ' ' || %s || ' ', '') <> ' ' || f.failing || ' '`,
	batch.ByNear:      `f.near = CASE WHEN %s = 'near' THEN 1 ELSE 0 END`,
}

// NeckPage returns the necks of a batch, or those in doubt or held of all batches, that a filter picks, a page of them, in the order in which they were registered.
// ErrInput where it names a dimension that necks are not picked by.
func (db *DB) NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error) {
	const what = "reading a page of necks"
	from, args, err := pickNecks(f)
	if err != nil {
		return batch.NeckPage{}, fmt.Errorf("%s: %w", what, err)
	}
	total, totalArgs := keptTotal(f)
	if total == "" {
		total, totalArgs = `SELECT count(*)`+from, args
	}
	var page batch.NeckPage
	if err := db.reader.QueryRowContext(ctx, total, totalArgs...).Scan(&page.Total); err != nil {
		return page, translate(err, what)
	}
	page.Necks, err = list(ctx, db.reader, scanNeckRow, selectNeckRow+`WHERE n.ord IN (SELECT n.ord`+from+` ORDER BY n.ord LIMIT ? OFFSET ?) ORDER BY n.ord`,
		append(args, limitOf(f.Limit), max(f.Offset, 0))...)
	return page, translate(err, what)
}

// pickNecks is where a filter's necks n come from, with its arguments.
func pickNecks(f batch.NeckFilter) (from string, args []any, err error) {
	args = []any{f.BatchID}
	value := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("?%d", len(args))
	}
	from = ` FROM necks n`
	if len(f.Firsts) > 0 {
		from += ` JOIN neck_first f ON f.neck_ord = n.ord`
	}
	if f.Disposition != "" || f.State != "" {
		from += ` JOIN neck_status s ON s.neck_id = n.id`
	}
	if f.InDoubt || f.Held { // few: they are looked up, not the batch's necks
		from += ` WHERE (?1 = '' OR +n.batch_id = ?1)`
	} else {
		from += ` WHERE n.batch_id = ?1`
	}
	for _, first := range f.Firsts {
		condition, known := firstIs[first.Dimension]
		if !known {
			return "", nil, fmt.Errorf("%w: necks are not picked by %q", ErrInput, first.Dimension)
		}
		from += ` AND ` + fmt.Sprintf(condition, value(first.Value))
	}
	if f.Disposition != "" {
		from += ` AND s.disposition = ` + value(f.Disposition)
	}
	if f.State != "" {
		from += ` AND s.state = ` + value(f.State)
	}
	if part := strings.TrimSpace(f.Serial); part != "" {
		from += ` AND n.serial LIKE ` + value("%"+escapeLike(part)+"%") + ` ESCAPE '\'`
	}
	if f.InDoubt {
		from += ` AND n.id IN (SELECT neck_id FROM standing_doubts d`
		if f.BatchID != "" {
			from += ` WHERE d.batch_id = ?1`
		}
		from += `)`
	}
	if f.Held {
		from += ` AND n.id IN (SELECT neck_id FROM held_necks)`
	}
	return from, args, nil
}

// keptTotal asks for the number of necks that a filter picks where it is kept beside the rows: for all necks of a batch,
// and for one value of one dimension. It is empty for other filters, whose necks are counted.
func keptTotal(f batch.NeckFilter) (query string, args []any) {
	rest := f
	rest.BatchID, rest.Firsts, rest.Offset, rest.Limit = "", nil, 0, 0
	switch plain := reflect.ValueOf(rest).IsZero(); {
	case plain && len(f.Firsts) == 0:
		return `SELECT coalesce(sum(n), 0) FROM batch_tally WHERE batch_id = ? AND key = 'registered'`, []any{f.BatchID}
	case plain && len(f.Firsts) == 1:
		return `SELECT coalesce(sum(f.inspected), 0) FROM batches b CROSS JOIN first_tally f ON f.batch_ord = b.ord WHERE b.id = ? AND f.dimension = ? AND f.value = ?`,
			[]any{f.BatchID, f.Firsts[0].Dimension, f.Firsts[0].Value}
	}
	return "", nil
}

// escapeLike writes a text so that LIKE takes it as it is.
func escapeLike(part string) string {
	return strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(part)
}

// trigramLength is the shortest part that the index of trigrams finds.
const trigramLength = 3

// SearchNecks returns at most limit necks whose serial number contains part (letters of either case), in order of
// registration, newest first; the neck whose whole serial number it is comes before all others. Of an instrument's visits there is the last.
func (db *DB) SearchNecks(ctx context.Context, part string, limit int) ([]batch.NeckRow, error) {
	part = strings.TrimSpace(part)
	found := searchedParts
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
		AND n.ord = (SELECT max(m.ord) FROM necks m WHERE m.serial = n.serial) ORDER BY n.serial = ?1 DESC, n.ord DESC LIMIT ?2`, args...)
	return all, translate(err, "searching necks")
}
