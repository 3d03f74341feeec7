package instruments

import (
	"net/http"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/site"
)

// newVisit shows the form of an instrument's next visit: its wishes are those of the last.
func (s *server) newVisit(c *site.Request) error {
	p, a, _, start, err := s.nextVisit(c)
	if err != nil {
		return err
	}
	e, err := start(choices{})
	if err != nil {
		return err
	}
	return s.showWishes(c, http.StatusOK, p, a, e, nil)
}

// takeVisit begins an instrument's next visit.
func (s *server) takeVisit(c *site.Request) error {
	p, a, in, start, err := s.nextVisit(c)
	if err != nil {
		return err
	}
	return s.take(c, p, a, in, start)
}

// nextVisit is what the form of an instrument's next visit begins with.
func (s *server) nextVisit(c *site.Request) (p wishPage, a *asked, in batch.Instrument, start func(choices) (*entry, error), err error) {
	ctx, serial := c.Request.Context(), c.Param("serial")
	in, err = s.opt.Record.Instrument(ctx, serial)
	if err != nil {
		return p, nil, in, nil, err
	}
	visits, err := s.opt.Record.Visits(ctx, serial)
	if err != nil {
		return p, nil, in, nil, err
	}
	if len(visits) == 0 {
		return p, nil, in, nil, batch.Conflict.Errorf("%s has not been here yet", serial)
	}
	last := visits[len(visits)-1]
	verdict, err := s.lastVerdict(ctx, last)
	if err != nil {
		return p, nil, in, nil, err
	}
	strung, err := s.strungNow(ctx, serial, last.Batch.Spec.Spec)
	if err != nil {
		return p, nil, in, nil, err
	}
	if a, err = s.ask(c, true); err != nil {
		return p, nil, in, nil, err
	}
	p = wishPage{Title: "New visit of " + in.Serial, Action: site.InstrumentPath(in.Serial) + "/visit", Button: "Begin the visit", Sentence: tell.NextVisit(last)}
	return p, a, in, func(ch choices) (*entry, error) {
		if ch.Kind = in.Kind; ch.Kind == "" {
			ch.Kind = nearestKind(last.Batch.Spec.Spec)
		}
		e, err := again(ch, strung, c.Unit())
		if err == nil && verdict != nil {
			e.before = valuesOf(last.Batch.Spec.Spec, verdict.Result, c.Unit())
		}
		return e, err
	}, nil
}

// nearestKind is the template that is most like a specification of which nobody said.
func nearestKind(spec *inspect.Spec) string {
	best, most := instrument.Templates()[0].Name, -1
	for _, t := range instrument.Templates() {
		of, err := files.ReadSpec(t.Name, []byte(t.Text))
		if err != nil {
			continue
		}
		like := 0
		for _, same := range []bool{of.Neck.Kind == spec.Neck.Kind, len(of.Strings) == len(spec.Strings), of.Neck.MultiScale() == spec.Neck.MultiScale(), of.Neck.Joint == spec.Neck.Joint} {
			if like *= 2; same {
				like++
			}
		}
		if like > most {
			best, most = t.Name, like
		}
	}
	return best
}

// again proposes for a visit what the last one had; a wish moves the limits to those of the kind, and what was not asked for then is there to
// be filled in.
func again(ch choices, last *inspect.Spec, lengths unit.Unit) (*entry, error) {
	spec, err := files.ReadSpec("last visit", files.WriteSpec(last))
	if err != nil {
		return nil, err
	}
	spec.Plan, spec.Alarms = nil, nil // of a factory's batches
	if spec.Neck.ScaleIN != 0 {
		spec.Neck.ScaleMM, spec.Neck.ScaleIN = spec.Neck.Scale(), 0
	}
	kind, err := begin(ch, lengths)
	if err != nil {
		return nil, err
	}
	for _, l := range kind.base.Limits {
		i := slices.IndexFunc(spec.Limits, func(had inspect.Limit) bool { return limitField(had) == limitField(l) })
		wished := l.Characteristic == inspect.Action && ch.Action != instrument.AsItIs || l.Characteristic == inspect.Relief && ch.Hand != instrument.AsItIs
		switch {
		case i >= 0 && wished:
			spec.Limits[i] = l
		case i < 0 && wished:
			spec.Limits = append(spec.Limits, l)
		case i < 0 && len(spec.Strings) == len(kind.base.Strings):
			spec.Limits = append(spec.Limits, unbounded(l))
		}
	}
	e, err := propose(ch, spec, nil, lengths)
	if e != nil {
		e.first = "as last time"
	}
	return e, err
}

// unbounded is a limit without its bounds.
func unbounded(l inspect.Limit) inspect.Limit {
	return inspect.Limit{Characteristic: l.Characteristic, Track: l.Track, String: l.String, Fret: l.Fret, HeldFret: l.HeldFret}
}

// fewValues is how many values of one limit are told beside it.
const fewValues = 2

// valuesOf are the values that a result has for the limits of its specification, by the limits' fields.
func valuesOf(spec *inspect.Spec, r *inspect.Result, lengths unit.Unit) map[string]string {
	values := map[string]string{}
	for _, l := range spec.Limits {
		var said []string
		for i := range r.Characteristics {
			if ch := &r.Characteristics[i]; ch.Value != nil && of(l, ch) {
				words := written(spec, ch, lengths)
				if l.Track == "each" {
					words = ch.Track + " " + words
				}
				said = append(said, words)
			}
		}
		if len(said) > 0 && len(said) <= fewValues {
			values[limitField(l)] = strings.Join(said, ", ")
		}
	}
	return values
}

// of says whether a limit is of a value.
func of(l inspect.Limit, ch *inspect.Characteristic) bool {
	fits := func(at inspect.Index, n int) bool { return at == (inspect.Index{}) || at.Each || at.Number == n }
	return l.Characteristic == ch.Name && (l.Track == "" || l.Track == "each" || l.Track == ch.Track) && fits(l.String, ch.String) && fits(l.Fret, ch.Fret) && l.HeldFret == ch.HeldFret
}
