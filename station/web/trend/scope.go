package trend

import (
	"sagitta/batch"
	"sagitta/station/web/site"
)

// inScope says whether a row of the trend belongs to a scope.
func inScope(s batch.Scope, r batch.TrendRow) bool {
	return (s.SpecName == "" || r.SpecName == s.SpecName) && (s.Revision == "" || r.Revision == s.Revision) &&
		(s.From == 0 || r.Month >= s.From) && (s.To == 0 || r.Month <= s.To)
}

// scopeWords names what a scope picks: "all models", "QM Bolt 648, revision B".
func scopeWords(s batch.Scope) string {
	switch {
	case s.SpecName == "":
		return "all models"
	case s.Revision == "":
		return s.SpecName
	}
	return s.SpecName + ", revision " + s.Revision
}

// scopeOf reads it.
func scopeOf(c *site.Request) batch.Scope {
	s := batch.Scope{SpecName: c.Query("model"), Revision: c.Query("revision"), From: parseMonth(c.Query("from")), To: parseMonth(c.Query("to")), WithoutDoubt: c.WithoutDoubt()}
	if s.SpecName == "" {
		s.Revision = ""
	}
	return s
}

// scopeFields are the names and values of a scope for a form's hidden fields.
func scopeFields(s batch.Scope) map[string]string {
	fields := map[string]string{}
	for key, values := range site.ScopeQuery(s) {
		fields[key] = values[0]
	}
	return fields
}

// monthScope is a scope cut down to one month.
func monthScope(s batch.Scope, m batch.Month) batch.Scope {
	s.From, s.To = m, m
	return s
}
