package watched

import (
	"context"
	"fmt"
	"iter"
	"slices"
	"testing"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
)

// shop is a record with one long batch of relief and level zone; the relief of every third of the first necks was not measured where
// gaps is set.
type shop struct {
	necks int
	gaps  bool
	asked int // values read one by one
}

var relief, zone = batch.Named{Name: inspect.Relief, Track: "bass", Unit: "mm"}, batch.Named{Name: inspect.LevelZone, Unit: "mm"}

func (s *shop) measured(n batch.Named, i int) bool {
	return n == zone || n == relief && (!s.gaps || i >= 100 || i%3 != 0)
}

func (s *shop) value(n batch.Named, i int) float64 {
	if n == zone {
		return 0.05 + 0.01*float64(i%4)
	}
	return 0.3 + 0.01*float64(i%5)
}

func (s *shop) Base(context.Context, string) (batch.ChartBase, error) {
	return batch.ChartBase{First: 1, Last: 25}, nil
}

// rows count what is measured.
func (s *shop) rows(of ...batch.Named) (rows []batch.CharacteristicRow) {
	for _, n := range of {
		r := batch.CharacteristicRow{Named: n}
		for i := range s.necks {
			if s.measured(n, i) {
				r.N++
			}
		}
		rows = append(rows, r)
	}
	return rows
}

func (s *shop) FirstValues(_ context.Context, _ string, newest bool, necks int) iter.Seq2[batch.FirstValue, error] {
	from, to := 0, min(necks, s.necks)
	if newest {
		from, to = max(0, s.necks-necks), s.necks
	}
	return func(yield func(batch.FirstValue, error) bool) {
		for i := from; i < to; i++ {
			for _, n := range []batch.Named{relief, zone} {
				if s.measured(n, i) && !yield(batch.FirstValue{Named: n, Serial: fmt.Sprint(i), Value: s.value(n, i)}, nil) {
					return
				}
			}
		}
	}
}

func (s *shop) Series(_ context.Context, f batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error] {
	return func(yield func(batch.SeriesPoint, error) bool) {
		for i := range s.necks {
			p := batch.SeriesPoint{Serial: fmt.Sprint(i)}
			if s.measured(f.Named, i) {
				p.Value = new(s.value(f.Named, i))
			}
			if s.asked++; !yield(p, nil) {
				return
			}
		}
	}
}

// Of a large batch the base and the newest necks are read, each neck once; where first necks had no value, the base reaches further.
func TestRead(t *testing.T) {
	for _, c := range []struct {
		necks           int
		gaps            bool
		values, at, nth int // values read, and the neck and its place among the measured of the last one
	}{
		{20, false, 20, 19, 20}, {60, false, 60, 59, 60}, {90, false, 90, 89, 90}, {3000, false, 100, 2999, 3000}, {3000, true, 83, 2999, 2966}, {60, true, 40, 59, 40},
	} {
		s := &shop{necks: c.necks, gaps: c.gaps}
		all, err := Read(t.Context(), s, "", s.rows(relief, batch.Named{Name: inspect.Twist, Unit: "deg"}), batch.ChartBase{First: 1, Last: 25}, 50)
		if err != nil || len(all) != 2 || all[0].Named != relief || len(all[1].Values) != 0 {
			t.Fatalf("%+v %v", all, err)
		}
		last := len(all[0].Values)
		if last != c.values || all[0].Serials[last-1] != fmt.Sprint(c.at) || all[0].Place(last) != c.nth || all[0].Place(3) != 3 {
			t.Errorf("%+v: %d values, the last of neck %s, the %dth", c, last, all[0].Serials[last-1], all[0].Place(last))
		}
		sorted := slices.Clone(all[0].Serials)
		slices.Sort(sorted)
		if len(slices.Compact(sorted)) != last {
			t.Errorf("%+v: a neck twice", c)
		}
		if c.gaps && c.necks == 60 && s.asked != 0 {
			t.Errorf("%d values read one by one of a batch that was read whole", s.asked)
		}
	}
}

// A base that has fewer values than stated in the first necks is filled from the next ones.
func TestBaseReachesOverNecksWithoutValue(t *testing.T) {
	s := &shop{necks: 3000, gaps: true}
	all, err := Read(t.Context(), s, "", s.rows(relief), batch.ChartBase{First: 1, Last: 60}, 50)
	if err != nil || len(all[0].Values) != 110 || all[0].Serials[59] != "89" {
		t.Fatalf("%d values, the 60th of neck %s: %v", len(all[0].Values), all[0].Serials[59], err)
	}
}

// What a specification leaves out is watched by test 1 and the EWMA at one false signal in 500 necks for all together; widths by roots.
func TestChosen(t *testing.T) {
	spec := (&inspect.Spec{Limits: []inspect.Limit{{Characteristic: inspect.Relief}}}).WithDefaults()
	w := Chosen(spec.Alarms, 4)
	if w != (spc.Watching{Tests: spc.TestsOf(1), EWMA: true, Between: 2000}) {
		t.Errorf("%+v", w)
	}
	s := &shop{necks: 60}
	all, err := Read(t.Context(), s, "", s.rows(relief, zone), batch.ChartBase{First: 1, Last: 25}, 50)
	if err != nil {
		t.Fatal(err)
	}
	for i := range all {
		watched, err := all[i].Watch(batch.ChartBase{First: 1, Last: 100}, w)
		if err != nil || watched.Roots != (all[i].Name == inspect.LevelZone) || watched.Values.Base != (spc.Base{From: 1, To: 60}) {
			t.Errorf("%s: %+v %v", all[i].Name, watched.Watching, err)
		}
	}
}

// The average of a series with values left out starts anew after them, and a change found there may have been before; where the newest
// necks reach back to the first there is no gap.
func TestAverageStartsAnewAfterAGap(t *testing.T) {
	base := batch.ChartBase{First: 1, Last: 25}
	for _, c := range []struct {
		necks, gap int
	}{{3000, 50}, {90, 0}, {60, 0}, {20, 0}} {
		s := &shop{necks: c.necks}
		all, err := Read(t.Context(), s, "", s.rows(relief), base, 50)
		if err != nil {
			t.Fatal(err)
		}
		w, err := all[0].Watch(base, Usual(1))
		if err != nil || w.Gap != c.gap {
			t.Fatalf("%d necks: gap after %d, expected %d, %v", c.necks, w.Gap, c.gap, err)
		}
		if c.gap == 0 {
			continue
		}
		if got, want := w.Average.Points[c.gap].Value, w.Average.Center+spc.AverageLambda*(all[0].Values[c.gap]-w.Average.Center); got != want || w.Average.Points[c.gap].Upper != w.Average.Points[0].Upper {
			t.Errorf("the average after the gap is %v, expected %v", got, want)
		}
		for i := range all[0].Values[c.gap:] {
			all[0].Values[c.gap+i] += 0.05
		}
		if w, err = all[0].Watch(base, Usual(1)); err != nil {
			t.Fatal(err)
		}
		if _, since, _ := all[0].Change(w); since != "2950 or before" {
			t.Errorf("since %q", since)
		}
	}
}
