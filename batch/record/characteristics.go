package record

import (
	"errors"
	"fmt"
	"strings"

	"sagitta/inspect"
)

const (
	insertCharacteristics = `INSERT INTO characteristics (verdict_ord, place, name, track, string, fret, held_fret, value, unit, u, lower, target, upper, zone, margin, carried_from)`
	ownValues             = 9 // of a row: those that are not part of the statement's text
	mostLayouts           = 8
	mostGrouped           = 400 // characteristics that share a statement: the marks of one are limited
)

// characteristicRows writes the characteristics of verdicts. Those of a batch are named alike: their names stand in the
// statement, and each row brings only its numbers.
type characteristicRows struct {
	t       *tx
	sink    sink
	layouts []*layout
	args    []any
}

// layout is how a list of characteristics is named, from one place on.
type layout struct {
	*rows
	from int
	of   []inspect.Characteristic
}

// add takes the characteristics of one verdict by its order number.
func (w *characteristicRows) add(verdict int64, all []inspect.Characteristic) error {
	for from := 0; from < len(all); from += mostGrouped {
		part := all[from:min(from+mostGrouped, len(all))]
		l, err := w.layoutOf(from, part)
		if err != nil {
			return err
		}
		w.args = w.args[:0]
		for i := range part {
			c := &part[i]
			w.args = append(w.args, verdict, float(c.Value), float(c.U), float(c.Lower), float(c.Target), float(c.Upper), string(c.Zone), float(margin(*c)), carriedFrom(c))
		}
		if err := l.add(w.args...); err != nil {
			return err
		}
	}
	return nil
}

// layoutOf finds the layout of a list of characteristics, or makes it.
func (w *characteristicRows) layoutOf(from int, all []inspect.Characteristic) (*layout, error) {
	for _, l := range w.layouts {
		if l.from == from && l.fits(all) {
			return l, nil
		}
	}
	if len(w.layouts) == mostLayouts {
		if err := w.end(); err != nil {
			return nil, err
		}
	}
	texts := make([]string, len(all))
	for i := range all {
		c := &all[i]
		texts[i] = fmt.Sprintf("(?, %d, %s, %s, %d, %d, %d, ?, %s, ?, ?, ?, ?, ?, ?, ?)", from+i, quoted(c.Name), quoted(c.Track), c.String, c.Fret, c.HeldFret, quoted(c.Unit))
	}
	l := &layout{from: from, of: all, rows: &rows{t: w.t, sink: w.sink, head: insertCharacteristics, group: strings.Join(texts, ", "),
		values: ownValues * len(all), atOnce: max(1, rowsAtOnce/len(all))}}
	w.layouts = append(w.layouts, l)
	return l, nil
}

// fits says whether a list is named as the layout's.
func (l *layout) fits(all []inspect.Characteristic) bool {
	if len(all) != len(l.of) {
		return false
	}
	for i := range all {
		a, b := &all[i], &l.of[i]
		if a.Name != b.Name || a.Track != b.Track || a.String != b.String || a.Fret != b.Fret || a.HeldFret != b.HeldFret || a.Unit != b.Unit {
			return false
		}
	}
	return true
}

// end writes what is left.
func (w *characteristicRows) end() error {
	var errs []error
	for _, l := range w.layouts {
		errs = append(errs, l.end())
	}
	w.layouts = nil
	return errors.Join(errs...)
}

// quoted is a text as SQL writes it.
func quoted(s string) string {
	return "'" + strings.ReplaceAll(s, "'", "''") + "'"
}

// float is a number that may be absent, as the driver takes it without a look at its type.
func float(v *float64) any {
	if v == nil {
		return nil
	}
	return *v
}

// margin is the characteristic's worst margin, nil where it has none.
func margin(c inspect.Characteristic) *float64 {
	if m, ok := inspect.WorstMargin(c); ok {
		return &m
	}
	return nil
}

// carriedFrom is the attempt that a characteristic was measured in where it was carried over, 0 where it was not.
func carriedFrom(c *inspect.Characteristic) int {
	if c.CarriedFrom == nil {
		return 0
	}
	return c.CarriedFrom.Attempt
}
