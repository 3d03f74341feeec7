package necks

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/draw"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// explainPage is how one value of one attempt came about.
type explainPage struct {
	Serial   string
	Attempt  int
	Name     string // the characteristic with its place
	Formula  string
	Figure   draw.Figure // of what it is
	Kind     string      // its name, for the page that tells how it is measured
	Source   string
	Row      characteristicRow
	Workings []workingRow // readings and intermediate values, in the formula's order
	Parts    []partRow
	About    string // U beside the value, to what can be read
	U, UU    string // standard and expanded uncertainty
	Unit     string
	Missing  string // what the readings lack for a value, or for a verdict on it
	Interval bool   // the value lies between two feeler leaves
}

// workingRow is one quantity on the way to the value.
type workingRow struct{ Name, Value, Unit string }

// workingRows writes quantities in the page's unit, two digits finer than a reading.
func workingRows(all []inspect.Working, lengths unit.Unit) []workingRow {
	rows := make([]workingRow, len(all))
	for i, w := range all {
		rows[i] = workingRow{w.Name, strconv.FormatFloat(w.Value, 'g', 6, 64), w.Unit}
		if w.Unit == "mm" {
			rows[i].Value, rows[i].Unit = show.Fine(w.Value, lengths), lengths.String()
		}
	}
	return rows
}

// partRow is one reading's part in the uncertainty.
type partRow struct{ Reading, Value, U, Part, Share string }

// explainQuery names one characteristic of an attempt in a page's address.
func explainQuery(attempt int, c inspect.Characteristic) string {
	q := url.Values{"attempt": {strconv.Itoa(attempt)}, "name": {c.Name}}
	if c.Track != "" {
		q.Set("track", c.Track)
	}
	for name, n := range map[string]int{"string": c.String, "fret": c.Fret, "held": c.HeldFret} {
		if n != 0 {
			q.Set(name, strconv.Itoa(n))
		}
	}
	return q.Encode()
}

// explain shows formula, source, readings and uncertainty budget of one characteristic, computed again from the record.
func (s *server) explain(c *site.Request) error {
	ctx := c.Request.Context()
	neck, err := s.opt.Record.Neck(ctx, c.Param("serial"))
	if err != nil {
		return err
	}
	b, err := s.opt.Record.Batch(ctx, neck.BatchNumber)
	if err != nil {
		return err
	}
	all, err := s.opt.Record.Inspections(ctx, neck.ID)
	if err != nil {
		return err
	}
	for _, in := range all {
		if strconv.Itoa(in.Attempt) != c.Query("attempt") {
			continue
		}
		readings, err := s.opt.Record.Readings(ctx, in.ID)
		if err != nil {
			return err
		}
		p, err := explanation(b.Spec.Spec.WithDefaults(), in, readings, c.Request.URL.Query(), c.Unit())
		if err != nil {
			return err
		}
		return c.Show(http.StatusOK, "explain", p.Name, p)
	}
	return batch.Absent.Errorf("%s has no attempt %q; the neck's page lists what there is.", neck.Serial, c.Query("attempt"))
}

// explanation computes the attempt's readings again and puts the characteristic that the query names in words and numbers.
func explanation(spec *inspect.Spec, in batch.Inspection, readings []batch.Reading, query url.Values, lengths unit.Unit) (*explainPage, error) {
	kind := inspect.KindOf(query.Get("name"))
	if kind.Name == "" {
		return nil, batch.Absent.Errorf("%q is no characteristic", query.Get("name"))
	}
	measured := batch.Assemble(spec, in, readings, nil)
	res, err := inspect.Evaluate(spec, measured, inspect.Options{}) // with the uncertainties: guarded rules judge by them
	if err != nil {
		return nil, err
	}
	query.Del("attempt")
	missing := func(c ...inspect.Characteristic) string {
		return strings.Join(inspect.MissingFor(spec, measured, &inspect.Result{Characteristics: c}, query.Get("name")), "; ")
	}
	for _, c := range res.Characteristics {
		mine, err := url.ParseQuery(explainQuery(0, c))
		if err != nil {
			return nil, err
		}
		mine.Del("attempt")
		if mine.Encode() != query.Encode() {
			continue
		}
		p := &explainPage{Serial: in.Serial, Attempt: in.Attempt, Name: inspect.Words(spec, c), Formula: kind.Formula, Figure: draw.Defines(kind.Name, spec), Kind: kind.Name, Source: kind.Source, Row: rowOf(spec, c, lengths), Unit: rowOf(spec, c, lengths).Unit, Missing: missing(c)}
		if c.Value == nil && c.IntervalMM == nil {
			return p, nil
		}
		workings, err := inspect.Workings(spec, measured, c)
		if err != nil {
			return nil, err
		}
		p.Workings = workingRows(workings, lengths)
		if c.Value == nil {
			p.Interval = true
			if c.U != nil {
				p.U, p.UU = show.Fine(*c.U, lengths), show.Fine(2**c.U, lengths)
			}
			return p, nil
		}
		if err := p.budget(spec, measured, readings, c, lengths); err != nil {
			return nil, err
		}
		return p, nil
	}
	if lacks := missing(); lacks != "" {
		return &explainPage{Serial: in.Serial, Attempt: in.Attempt, Name: inspect.Name(query.Get("name")), Formula: kind.Formula, Figure: draw.Defines(kind.Name, spec), Kind: kind.Name, Source: kind.Source, Missing: lacks}, nil
	}
	return nil, batch.Absent.Errorf("attempt %d of %s gives no value of it", in.Attempt, in.Serial)
}

// budget puts what each reading adds to the uncertainty of a value on the page.
func (p *explainPage) budget(spec *inspect.Spec, measured *inspect.Readings, readings []batch.Reading, c inspect.Characteristic, lengths unit.Unit) error {
	parts, u, err := inspect.Budget(spec, measured, c)
	if err != nil {
		return err
	}
	c.U = &u
	p.Row = rowOf(spec, c, lengths)
	scale := 1.0
	if c.Unit == "mm" {
		scale = lengths.From(1)
	}
	p.U, p.UU, p.About = show.Fixed(u*scale, 5, false), show.Fixed(2*u*scale, 5, false), show.Value(2*u, c.Unit, lengths, false)
	values := standing(readings)
	for _, part := range parts {
		point := batch.PointOf(part.Point)
		value, partU := values(point, lengths), show.Fine(part.U, lengths)
		if part.Point.Kind == inspect.PointMass {
			value, partU = show.Fixed(part.Value, 3, false), show.Fixed(part.U, 3, false)
		}
		p.Parts = append(p.Parts, partRow{
			Reading: tell.BudgetPart(part.Point), Value: value, U: partU,
			Part: show.Fixed(part.Part*scale, 5, true), Share: show.Fixed(100*part.Part*part.Part/(u*u), 1, false),
		})
	}
	return nil
}

// standing returns what each point's standing readings say, the mean where a point was measured more than once.
func standing(readings []batch.Reading) func(p batch.Point, lengths unit.Unit) string {
	sum, n := map[batch.Point]float64{}, map[batch.Point]float64{}
	for _, r := range batch.Standing(readings) {
		if !r.Withdrawn {
			sum[r.Point] += r.Value
			n[r.Point]++
		}
	}
	return func(p batch.Point, lengths unit.Unit) string {
		if n[p] == 0 {
			return ""
		}
		return show.Signed(sum[p]/n[p], lengths)
	}
}
