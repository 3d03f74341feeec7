package batches

import (
	"net/http"
	"net/url"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// batchHead stands at the top of every layer: the batch's sentence and the ways to the other layers.
type batchHead struct {
	Batch     batch.Batch
	Counts    batch.Counts
	Sentence  string
	Layer     show.Layer
	Layers    []show.Layer
	HasDoubts bool             // an inspection of it is or was in doubt
	Doubts    show.DoubtList   // on the layer of what is in doubt, and of what stands on the first where it is not more than mostTold
	Switch    show.DoubtSwitch // of the numbers over first measurements
	Firsts    batch.Counts     // as Counts, but that Inspected, FirstPass, Passed and Reasons leave out what is in doubt where the switch says so
}

// scope picks the batch's first measurements.
func (h *batchHead) scope() batch.Scope {
	return batch.Scope{BatchID: h.Batch.ID, WithoutDoubt: h.Switch.Without}
}

// counted are the layers whose numbers are of first measurements.
var counted = []string{"", "reasons", "characteristics", "charts"}

// countFirsts counts the first inspections, those in doubt among them or not.
func (s *server) countFirsts(c *site.Request, h *batchHead) error {
	ctx := c.Request.Context()
	f, err := batch.FirstsOf(ctx, s.opt.Record, h.Batch.ID)
	if err != nil {
		return err
	}
	h.Switch = show.SwitchOf(c.Request.URL, f.All.InDoubt, f.All.Inspected, c.WithoutDoubt())
	if !h.Switch.Without {
		return nil
	}
	h.Firsts.Inspected, h.Firsts.FirstPass, h.Firsts.Passed, h.Firsts.Reasons = f.Sound.Inspected, f.Sound.FirstPass, f.Sound.FinalPass, nil
	reasons, err := s.opt.Record.Breakdown(ctx, h.scope(), batch.ByReason)
	for _, r := range reasons {
		h.Firsts.Reasons = append(h.Firsts.Reasons, batch.Reason{Name: r.Value, Necks: r.Inspected})
	}
	return err
}

// mostTold is of how many necks in doubt the first layer says what it means for them; of more their number.
const mostTold = 100

// headOf reads what stands at the top of the layer of a key.
func (s *server) headOf(c *site.Request, key string) (h batchHead, err error) {
	ctx := c.Request.Context()
	if h.Batch, err = s.opt.Record.Batch(ctx, c.Param("number")); err != nil {
		return h, err
	}
	if h.Counts, err = s.opt.Record.Counts(ctx, h.Batch.ID); err != nil {
		return h, err
	}
	if h.HasDoubts, err = s.opt.Record.HasDoubts(ctx, h.Batch.ID); err != nil {
		return h, err
	}
	if key == show.InDoubt.Key || key == "" && h.HasDoubts && h.Counts.InDoubt <= mostTold {
		f := batch.DoubtFilter{BatchID: h.Batch.ID, Standing: key == ""}
		if h.Doubts, err = show.DoubtsOf(ctx, s.opt.Record, f, "batch="+url.QueryEscape(h.Batch.Number), c.Unit(), s.opt.Now()); err != nil {
			return h, err
		}
	}
	h.Firsts = h.Counts
	if slices.Contains(counted, key) {
		if err := s.countFirsts(c, &h); err != nil {
			return h, err
		}
	}
	h.Sentence, h.Layers = tell.Batch(h.Counts), show.BatchLayers(h.HasDoubts || key == show.InDoubt.Key)
	h.Layer = h.Layers[slices.IndexFunc(h.Layers, func(l show.Layer) bool { return l.Key == key })]
	return h, nil
}

// title is the page's title.
func (h batchHead) title() string {
	if h.Layer.Key == "" {
		return "Batch " + h.Batch.Number
	}
	return "Batch " + h.Batch.Number + ": " + h.Layer.Title
}

// layerAsked is the layer that the parts of an address belong to where they stand behind the batch's own, "" for none.
func layerAsked(q url.Values) string {
	has := func(keys ...string) bool { return slices.ContainsFunc(keys, q.Has) }
	switch {
	case has("lower", "upper"):
		return "limits"
	case has("of", "kind", "test"):
		return "charts"
	case has("q", "disposition", "doubt", "held", "page"), slices.ContainsFunc(site.PickedBy, func(d batch.Dimension) bool { return q.Has(string(d)) }):
		return "necks"
	}
	return ""
}

// necksPage is the batch's necks, with the form for more.
type necksPage struct {
	batchHead
	Necks neckTable
	Add   *form.Form
}

func (s *server) necksPage(c *site.Request) error { return s.showNecks(c, http.StatusOK, nil) }

func (s *server) showNecks(c *site.Request, status int, add *form.Form) (err error) {
	p := necksPage{Add: add}
	if p.batchHead, err = s.headOf(c, "necks"); err != nil {
		return err
	}
	if p.Add == nil {
		if p.Add, err = s.addForm(c); err != nil {
			return err
		}
	}
	if p.Necks, err = s.pageOfNecks(c, p.Batch); err != nil {
		return err
	}
	return c.Show(status, "batchnecks", p.title(), p)
}

// doubtPage is the batch's necks that are or were in doubt.
func (s *server) doubtPage(c *site.Request) error {
	h, err := s.headOf(c, show.InDoubt.Key)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "batchdoubt", h.title(), h)
}

// peoplePage is the first-pass yield by who, where and when.
type peoplePage struct {
	batchHead
	Breakdowns show.Breakdowns
}

func (s *server) peoplePage(c *site.Request) (err error) {
	var p peoplePage
	if p.batchHead, err = s.headOf(c, "people"); err != nil {
		return err
	}
	p.Breakdowns, err = show.BreakdownsOf(c.Request.Context(), s.opt.Record, p.scope(), func(d batch.Dimension, value string) string { return site.NecksPath(p.Batch.Number, d, value) })
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "batchpeople", p.title(), p)
}
