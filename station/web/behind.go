package web

import (
	"fmt"
	"net/http"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
)

// behindPage lists the batches behind a number of the trend, each leading to the necks.
type behindPage struct {
	Sentence string
	Back     string // the trend that it came from
	Rows     []behindRow
	Sum      yield
	SumFinal yield
	Passes   bool // a yield means something: what is counted is not itself a failing
}

// behindRow is one batch.
type behindRow struct {
	Number, SpecName, Revision string
	Link                       string
	First, Final               yield
}

// behindPath is the page of the batches behind one value of a dimension, with the characteristic that is looked at.
func behindPath(s batch.Scope, d batch.Dimension, value, of string) string {
	v := scopeQuery(s)
	if d != batch.ByAll {
		v.Set("by", string(d))
		v.Set("value", value)
	}
	if of != "" {
		v.Set("of", of)
	}
	return "/trend/batches?" + v.Encode()
}

// behindWords says which necks of a dimension are meant, to follow "first inspected".
func behindWords(d batch.Dimension, value, words string) (string, bool) {
	if value == "" && d != batch.ByAll {
		switch d {
		case batch.ByGauge:
			return "with no gauge on record", true
		case batch.ByHumidity:
			return "with no humidity noted", true
		}
	}
	switch d {
	case batch.ByAll:
		return "", true
	case batch.ByInspector:
		return "by " + words, true
	case batch.ByStation:
		return "at station " + words, true
	case batch.ByGauge:
		return "with the " + words, true
	case batch.ByHour:
		return "from " + words, true
	case batch.ByWeekday:
		return "on a " + words, true
	case batch.ByHumidity:
		return "at a humidity of " + words, true
	case batch.ByReason:
		return "and failing first by " + words, true
	case batch.ByFailing:
		return "and failing by " + words, true
	case batch.ByNear:
		return "with a verdict near a limit", true
	}
	return "", false
}

func (s *server) behind(c *gin.Context) {
	scope, by, value := scopeOf(c), batch.Dimension(c.Query("by")), c.Query("value")
	names, err := s.gaugeNames(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	words := dimensionWords(by, value, names)
	which, known := behindWords(by, value, words)
	if !known {
		s.refuse(c, http.StatusNotFound, fmt.Sprintf("Necks are not counted by %q.", by))
		return
	}
	rows, err := s.opt.Record.Behind(c.Request.Context(), scope, by, value)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := behindPage{Back: trendPath(scope, c.Query("of")), Passes: by != batch.ByReason}
	inspected, first, final := 0, 0, 0
	for _, r := range rows {
		inspected, first, final = inspected+r.Inspected, first+r.FirstPass, final+r.FinalPass
		p.Rows = append(p.Rows, behindRow{Number: r.Number, SpecName: r.SpecName, Revision: r.Revision, Link: behindLink(r.Number, by, value, c.Query("of")),
			First: yieldOf("First pass", "", r.FirstPass, r.Inspected), Final: yieldOf("Final", "", r.FinalPass, r.Inspected)})
	}
	p.Sum, p.SumFinal = yieldOf("First pass", "", first, inspected), yieldOf("Final", "", final, inspected)
	words = "first inspected"
	for _, part := range []string{monthsWords(scope.From, scope.To), which} {
		if part != "" {
			words += " " + part
		}
	}
	if scope.SpecName != "" {
		words = "of " + scopeWords(scope) + ", " + words
	}
	switch {
	case inspected == 0:
		p.Sentence = fmt.Sprintf("There is no neck %s.", words)
	case p.Passes:
		p.Sentence = fmt.Sprintf("%s in %s, %s: %.1f %% passed at once.", counted(inspected, "neck", "necks"), counted(len(rows), "batch", "batches"), words, p.Sum.Rate)
	default:
		p.Sentence = fmt.Sprintf("%s in %s, %s.", counted(inspected, "neck", "necks"), counted(len(rows), "batch", "batches"), words)
	}
	s.render(c, http.StatusOK, "behind", "Batches behind the trend", p)
}

// behindLink leads to a batch's necks of that value, or to its chart of the characteristic.
func behindLink(number string, d batch.Dimension, value, of string) string {
	if link := necksLink(number, d, value); link != "" {
		return link
	}
	switch {
	case of != "":
		return chartPath(number, of)
	case d == batch.ByAll:
		return batchPath(number) + "#necks"
	}
	return batchPath(number)
}
