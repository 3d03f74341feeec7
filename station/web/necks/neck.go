package necks

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/draw"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// neckPage is one neck: the newest verdict, then every attempt, newest first.
type neckPage struct {
	Neck      batch.Neck
	Batch     batch.Batch
	Answer    verdictView
	Attempts  []attemptView // newest first
	Clearance *draw.ClearanceGrid
	MapOf     int // attempt that the clearance map is of
	Remedies  []inspect.Remedy
	Doubts    show.DoubtList
	Hold      *batch.OutgoingFinding // that holds it, nil for none
	Clear     *form.Form             // a person clears it of doubt
	Seal      string                 // of the doubts that it clears
	Life      bool                   // it is an instrument too
	MayKeep   bool                   // who looks may make it one
}

// verdictView is a verdict in one word, its shape and one sentence.
type verdictView struct {
	Has      bool
	Word     string
	Sentence string
	At       time.Time
	Attempt  int
}

// attemptView is one inspection.
type attemptView struct {
	batch.Inspection
	Verdict  *batch.Verdict // newest
	Earlier  []batch.Verdict
	Answer   verdictView
	Profile  template.HTML
	Rows     []characteristicRow // with a limit
	Free     []characteristicRow // without
	Folded   string
	Steps    []show.StepView // advice given
	Rework   []reworkRow
	Readings []readingRow
	Gone     int
}

func (s *server) neck(c *site.Request) error {
	serial := c.Param("serial")
	neck, err := s.opt.Record.Neck(c.Request.Context(), serial)
	if errors.Is(err, record.ErrUnknownSerial) {
		return s.unknownNeck(c, serial)
	}
	if err != nil {
		return err
	}
	f, err := s.clearForm(c)
	if err != nil {
		return err
	}
	return s.showNeck(c, http.StatusOK, neck, f)
}

// showNeck shows a neck with the form that clears it of doubt.
func (s *server) showNeck(c *site.Request, status int, neck batch.Neck, clearing *form.Form) error {
	p, err := s.readNeck(c.Request.Context(), neck, c.Unit())
	if err != nil {
		return err
	}
	p.Clear, p.MayKeep = clearing, c.Barred(batch.Keep) == ""
	switch _, err := s.opt.Record.Instrument(c.Request.Context(), neck.Serial); {
	case err == nil:
		p.Life = true
	case !errors.Is(err, record.ErrUnknown):
		return err
	}
	return c.Show(status, "neck", neck.Serial, p)
}

// readNeck gathers everything the record has of one neck.
func (s *server) readNeck(ctx context.Context, neck batch.Neck, lengths unit.Unit) (*neckPage, error) {
	rec := s.opt.Record
	b, err := rec.Batch(ctx, neck.BatchNumber)
	if err != nil {
		return nil, err
	}
	inspections, err := rec.Inspections(ctx, neck.ID)
	if err != nil {
		return nil, err
	}
	rework, err := rec.Rework(ctx, neck.ID)
	if err != nil {
		return nil, err
	}
	gauges, err := rec.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	p := &neckPage{Neck: neck, Batch: b}
	if p.Doubts, err = s.doubtsOf(ctx, neck, lengths); err != nil {
		return nil, err
	}
	p.Seal = sealOf(p.Doubts, stillIn(neck.ID, p.Doubts))
	if p.Hold, err = rec.HeldBy(ctx, neck.ID); err != nil {
		return nil, err
	}
	spec := b.Spec.Spec.WithDefaults()
	slices.SortFunc(inspections, func(a, b batch.Inspection) int { return a.Attempt - b.Attempt })
	for _, in := range inspections {
		a := attemptView{Inspection: in}
		readings, err := rec.Readings(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		verdicts, err := rec.Verdicts(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		slices.SortStableFunc(verdicts, func(a, b batch.Verdict) int { return a.At.Compare(b.At) })
		a.Earlier = verdicts
		if n := len(verdicts); n > 0 && in.Counts(verdicts[n-1].Disposition) {
			a.Verdict, a.Earlier = &verdicts[n-1], verdicts[:n-1]
		}
		a.Readings, a.Gone = readingRows(readings, gauges, lengths)
		a.Answer = verdictOf(spec, a.Verdict, in, lengths)
		if a.Verdict != nil && a.Verdict.Result != nil {
			res := a.Verdict.Result
			a.Profile = draw.Profile(spec, batch.Assemble(spec, in, readings, nil), res, lengths)
			a.Rows, a.Free, a.Folded = characteristicRows(spec, res, lengths)
			if len(readings) == 0 { // taken in from elsewhere: there is nothing to compute again
				unexplained(a.Rows)
				unexplained(a.Free)
			}
			for _, step := range res.Advice {
				a.Steps = append(a.Steps, show.StepOf(spec, step, lengths))
			}
		}
		p.Attempts = append(p.Attempts, a)
	}
	for i := range p.Attempts {
		p.Attempts[i].Rework = reworkRows(rework, p.Attempts, i, lengths)
	}
	slices.Reverse(p.Attempts)
	p.newest(spec, lengths)
	return p, nil
}

// doubtsOf lists what a neck is or was in doubt for.
func (s *server) doubtsOf(ctx context.Context, neck batch.Neck, lengths unit.Unit) (show.DoubtList, error) {
	return show.DoubtsOf(ctx, s.opt.Record, batch.DoubtFilter{NeckID: neck.ID}, "batch="+url.QueryEscape(neck.BatchNumber), lengths, s.opt.Now())
}

// newest takes the answer, the clearance map and the remedies from the newest attempt that has them.
func (p *neckPage) newest(spec *inspect.Spec, lengths unit.Unit) {
	for _, a := range p.Attempts {
		if a.Verdict == nil || a.Verdict.Result == nil {
			continue
		}
		if !p.Answer.Has {
			p.Answer, p.Remedies = a.Answer, inspect.Remedies(spec, a.Verdict.Result)
		}
		if p.Clearance == nil {
			p.Clearance, p.MapOf = draw.ClearanceMap(spec, a.Verdict.Result.Clearance, lengths), a.Attempt
		}
	}
}

// verdictOf puts a verdict in a word and a sentence.
func verdictOf(spec *inspect.Spec, v *batch.Verdict, in batch.Inspection, lengths unit.Unit) verdictView {
	if v == nil || v.Result == nil {
		return verdictView{Attempt: in.Attempt}
	}
	view := verdictView{Has: true, Word: string(v.Disposition), At: v.At, Attempt: in.Attempt, Sentence: show.WhyWords(spec, v.Result, lengths, time.Time{})}
	if v.DecidedBy != "" {
		view.Sentence = fmt.Sprintf("Decided by %s: %s", v.DecidedBy, v.Reason)
		if !strings.HasSuffix(view.Sentence, ".") {
			view.Sentence += "."
		}
	}
	return view
}

// reworkRow is something done after an attempt, with what was predicted and what came of it.
type reworkRow struct {
	batch.ReworkAction
	Did       string
	Before    string
	Predicted string
	Achieved  string // mean relief at the next attempt; of turns between two verdicts with the last
	Off       string // achieved minus predicted
}

// reworkRows lists what was done after attempt i; what came of it is the next attempt's mean relief.
func reworkRows(all []batch.ReworkAction, attempts []attemptView, i int, lengths unit.Unit) []reworkRow {
	var rows []reworkRow
	for _, a := range all {
		if a.InspectionID != attempts[i].ID {
			continue
		}
		row := reworkRow{ReworkAction: a, Did: tell.ReworkStep(a, lengths)}
		if a.ReliefBefore != nil {
			row.Before = show.Number(*a.ReliefBefore, lengths)
		}
		if a.PredictedMM != nil {
			row.Predicted = show.Number(*a.PredictedMM, lengths)
		}
		if i+1 < len(attempts) && attempts[i+1].Verdict != nil && a.ReliefBefore != nil && batch.LastTurn(&a, all) {
			if after, _ := inspect.MeanRelief(attempts[i+1].Verdict.Result); after != nil {
				row.Achieved = show.Number(*after, lengths)
				if a.PredictedMM != nil {
					row.Off = show.Signed(*after-*a.PredictedMM, lengths)
				}
			}
		}
		rows = append(rows, row)
	}
	return rows
}
