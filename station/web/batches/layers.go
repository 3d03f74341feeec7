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

// layer is a part of what is known of a batch, at an address of its own behind the batch's.
type layer struct {
	Key    string // last part of its address, "" for the answer itself
	Anchor string // the name of its section
	Title  string
	Words  string // what is found there
}

// layers are in the order of every navigation; inDoubt comes after them where there is a doubt.
var layers = []layer{
	{"", "", "The answer", ""},
	{"necks", "necks", "Necks", "each with its relief, its disposition and what failed first; more are registered there"},
	{"reasons", "failing", "Reasons", "what failed at the first inspections, and how close the others were"},
	{"characteristics", "capability", "Characteristics", "every limited characteristic with its mean, spread and capability"},
	{"charts", "chart", "Charts", "one characteristic neck by neck: is it steady, and how it lies between its limits"},
	{"limits", "what-if", "What if", "how the batch would have gone with other limits"},
	{"people", "where", "Who, where, when", "first-pass yield by inspector, station, gauge, hour, weekday and humidity"},
	{"rework", "rework", "Rework", "how often necks came back, and what turning the rod did"},
}

var inDoubt = layer{"doubt", "doubt", "In doubt", "necks that rest on a gauge whose check failed"}

// batchHead stands at the top of every layer: the batch's sentence and the ways to the other layers.
type batchHead struct {
	Batch    batch.Batch
	Counts   batch.Counts
	Sentence string
	Layer    layer
	Layers   []layer
	Doubts   show.DoubtList
}

// headOf reads what stands at the top of the layer of a key.
func (s *server) headOf(c *site.Request, key string) (h batchHead, err error) {
	ctx := c.Request.Context()
	if h.Batch, err = s.opt.Record.Batch(ctx, c.Param("number")); err != nil {
		return h, err
	}
	if h.Counts, err = s.opt.Record.Counts(ctx, h.Batch.ID); err != nil {
		return h, err
	}
	h.Doubts, err = show.DoubtsOf(ctx, s.opt.Record, batch.DoubtFilter{BatchID: h.Batch.ID}, "batch="+url.QueryEscape(h.Batch.Number), c.Unit(), s.opt.Now())
	if err != nil {
		return h, err
	}
	h.Sentence, h.Layers = tell.Batch(h.Counts), layers
	if len(h.Doubts.Lines) > 0 || key == inDoubt.Key {
		h.Layers = append(slices.Clone(layers), inDoubt)
	}
	h.Layer = h.Layers[slices.IndexFunc(h.Layers, func(l layer) bool { return l.Key == key })]
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
	h, err := s.headOf(c, inDoubt.Key)
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
	p.Breakdowns, err = show.BreakdownsOf(c.Request.Context(), s.opt.Record, batch.Scope{BatchID: p.Batch.ID}, func(d batch.Dimension, value string) string { return site.NecksPath(p.Batch.Number, d, value) })
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "batchpeople", p.title(), p)
}
