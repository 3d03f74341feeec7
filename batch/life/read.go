package life

import (
	"context"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Record is what a life is read from.
type Record interface {
	Visits(ctx context.Context, serial string) ([]batch.Visit, error)
	Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error)
	CountingVerdict(ctx context.Context, inspectionID string) (*batch.Verdict, error)
	Rework(ctx context.Context, neckID string) ([]batch.ReworkAction, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	StringSets(ctx context.Context, serial string) ([]batch.StringSet, error)
}

// Life is everything that the record has of an instrument's visits.
type Life struct {
	Serial string
	Stays  []Stay // the first before; what a factory found too
	Neck   Neck   // the same as numbers
}

// Stay is one visit with what was found and done.
type Stay struct {
	batch.Visit
	Seen   []Seen
	Done   []batch.ReworkAction
	Fitted []batch.StringSet // while it lasted and after it was first measured
	Wore   string            // the set that it was first measured with, "" where nobody named it
}

// Seen is one judged inspection.
type Seen struct {
	batch.Inspection
	At      time.Time // of its verdict
	Result  *inspect.Result
	InDoubt bool // its readings may be wrong
}

// Found and Left are the first and the last inspection of a visit, nil where there was none; the same one where nothing was measured after.
func (s *Stay) Found() *Seen { return s.at(0) }
func (s *Stay) Left() *Seen  { return s.at(len(s.Seen) - 1) }

func (s *Stay) at(i int) *Seen {
	if len(s.Seen) == 0 {
		return nil
	}
	return &s.Seen[i]
}

// Read gathers an instrument's life. A serial number of which nothing is known has no stays.
func Read(ctx context.Context, rec Record, serial string) (*Life, error) {
	visits, err := rec.Visits(ctx, serial)
	if err != nil {
		return nil, err
	}
	sets, err := rec.StringSets(ctx, serial)
	if err != nil {
		return nil, err
	}
	l := &Life{Serial: serial}
	for i, v := range visits {
		until := time.Time{}
		if i+1 < len(visits) {
			until = visits[i+1].OpenedAt
		}
		s := Stay{Visit: v}
		if err := s.read(ctx, rec); err != nil {
			return nil, err
		}
		s.strings(sets, until)
		l.Neck.take(&s, sets)
		l.Stays = append(l.Stays, s)
	}
	slices.SortStableFunc(l.Neck.Measured, func(a, b Measurement) int { return a.At.Compare(b.At) })
	slices.SortStableFunc(l.Neck.Done, func(a, b Work) int { return a.At.Compare(b.At) })
	return l, nil
}

// read gathers one visit's inspections and work.
func (s *Stay) read(ctx context.Context, rec Record) error {
	inspections, err := rec.Inspections(ctx, s.Visit.Neck.ID)
	if err != nil {
		return err
	}
	doubts, err := rec.Doubts(ctx, batch.DoubtFilter{NeckID: s.Visit.Neck.ID})
	if err != nil {
		return err
	}
	for _, in := range inspections {
		v, err := rec.CountingVerdict(ctx, in.ID)
		if err != nil {
			return err
		}
		if v == nil || v.Result == nil {
			continue
		}
		s.Seen = append(s.Seen, Seen{Inspection: in, At: v.At, Result: v.Result, InDoubt: slices.ContainsFunc(doubts, func(d batch.Doubt) bool {
			return d.InspectionID == in.ID && (d.Cleared == "" || d.Cleared == batch.ClearedFailed || d.Cleared == batch.ClearedAttempt)
		})})
	}
	s.Done, err = rec.Rework(ctx, s.Visit.Neck.ID)
	return err
}

// strings tells the set that the instrument came with from those that it was given until the next visit.
func (s *Stay) strings(sets []batch.StringSet, until time.Time) {
	from := s.OpenedAt
	if found := s.Found(); found != nil {
		from = found.At
	}
	for _, set := range sets {
		switch at := fittedAt(set); {
		case !at.After(from):
			s.Wore = set.Name
		case until.IsZero() || at.Before(until):
			s.Fitted = append(s.Fitted, set)
		}
	}
}

// fittedAt is when a set came on: on the day that was stated, at the moment it was entered where that was the same day.
func fittedAt(set batch.StringSet) time.Time {
	day, err := time.ParseInLocation(time.DateOnly, string(set.Fitted), time.Local)
	if err != nil || batch.DayOf(set.At) == set.Fitted {
		return set.At
	}
	return day
}

// take adds a visit's numbers. A relief that is in doubt, that was carried over from an earlier inspection or that was not measured at
// pitch is none.
func (n *Neck) take(s *Stay, sets []batch.StringSet) {
	spec := s.Batch.Spec.Spec.WithDefaults()
	for _, in := range s.Seen {
		m := Measurement{At: in.At, Visit: s.Number, HumidityPercent: in.Climate.HumidityPercent, Strings: worn(spec, sets, in.At)}
		for _, c := range in.Result.Characteristics {
			if c.Name != inspect.Relief || c.Value == nil || c.U == nil || c.Datum == nil || c.Zone == inspect.NotMeasured || c.CarriedFrom != nil || in.InDoubt {
				continue
			}
			m.Relief = append(m.Relief, Relief{Track: c.Track, First: c.Datum[0], Second: c.Datum[1], Fret: c.Fret, MM: *c.Value, U: *c.U})
		}
		n.Measured = append(n.Measured, m)
	}
	relief := inspect.Characteristic{Name: inspect.Relief}
	for _, a := range s.Done {
		work := inspect.Work{What: a.What, String: a.String}
		n.Done = append(n.Done, Work{At: a.At, Visit: s.Number, Strings: a.What == inspect.WorkStrings,
			Bends: a.What != inspect.StepPitch && work.CanChange(spec, relief)})
	}
}

// worn are the strings at a moment: the newest set fitted before it, else those of the specification.
func worn(spec *inspect.Spec, sets []batch.StringSet, at time.Time) Strings {
	on := spec.Strings
	name := ""
	for _, set := range sets {
		if !fittedAt(set).After(at) {
			on, name = set.Strings, set.Name
		}
	}
	return StringsOn(spec, name, on)
}

// StringsOn is what strings pull on a specification's neck at their pitches; unknown without any.
func StringsOn(spec *inspect.Spec, name string, on []inspect.String) Strings {
	if len(on) == 0 {
		return Strings{Name: name}
	}
	s := *spec
	s.Strings = on
	pull, u := s.PullOf()
	return Strings{Name: name, PullN: pull, U: u}
}
