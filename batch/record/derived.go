package record

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// What the record keeps beside its rows so that nobody has to count a million of them is worked out anew and compared, row by row: batch
// by batch what is kept of necks and summed over them, then what serial numbers are searched by. One row of each is in memory at a time,
// and the sums of one batch.

// derivedTables are worked out anew from the others.
var derivedTables = []string{"neck_status", "batch_tally", "neck_first", "first_tally", "characteristic_tally", "serial_grams", "uncounted", "restated"}

// comparing compares what is derived, at one moment.
type comparing struct {
	ctx   context.Context
	q     *parsed
	batch batchKey // that is compared
}

// batchKey is a batch by its keys and its number.
type batchKey struct {
	id, number string
	ord        int64
}

// verifyDerived works out every derived table anew. ErrDerived with the first row that differs.
func verifyDerived(ctx context.Context, moment *sql.Tx) error {
	c := comparing{ctx: ctx, q: &parsed{from: moment, known: map[string]*sql.Stmt{}}}
	defer c.q.close()
	if err := c.strays(); err != nil {
		return err
	}
	batches, err := list(ctx, c.q, func(s scanner) (b batchKey, err error) { return b, s.Scan(&b.ord, &b.id, &b.number) }, `SELECT ord, id, number FROM batches ORDER BY ord`)
	if err != nil {
		return err
	}
	for _, c.batch = range batches {
		if err := c.necks(); err != nil {
			return err
		}
	}
	if err := c.serialGrams(); err != nil {
		return err
	}
	return c.serialParts(moment)
}

// differs is ErrDerived: of is what the row is about, how what is wrong with it.
func differs(table, of, how string) error {
	return fmt.Errorf("%w: %s", ErrDerived, tell.Derived(table, of, how))
}

// strays finds rows of what is not there, and what bringing an older record up to date has left.
func (c *comparing) strays() error {
	for _, s := range []struct{ table, of, query string }{
		{"uncounted", "neck", `SELECT coalesce((SELECT serial FROM necks WHERE id = neck_id), neck_id) FROM uncounted LIMIT 1`},
		{"restated", "neck", `SELECT coalesce((SELECT serial FROM necks WHERE id = neck_id), neck_id) FROM restated LIMIT 1`},
		{"neck_status", "neck", `SELECT neck_id FROM neck_status WHERE neck_id NOT IN (SELECT id FROM necks) LIMIT 1`},
		{"neck_first", "neck with the order number", `SELECT neck_ord FROM neck_first WHERE neck_ord NOT IN (SELECT ord FROM necks) LIMIT 1`},
		{"batch_tally", "batch", `SELECT batch_id FROM batch_tally WHERE batch_id NOT IN (SELECT id FROM batches) LIMIT 1`},
		{"first_tally", "batch with the order number", `SELECT batch_ord FROM first_tally WHERE batch_ord NOT IN (SELECT ord FROM batches) LIMIT 1`},
		{"characteristic_tally", "batch with the order number", `SELECT batch_ord FROM characteristic_tally WHERE batch_ord NOT IN (SELECT ord FROM batches) LIMIT 1`},
	} {
		found, err := list(c.ctx, c.q, func(r scanner) (name string, err error) { return name, r.Scan(&name) }, s.query)
		if err != nil {
			return err
		}
		if len(found) > 0 {
			return differs(s.table, s.of+" "+found[0], tell.DerivedAdded)
		}
	}
	return nil
}

// ahead reads the rows of a query, one ahead.
type ahead[T any] struct {
	rows *sql.Rows
	scan func(scanner) (T, error)
	next T
	more bool
	err  error
}

func readAhead[T any](c *comparing, scan func(scanner) (T, error), query string, args ...any) (*ahead[T], error) {
	rows, err := c.q.QueryContext(c.ctx, query, args...)
	if err != nil {
		return nil, err
	}
	a := &ahead[T]{rows: rows, scan: scan}
	a.step()
	return a, nil
}

func (a *ahead[T]) step() {
	if a.more = a.rows.Next(); a.more {
		a.next, a.err = a.scan(a.rows)
	} else {
		a.err = a.rows.Err()
	}
	a.more = a.more && a.err == nil
}

func (a *ahead[T]) close() { _ = a.rows.Close() } // nothing was written

// keptNeck is a neck with what is kept of it.
type keptNeck struct {
	ord           int64
	id, serial    string
	status, first []any // their columns; nil where there is no row
}

const (
	keptOfStatus = `batch_id, ` + statusColumns
	keptOfFirst  = firstColumns
)

// selectKept names a neck and every column of what is kept of it.
var selectKept = `SELECT n.ord, n.id, n.serial, s.` + strings.Join(namesIn(keptOfStatus), ", s.") + `, f.` + strings.Join(namesIn(keptOfFirst), ", f.") + `
	FROM necks n LEFT JOIN neck_status s ON s.neck_id = n.id LEFT JOIN neck_first f ON f.neck_ord = n.ord WHERE n.batch_id = ? ORDER BY n.ord`

// namesIn are the columns of a list.
func namesIn(columns string) []string { return strings.Fields(strings.ReplaceAll(columns, ",", " ")) }

func scanKept(s scanner) (k keptNeck, err error) {
	split := len(namesIn(keptOfStatus))
	values := make([]any, split+len(namesIn(keptOfFirst)))
	into := []any{&k.ord, &k.id, &k.serial}
	for i := range values {
		into = append(into, &values[i])
	}
	err = s.Scan(into...)
	if values[0] != nil {
		k.status = values[:split]
	}
	if values[split] != nil {
		k.first = values[split:]
	}
	return k, err
}

// necks compares what is kept of the necks of a batch, then the sums over them.
func (c *comparing) necks() error {
	kept, err := readAhead(c, scanKept, selectKept, c.batch.id)
	if err != nil {
		return err
	}
	defer kept.close()
	attempts, err := readAhead(c, scanAttempt, selectAttempts+`FROM necks n CROSS JOIN inspections i ON i.neck_id = n.id LEFT JOIN counting_verdicts v ON v.inspection_id = i.id
		WHERE n.batch_id = ? ORDER BY n.ord, i.attempt`, c.batch.id)
	if err != nil {
		return err
	}
	defer attempts.close()
	firsts, err := readAhead(c, scanJudged, selectFirsts+`WHERE n.batch_id = ? ORDER BY n.ord, i.attempt`, c.batch.id)
	if err != nil {
		return err
	}
	defer firsts.close()
	tally, sums := map[string]int{}, newTallies()
	if sums.refs, err = c.refs(); err != nil {
		return err
	}
	for ; kept.more; kept.step() {
		var s status
		for ; attempts.more && attempts.next.neck == kept.next.id; attempts.step() {
			s.take(attempts.next)
		}
		s.count(tally)
		if err := c.row("neck_status", "neck "+kept.next.serial, keptOfStatus, kept.next.status, append([]any{c.batch.id}, s.args()...)); err != nil {
			return err
		}
		var f *judged
		for ; firsts.more && firsts.next.neck == kept.next.ord; firsts.step() {
			if f == nil {
				f = firsts.next
			}
		}
		if err := c.first(&kept.next, f, sums); err != nil {
			return err
		}
	}
	for _, err := range []error{kept.err, attempts.err, firsts.err} {
		if err != nil {
			return err
		}
	}
	return c.sums(tally, sums)
}

// first compares what is kept of a neck's first judged inspection, nil before one, and adds it to the sums.
func (c *comparing) first(k *keptNeck, f *judged, sums *tallies) error {
	var want []any
	if f != nil {
		if err := f.complete(c.ctx, c.q); err != nil {
			return err
		}
		f.placeAs(k.first)
		if err := sums.add(&f.first, f.all, 1); err != nil {
			return err
		}
		want = f.args()
	}
	return c.row("neck_first", "neck "+k.serial, keptOfFirst, k.first, want)
}

// placeAs puts a first inspection in the local time that its row was written in, where that is another one than here: a station's clock
// or this machine may have been set to another zone since. No zone is further from UTC than 14 hours, and each by quarters of an hour.
func (f *first) placeAs(row []any) {
	names := namesIn(keptOfFirst)
	at := slices.Index(names, "month")
	if row == nil || f.placedAs(row[at:]) {
		return
	}
	was := *f
	for quarters := -14 * 4; quarters <= 14*4; quarters++ {
		f.placeIn(f.at, time.FixedZone("", quarters*15*60))
		if f.placedAs(row[at:]) {
			return
		}
	}
	*f = was
}

// placedAs compares month, weekday and hour.
func (f *first) placedAs(row []any) bool {
	return row[0] == any(int64(f.month)) && row[1] == any(int64(f.weekday)) && row[2] == any(int64(f.hour))
}

// row compares a row with what it must be, nil where there is none.
func (c *comparing) row(table, of, columns string, is, want []any) error {
	switch {
	case is == nil && want == nil:
		return nil
	case want == nil:
		return differs(table, of, tell.DerivedAdded)
	case is == nil:
		return differs(table, of, tell.DerivedMissing)
	}
	for i, w := range want {
		v, err := stored(w)
		if err != nil {
			return err
		}
		if is[i] != v {
			return differs(table, of, tell.DerivedValue(namesIn(columns)[i], shownValue(is[i]), shownValue(v)))
		}
	}
	return nil
}

// stored is a value as it is read back.
func stored(v any) (any, error) {
	plain, err := driver.DefaultParameterConverter.ConvertValue(v)
	if err != nil {
		return nil, err
	}
	if yes, is := plain.(bool); is {
		if yes {
			return int64(1), nil
		}
		return int64(0), nil
	}
	return plain, nil
}

// shownValue is a stored value in an error.
func shownValue(v any) string {
	switch v := v.(type) {
	case nil:
		return "nothing"
	case string:
		return fmt.Sprintf("%q", batch.Shown(v))
	case []byte:
		return fmt.Sprintf("%d bytes", len(v))
	}
	return fmt.Sprint(v)
}
