package necks

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// storyPage is everything that happened to one serial number, in the order of time.
type storyPage struct {
	Serial   string
	Batch    batch.Batch
	Sentence string
	Entries  []storyEntry
}

// storyEntry is one thing that happened.
type storyEntry struct {
	At    time.Time
	State string // whose shape stands beside it, "" for none
	Words string // sentence
	More  []string
}

// Moment writes when it happened, always with its date: a story is read years later.
func (e storyEntry) Moment() string { return e.At.Local().Format("2006-01-02 15:04") }

func (s *server) story(c *site.Request) error {
	return s.withStory(c, func(p storyPage) error { return c.Show(http.StatusOK, "story", "Story of "+p.Serial, p) })
}

// storyFile sends the story as plain text.
func (s *server) storyFile(c *site.Request) error {
	return s.withStory(c, func(p storyPage) error {
		var out strings.Builder
		fmt.Fprintf(&out, "%s, batch %s, %s, revision %s\n%s\n\n", p.Serial, p.Batch.Number, p.Batch.Spec.Name, p.Batch.Spec.Revision, p.Sentence)
		for _, e := range p.Entries {
			fmt.Fprintf(&out, "%s  %s\n", e.Moment(), e.Words)
			for _, more := range e.More {
				fmt.Fprintf(&out, "%18s%s\n", "", more)
			}
		}
		fmt.Fprintf(&out, "\nWritten %s.\n", s.opt.Now().Local().Format("2006-01-02 15:04"))
		c.Attachment(p.Serial + " story.txt")
		c.Data(http.StatusOK, "text/plain; charset=utf-8", []byte(out.String()))
		return nil
	})
}

// withStory shows the story of the serial number in the address, or the nearest where nothing is known of it.
func (s *server) withStory(c *site.Request, show func(storyPage) error) error {
	serial := c.Param("serial")
	p, err := s.readStory(c.Request.Context(), serial, c.Unit())
	switch {
	case errors.Is(err, record.ErrUnknownSerial):
		return s.unknownNeck(c, serial)
	case err != nil:
		return err
	}
	return show(p)
}

// teller gathers a story.
type teller struct {
	*server
	ctx     context.Context
	unit    unit.Unit
	spec    *inspect.Spec
	gauges  map[string]batch.Gauge
	checks  map[string][]batch.GaugeCheck  // by gauge, read when first asked for
	certs   map[string][]batch.Certificate // likewise, newest first
	entries []storyEntry
}

func (t *teller) add(at time.Time, state, format string, args ...any) *storyEntry {
	t.entries = append(t.entries, storyEntry{At: at, State: state, Words: fmt.Sprintf(format, args...)})
	return &t.entries[len(t.entries)-1]
}

// readStory gathers everything that the record has of a serial number.
func (s *server) readStory(ctx context.Context, serial string, lengths unit.Unit) (storyPage, error) {
	rec := s.opt.Record
	story, err := rec.NeckStory(ctx, serial)
	if err != nil {
		return storyPage{}, err
	}
	b, err := rec.Batch(ctx, story.BatchNumber)
	if err != nil {
		return storyPage{}, err
	}
	t := &teller{server: s, ctx: ctx, unit: lengths, spec: b.Spec.Spec.WithDefaults(), gauges: map[string]batch.Gauge{},
		checks: map[string][]batch.GaugeCheck{}, certs: map[string][]batch.Certificate{}}
	gauges, err := rec.Gauges(ctx)
	if err != nil {
		return storyPage{}, err
	}
	for _, g := range gauges {
		t.gauges[g.ID] = g
	}
	t.add(story.RegisteredAt, "", "Registered in batch %s, to be judged by %s, revision %s.", b.Number, b.Spec.Name, b.Spec.Revision)
	if i := story.Import; i != nil {
		what := show.Pick(i.Origin == batch.Invented, "Invented for a demonstration", "Taken in from elsewhere")
		t.add(i.At, "", "%s by %s with %s (%s): what is told of it up to then was not measured at this station and has no readings.%s", what, i.By, tell.Counted(i.Necks, "neck", "necks"), i.Source, strings.TrimRight(" "+tell.ImportChecks(i.Checks), " "))
	}
	for _, in := range story.Inspections {
		if err := t.attempt(in.Inspection, story.Import != nil); err != nil {
			return storyPage{}, err
		}
	}
	for _, a := range story.Rework {
		t.rework(a)
	}
	doubts, err := rec.Doubts(ctx, batch.DoubtFilter{NeckID: story.ID})
	if err != nil {
		return storyPage{}, err
	}
	t.doubts(doubts)
	alarms, err := rec.BatchAlarms(ctx, b.ID)
	if err != nil {
		return storyPage{}, err
	}
	t.alarms(alarms, story.Serial)
	drawn, err := rec.DrawnIn(ctx, story.ID)
	if err != nil {
		return storyPage{}, err
	}
	t.outgoing(drawn)
	hold, err := t.opt.Record.HeldBy(t.ctx, story.ID)
	if err != nil {
		return storyPage{}, err
	}
	if err := t.signatures(story.Serial, b.Number, drawn); err != nil {
		return storyPage{}, err
	}
	if !b.ClosedAt.IsZero() {
		t.add(b.ClosedAt, "", "Batch %s was closed.", b.Number)
	}
	slices.SortStableFunc(t.entries, func(a, b storyEntry) int { return a.At.Compare(b.At) })
	return storyPage{Serial: story.Serial, Batch: b, Sentence: tell.Story(story, doubts, hold), Entries: t.entries}, nil
}

// attempt tells one inspection: who, where, with what, and every verdict.
func (t *teller) attempt(in batch.Inspection, taken bool) error {
	t.add(in.StartedAt, "", "%s", tell.AttemptBegan(in))
	readings, err := t.opt.Record.Readings(t.ctx, in.ID)
	if err != nil {
		return err
	}
	switch {
	case len(readings) > 0:
		if err := t.measured(readings); err != nil {
			return err
		}
	case !taken:
		t.add(in.StartedAt, "", "Nothing was measured in attempt %d.", in.Attempt)
	}
	verdicts, err := t.opt.Record.Verdicts(t.ctx, in.ID)
	if err != nil {
		return err
	}
	for _, v := range verdicts {
		why := ""
		if v.Result != nil {
			why = show.WhyWords(t.spec, v.Result, t.unit, time.Time{})
		}
		if v.DecidedBy != "" {
			t.add(v.At, string(v.Disposition), "%s decided: %s. Reason: %s.", v.DecidedBy, v.Disposition, strings.TrimSuffix(v.Reason, ".")).More = nonEmpty(why)
			continue
		}
		t.add(v.At, string(v.Disposition), "%s", strings.TrimSpace(fmt.Sprintf("Verdict of attempt %d: %s. %s", in.Attempt, v.Disposition, why)))
	}
	if in.State == batch.Abandoned || in.State == batch.Parked {
		t.add(in.StateAt, "", "%s", tell.AttemptLeft(in))
	}
	return nil
}

// nonEmpty is a list of one text, or none.
func nonEmpty(text string) []string {
	if text == "" {
		return nil
	}
	return []string{text}
}

// severalTook says whether more than one person took an inspection's readings.
func severalTook(readings []batch.Reading) bool {
	return slices.ContainsFunc(readings, func(r batch.Reading) bool { return !r.Withdrawn && r.By != readings[0].By })
}

// measured tells which gauges gave an inspection's readings, with the check and the certificate that stood behind them, and where several people took
// them, whose each is.
func (t *teller) measured(readings []batch.Reading) error {
	type source struct{ gauge, check, by string }
	several := severalTook(readings)
	var order []source
	first := map[source]time.Time{}
	points := map[source][]batch.Point{}
	replaced := 0
	for _, r := range readings {
		if r.Supersedes != "" {
			replaced++
		}
		if r.Withdrawn {
			continue
		}
		if r.Point.Kind == batch.PitchDeclared {
			t.add(r.At, "", "%s declared that every string was at pitch.", r.By)
			continue
		}
		k := source{gauge: r.GaugeID, check: r.CheckID}
		if several {
			k.by = r.By
		}
		if _, seen := first[k]; !seen {
			order, first[k] = append(order, k), r.At
		}
		points[k] = append(points[k], r.Point)
	}
	for _, k := range order {
		by := ""
		if k.by != "" {
			by = " by " + k.by
		}
		if k.gauge == "" {
			if by == "" {
				by = " by hand"
			} else {
				by += ", by hand"
			}
			t.add(first[k], "", "Entered%s (%s).", by, tell.Taken(points[k]))
			continue
		}
		name := cmp.Or(t.gauges[k.gauge].Name, "gauge "+k.gauge)
		e := t.add(first[k], "", "Measured%s with the %s (%s).", by, name, tell.Taken(points[k]))
		more, err := t.trust(k.gauge, k.check, first[k])
		if err != nil {
			return err
		}
		e.More = more
	}
	if replaced > 0 {
		t.entries[len(t.entries)-1].More = append(t.entries[len(t.entries)-1].More, fmt.Sprintf("%s in this attempt replaced or taken back; the neck's page lists them.", tell.Counted(replaced, "reading was", "readings were")))
	}
	return nil
}

// trust says what stood behind a gauge's readings: the check in force and the calibration certificate of that day.
func (t *teller) trust(gaugeID, checkID string, at time.Time) ([]string, error) {
	if _, known := t.checks[gaugeID]; !known {
		checks, err := t.opt.Record.GaugeChecks(t.ctx, gaugeID)
		if err != nil {
			return nil, err
		}
		certs, err := t.opt.Record.Certificates(t.ctx, gaugeID)
		if err != nil {
			return nil, err
		}
		slices.SortStableFunc(certs, func(a, b batch.Certificate) int { return b.Issued.Compare(a.Issued) })
		t.checks[gaugeID], t.certs[gaugeID] = checks, certs
	}
	words := []string{"No check of the gauge was in force."}
	for _, c := range t.checks[gaugeID] {
		if c.ID == checkID {
			words[0] = tell.CheckInForce(c)
		}
	}
	for _, c := range t.certs[gaugeID] {
		if !c.Issued.After(at) {
			return append(words, tell.CertificateThen(c)), nil
		}
	}
	return append(words, tell.CertificateNow(t.gauges[gaugeID])), nil
}

// rework tells what was done to the neck.
func (t *teller) rework(a batch.ReworkAction) {
	e := t.add(a.At, "", "%s", tell.ReworkDone(a, t.unit))
	if a.Note != "" {
		e.More = []string{"Note: " + strings.TrimSuffix(a.Note, ".") + "."}
	}
}

// doubts tells when the neck came in doubt and what ended it.
func (t *teller) doubts(all []batch.Doubt) {
	for _, d := range all {
		e := t.add(d.Cause.At, "in doubt", "In doubt: attempt %d rests on what may be wrong%s.", d.Attempt, show.Pick(len(d.Points) == 0, "", " ("+tell.Taken(d.Points)+")"))
		e.More = []string{tell.DoubtCause(d)}
		if ends := tell.DoubtEnds(d); ends != "" {
			t.add(d.ClearedAt, "", "%s", ends)
		}
	}
}

// alarms tells the alarms that were raised at this neck.
func (t *teller) alarms(all []batch.Alarm, serial string) {
	for _, a := range all {
		if a.Serial != serial {
			continue
		}
		t.add(a.At, "undecided", "An alarm was raised at this neck: %s", a.Words).More = nonEmpty(a.LookAt)
		if !a.AcknowledgedAt.IsZero() {
			t.add(a.AcknowledgedAt, "", "%s acknowledged the alarm%s.", a.AcknowledgedBy, show.Pick(a.Note == "", "", ": "+strings.TrimSuffix(a.Note, ".")))
		}
	}
}

// signatures tells what was signed about the neck, and about the audits that it was drawn in.
func (t *teller) signatures(serial, number string, drawn []batch.DrawnIn) error {
	all, err := t.opt.Record.Signatures(t.ctx, serial)
	if err != nil {
		return err
	}
	ofBatch, err := t.opt.Record.Signatures(t.ctx, number)
	if err != nil {
		return err
	}
	for _, g := range ofBatch {
		if slices.ContainsFunc(drawn, func(d batch.DrawnIn) bool { return d.Sealed(g) }) {
			all = append(all, g)
		}
	}
	for _, g := range all {
		t.add(g.At, "", "%s", tell.Signed(g, time.Local))
	}
	return nil
}

// outgoing tells the audits that the neck was drawn in.
func (t *teller) outgoing(all []batch.DrawnIn) {
	for _, d := range all {
		t.add(d.At, "", "%s", tell.Drawn(d))
		if f := d.Finding; f != nil {
			t.add(f.At, show.Pick(f.Conforms, "pass", "rework"), "%s", tell.FoundInAudit(*f))
		}
		if d.State != batch.OutgoingOpen {
			t.add(d.EndedAt, "", "%s", tell.AuditEnded(d.OutgoingAudit))
		}
	}
}
