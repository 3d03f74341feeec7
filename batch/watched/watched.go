// Package watched is what is watched of a batch while it is inspected: the first measurements of its limited characteristics, each
// with the limits and the average that its specification chooses, at a rate of false signals for all of them together.
package watched

import (
	"context"
	"iter"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
)

// Record is where the measurements are.
type Record interface {
	Base(ctx context.Context, batchID string) (batch.ChartBase, error)
	FirstValues(ctx context.Context, batchID string, newest bool, necks int) iter.Seq2[batch.FirstValue, error]
	Series(ctx context.Context, f batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error]
}

// spare is how many necks more than the base's are read at first, for some have no value: common practice, no source.
const spare = 25

// First is how many of a batch's first necks [Read] reads for a base, of a batch that it does not read whole.
func First(base batch.ChartBase) int { return base.Last + spare }

// Series is the first measurements of one characteristic that have a value, in order of inspection: those up to the base's last, then
// the newest.
type Series struct {
	batch.CharacteristicRow // with how many there are in all
	Serials                 []string
	Values                  []float64
	head                    int             // values before those left out
	gap                     int             // as head where values were left out after it, 0 where none were
	filled                  map[string]bool // serial numbers of a base that was read by itself
	joined                  bool            // the newest reach back to those
}

// Place is the place of a value, from 1, among all first measurements of the batch: those left out lie between the base's and the newest.
func (s *Series) Place(i int) int {
	if i > s.head {
		i += s.N - len(s.Values)
	}
	return i
}

// Read reads the series of a batch's limited characteristics, each counted in rows: of the necks of its base and of so many newest. Of a
// larger batch those between are left out.
func Read(ctx context.Context, rec Record, batchID string, rows []batch.CharacteristicRow, base batch.ChartBase, newest int) ([]Series, error) {
	r := reading{known: map[batch.Named]int{}, seen: map[string]bool{}}
	for _, row := range rows {
		r.known[row.Named] = len(r.series)
		r.series = append(r.series, Series{CharacteristicRow: row})
	}
	if err := r.take(rec.FirstValues(ctx, batchID, false, First(base))); err != nil {
		return nil, err
	}
	if len(r.seen) == First(base) { // there are more
		for i := range r.series {
			if err := r.series[i].fill(ctx, rec, batchID, base.Last); err != nil {
				return nil, err
			}
			r.series[i].head = len(r.series[i].Values)
		}
		if err := r.take(rec.FirstValues(ctx, batchID, true, newest)); err != nil {
			return nil, err
		}
		for i := range r.series {
			if s := &r.series[i]; !r.joined && !s.joined {
				s.gap = s.head
			}
		}
	}
	return r.series, nil
}

// reading is series in the making.
type reading struct {
	series []Series
	known  map[batch.Named]int
	seen   map[string]bool // serial numbers
	joined bool            // the newest necks reach back to the first
}

// take adds the values of necks not seen before.
func (r *reading) take(values iter.Seq2[batch.FirstValue, error]) error {
	now := map[string]bool{}
	for v, err := range values {
		if err != nil {
			return err
		}
		if r.seen[v.Serial] {
			r.joined = true
			continue
		}
		now[v.Serial] = true
		i, ok := r.known[v.Named]
		if !ok {
			continue
		}
		s := &r.series[i]
		if s.filled[v.Serial] {
			s.joined = true
			continue
		}
		s.Serials, s.Values = append(s.Serials, v.Serial), append(s.Values, v.Value)
	}
	for serial := range now {
		r.seen[serial] = true
	}
	return nil
}

// fill reads what is missing of the base where so many of the first necks had no value.
func (s *Series) fill(ctx context.Context, rec Record, batchID string, last int) error {
	if len(s.Values) >= min(last, s.N) {
		return nil
	}
	s.Serials, s.Values, s.filled = nil, nil, map[string]bool{}
	for p, err := range rec.Series(ctx, batch.SeriesFilter{Scope: batch.Scope{BatchID: batchID}, Named: s.Named}) {
		if err != nil {
			return err
		}
		if p.Value != nil {
			s.Serials, s.Values = append(s.Serials, p.Serial), append(s.Values, *p.Value)
			s.filled[p.Serial] = true
		}
		if len(s.Values) == last {
			break
		}
	}
	return nil
}

// Chosen is how each of so many characteristics is watched: as the specification, with its defaults filled in, chooses, and so that a
// steady batch gives one false signal in [spc.Between] necks or more for all of them together, whatever they have to do with each
// other (Bonferroni). Other run tests than the first come on top.
func Chosen(a *inspect.Alarms, together int) spc.Watching {
	return spc.Watching{Tests: spc.TestsOf(a.Tests...), EWMA: *a.EWMA, Between: spc.Between * float64(max(1, together))}
}

// Usual is how each of so many characteristics is watched together by default, whatever a specification chooses for its alarms.
func Usual(together int) spc.Watching {
	w := spc.Usual
	w.Between = spc.Between * float64(max(1, together))
	return w
}

// Change is by how much the level has moved, if it moved once, and the neck since which it most likely has. Where the signals tell that
// it came back, since is empty and until is the neck up to which they last; both are where none tells of a level.
func (s *Series) Change(w spc.Watched) (by float64, since, until string) {
	base := w.Values.Base
	mean := 0.0
	for _, v := range s.Values[base.From-1 : base.To] {
		mean += v / float64(base.To-base.From+1)
	}
	c, ok := spc.ChangeOf(s.Values, base.To, mean)
	told, newest := c.Told(w.Signals, s.Values, mean)
	switch {
	case !ok || newest == 0:
		return 0, "", ""
	case !told:
		return 0, "", s.Serials[newest-1]
	}
	since = s.Serials[c.Since-1]
	if s.gap > 0 && c.Since == s.gap+1 { // among those left out, as likely
		since += " or before"
	}
	return c.By, since, ""
}

// Watch watches the series with limits from the base, which is cut to the values there are.
func (s *Series) Watch(base batch.ChartBase, w spc.Watching) (spc.Watched, error) {
	w.Gap, w.Roots = s.gap, inspect.KindOf(s.Name).Width
	return spc.Watch(s.Values, Base(base, len(s.Values)), w)
}

// Base is a base cut to so many values.
func Base(base batch.ChartBase, values int) spc.Base {
	if base.Last <= values {
		return spc.Base{From: base.First, To: base.Last}
	}
	return spc.Base{From: min(base.First, max(1, values-1)), To: values}
}
