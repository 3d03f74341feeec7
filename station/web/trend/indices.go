package trend

import (
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// indexMonth is a characteristic's capability in one month under one revision of the specification.
type indexMonth struct {
	Words, Revision, Limits string
	N, Nonconforming        int
	Index, Interval         string
	month                   batch.Month
	of                      spc.Performance
}

// indices works the capability of each month out, by the limits of the revision that its necks were judged by.
func (v *trendValues) indices(all []batch.SpecRevision, model string, chosen batch.Named, rows []batch.CharacteristicRow, lengths unit.Unit) {
	specs := specsOf(all, model)
	for _, r := range rows {
		spec := specs[r.Revision]
		if r.Named != chosen || r.N == 0 || spec == nil {
			continue
		}
		lower, upper := show.LimitsIn(spec)(chosen)
		sd, _ := r.SD()
		m := indexMonth{Words: tell.Month(r.Month), Revision: r.Revision, N: r.N, Nonconforming: r.Nonconforming, month: r.Month,
			Limits: tell.Between(lower, upper, func(x float64) string { return show.Value(x, chosen.Unit, lengths, false) }),
			of:     spc.Outline{N: r.N, Mean: r.Mean, SD: sd, Outside: r.Nonconforming, Limits: spc.Limits{Lower: lower, Upper: upper}, Bounded: !inspect.KindOf(chosen.Name).Signed}.Performance(show.Confidence)}
		m.Index = show.IndexWords(m.of)
		if m.of.Index != nil {
			m.Interval = show.Fixed(m.of.Low, 2, false) + " to " + show.Fixed(m.of.High, 2, false)
		}
		v.Indices = append(v.Indices, m)
	}
	slices.SortStableFunc(v.Indices, func(a, b indexMonth) int { return int(a.month) - int(b.month) })
	v.drawIndices()
}

// drawIndices draws a line for each revision, so that it breaks where the specification changed.
func (v *trendValues) drawIndices() {
	if len(v.Rows) == 0 {
		return
	}
	c := show.Chart{ID: "indices", Caption: "Ppk of the first measurements of each month by the limits they were judged by, with its 95 % interval; a line for each revision of the specification, broken where it changed. A month without a point has a single neck, no spread or, where necks are counted, none outside.",
		Spoken: "Ppk of " + v.Title + " by month; the table has the numbers.", Y: show.Axis{Title: "Ppk", Decimals: 2},
		Marks: []show.Mark{{At: spc.Capable, Words: fmt.Sprintf("%.2f is usually asked for", spc.Capable), Kind: "target"}}}
	first, last := v.Rows[0].month, v.Rows[len(v.Rows)-1].month
	for m := first; m <= last; m = monthsAway(m, 1) {
		c.X.Names = append(c.X.Names, monthShort(m))
	}
	var revisions []string
	for _, m := range v.Indices {
		if !slices.Contains(revisions, m.Revision) {
			revisions = append(revisions, m.Revision)
		}
	}
	bars := show.Series{Name: "interval", Kind: "line", Hue: 1}
	drawn := false
	for i, revision := range revisions {
		line := show.Series{Name: "revision " + revision, Kind: "both", Hue: i + 1}
		x := 0.0
		for month := first; month <= last; month, x = monthsAway(month, 1), x+1 {
			at := show.Point{X: x}
			place := slices.IndexFunc(v.Indices, func(m indexMonth) bool { return m.month == month && m.Revision == revision })
			if place >= 0 && v.Indices[place].of.Index != nil {
				m := v.Indices[place]
				at.Y = m.of.Index
				at.Words = fmt.Sprintf("%s, revision %s: Ppk %s (%s) of %s", m.Words, revision, m.Index, m.Interval, tell.Count(m.N, "neck"))
				bars.Points = append(bars.Points, show.Point{X: x, Y: show.Y(m.of.Low)}, show.Point{X: x, Y: show.Y(m.of.High)}, show.Point{X: x})
				drawn = true
			}
			line.Points = append(line.Points, at)
		}
		c.Series = append(c.Series, line)
	}
	c.Series = append(c.Series, bars)
	if drawn {
		v.Charts = append(v.Charts, &c)
	}
}

// specsOf are a model's revisions by name, the newest text of each.
func specsOf(all []batch.SpecRevision, model string) map[string]*inspect.Spec {
	specs, added := map[string]*inspect.Spec{}, map[string]batch.SpecRevision{}
	for _, s := range all {
		if s.Name == model && s.Spec != nil && !s.AddedAt.Before(added[s.Revision].AddedAt) {
			specs[s.Revision], added[s.Revision] = s.Spec.WithDefaults(), s
		}
	}
	return specs
}

// overRevisions puts the rows of a characteristic's months together, whatever the revision.
func overRevisions(chosen batch.Named, rows []batch.CharacteristicRow) (months []batch.CharacteristicRow) {
	for _, r := range rows {
		if r.Named != chosen {
			continue
		}
		r.SpecName, r.Revision = "", ""
		if last := len(months) - 1; last >= 0 && months[last].Month == r.Month {
			m := &months[last]
			m.Moments = m.Plus(r.Moments)
			m.Nonconforming, m.Undecided, m.NotMeasured, m.Near = m.Nonconforming+r.Nonconforming, m.Undecided+r.Undecided, m.NotMeasured+r.NotMeasured, m.Near+r.Near
			continue
		}
		months = append(months, r)
	}
	return months
}
