package record

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// refs reads the values about which the sums of a batch are kept.
func (c *comparing) refs() (map[valueKey]float64, error) {
	refs := map[valueKey]float64{}
	_, err := list(c.ctx, c.q, func(s scanner) (struct{}, error) {
		k, row, err := scanSums(s)
		ref, _ := row[1].(float64)
		refs[k] = ref
		return struct{}{}, err
	}, selectSums, c.batch.ord)
	return refs, err
}

const (
	sumsColumns = `n, ref, s1, s2, nonconforming, undecided, unmeasured, near`
	selectSums  = `SELECT batch_ord, month, gauge_id, name, track, string, fret, held_fret, unit, ` + sumsColumns + ` FROM characteristic_tally WHERE batch_ord = ?`
)

func scanSums(s scanner) (k valueKey, row []any, err error) {
	row = make([]any, len(namesIn(sumsColumns)))
	into := []any{&k.batch, &k.month, &k.gauge, &k.Name, &k.Track, &k.String, &k.Fret, &k.HeldFret, &k.Unit}
	for i := range row {
		into = append(into, &row[i])
	}
	return k, row, s.Scan(into...)
}

// sums compares what is summed over the necks of a batch. Rows of zeros may be there or not: what was taken out again leaves some.
func (c *comparing) sums(tally map[string]int, sums *tallies) error {
	if err := c.batchTally(tally); err != nil {
		return err
	}
	if err := c.firstTally(sums.firsts); err != nil {
		return err
	}
	return c.characteristicTally(sums.values)
}

func (c *comparing) batchTally(want map[string]int) error {
	rows, err := readAhead(c, func(s scanner) (row [2]any, err error) { return row, s.Scan(&row[0], &row[1]) }, `SELECT key, n FROM batch_tally WHERE batch_id = ? ORDER BY key`, c.batch.id)
	if err != nil {
		return err
	}
	defer rows.close()
	of := "batch " + c.batch.number
	for ; rows.more; rows.step() {
		key, _ := rows.next[0].(string)
		if err := c.row("batch_tally", of+", "+key, "n", rows.next[1:], []any{want[key]}); err != nil {
			return err
		}
		delete(want, key)
	}
	for _, key := range slices.Sorted(maps.Keys(want)) {
		if want[key] != 0 {
			return differs("batch_tally", of+", "+key, tell.DerivedMissing)
		}
	}
	return rows.err
}

const sharesColumns = `inspected, passed, final`

func (c *comparing) firstTally(want map[firstKey]*[3]int) error {
	type kept struct {
		firstKey
		row [3]any
	}
	rows, err := readAhead(c, func(s scanner) (k kept, err error) {
		return k, s.Scan(&k.batch, &k.month, &k.dimension, &k.value, &k.row[0], &k.row[1], &k.row[2])
	}, `SELECT batch_ord, month, dimension, value, `+sharesColumns+` FROM first_tally WHERE batch_ord = ? ORDER BY month, dimension, value`, c.batch.ord)
	if err != nil {
		return err
	}
	defer rows.close()
	of := func(k firstKey) string {
		return fmt.Sprintf("batch %s, month %d, %s %q", c.batch.number, k.month, k.dimension, k.value)
	}
	for ; rows.more; rows.step() {
		k := rows.next
		n := want[k.firstKey]
		if n == nil {
			n = new([3]int)
		}
		if err := c.row("first_tally", of(k.firstKey), sharesColumns, k.row[:], []any{n[0], n[1], n[2]}); err != nil {
			return err
		}
		delete(want, k.firstKey)
	}
	if rows.err != nil || len(want) == 0 {
		return rows.err
	}
	missing := slices.SortedFunc(maps.Keys(want), func(a, b firstKey) int {
		return cmp.Or(cmp.Compare(a.month, b.month), cmp.Compare(a.dimension, b.dimension), cmp.Compare(a.value, b.value))
	})
	return differs("first_tally", of(missing[0]), tell.DerivedMissing)
}

func (c *comparing) characteristicTally(want map[valueKey]*valueSums) error {
	type kept struct {
		valueKey
		row []any
	}
	rows, err := readAhead(c, func(s scanner) (k kept, err error) {
		k.valueKey, k.row, err = scanSums(s)
		return k, err
	}, selectSums, c.batch.ord)
	if err != nil {
		return err
	}
	defer rows.close()
	of := func(k valueKey) string {
		words := []string{"batch " + c.batch.number, "month " + fmt.Sprint(k.month), inspect.Name(k.Name)}
		if place := inspect.Place(k.Track, k.String, k.Fret); place != "" {
			words = append(words, place)
		}
		return strings.Join(words, ", ")
	}
	for ; rows.more; rows.step() {
		k := rows.next
		v := want[k.valueKey]
		if v == nil {
			v = new(valueSums)
		}
		if err := c.about(k.valueKey, v, k.row, of(k.valueKey)); err != nil {
			return err
		}
		if err := c.row("characteristic_tally", of(k.valueKey), sumsColumns, k.row, []any{v.n, v.ref, v.s1, v.s2, v.nonconforming, v.undecided, v.unmeasured, v.near}); err != nil {
			return err
		}
		delete(want, k.valueKey)
	}
	if rows.err != nil {
		return rows.err
	}
	missing := ""
	for k, v := range want {
		if *v != (valueSums{}) && (missing == "" || of(k) < missing) {
			missing = of(k)
		}
	}
	if missing == "" {
		return nil
	}
	return differs("characteristic_tally", missing, tell.DerivedMissing)
}

// Sums that are added to and taken from differ in their last digits from those that are made in one go: by no more than this, and this
// part of what was summed.
const (
	sumsFloor = 1e-6
	sumsPart  = 1e-9
)

// about takes the value that the sums are kept about, and sums that differ from what is worked out by their last digits, as they stand.
func (c *comparing) about(k valueKey, v *valueSums, row []any, of string) error {
	ref, is := row[1].(float64)
	known, err := v.met || ref == 0, error(nil)
	if is && !known { // a value that no longer counts
		err = c.q.QueryRowContext(c.ctx, `SELECT EXISTS (SELECT 1 FROM necks n CROSS JOIN inspections i ON i.neck_id = n.id CROSS JOIN verdicts v ON v.inspection_id = i.id
			CROSS JOIN characteristics c ON c.verdict_ord = v.ord WHERE n.batch_id = ? AND c.name = ? AND c.value = ?)`, c.batch.id, k.Name, ref).Scan(&known)
	}
	switch {
	case err != nil:
		return err
	case !is || !known:
		return differs("characteristic_tally", of, tell.DerivedValue("ref", shownValue(row[1]), "a value of one of its verdicts"))
	}
	v.ref = ref
	near := func(at int, sum *float64, part float64) {
		if kept, is := row[at].(float64); is && math.Abs(kept-*sum) <= sumsFloor+sumsPart*part {
			*sum = kept
		}
	}
	near(2, &v.s1, math.Sqrt(float64(v.n)*v.s2))
	near(3, &v.s2, v.s2)
	return nil
}

// serialGrams compares the characters and pairs of characters of serial numbers, all at once: of each are only the blocks kept.
func (c *comparing) serialGrams() error {
	blocks := map[string][]int64{}
	necks, err := readAhead(c, scanSerial, selectSerials)
	if err != nil {
		return err
	}
	defer necks.close()
	for ; necks.more; necks.step() {
		g := grams{}
		g.add(necks.next.ord, necks.next.serial)
		for k := range g {
			if all := blocks[k.text]; len(all) == 0 || all[len(all)-1] != k.block {
				blocks[k.text] = append(all, k.block)
			}
		}
	}
	if necks.err != nil {
		return necks.err
	}
	rows, err := readAhead(c, func(s scanner) (g gram, err error) { return g, s.Scan(&g.text, &g.block) }, `SELECT gram, block FROM serial_grams ORDER BY gram, block`)
	if err != nil {
		return err
	}
	defer rows.close()
	of := func(text string, block int64) string {
		return fmt.Sprintf("%q in the serial numbers of necks %d to %d", text, block*gramBlock, block*gramBlock+gramBlock-1)
	}
	for ; rows.more; rows.step() {
		g := rows.next
		all := blocks[g.text]
		switch {
		case len(all) == 0 || g.block < all[0]:
			return differs("serial_grams", of(g.text, g.block), tell.DerivedAdded)
		case g.block > all[0]:
			return differs("serial_grams", of(g.text, all[0]), tell.DerivedMissing)
		}
		blocks[g.text] = all[1:]
	}
	if rows.err != nil {
		return rows.err
	}
	for _, text := range slices.Sorted(maps.Keys(blocks)) {
		if left := blocks[text]; len(left) > 0 {
			return differs("serial_grams", of(text, left[0]), tell.DerivedMissing)
		}
	}
	return nil
}

// registered is a neck by its order number.
type registered struct {
	ord    int64
	serial string
}

const selectSerials = `SELECT ord, serial FROM necks ORDER BY ord`

func scanSerial(s scanner) (n registered, err error) { return n, s.Scan(&n.ord, &n.serial) }
