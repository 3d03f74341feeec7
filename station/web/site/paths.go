package site

import (
	"net/url"
	"slices"

	"sagitta/batch"
)

// AlarmPath is the page that an alarm asks to look at.
func AlarmPath(a batch.Alarm) string {
	switch {
	case a.GaugeID != "":
		return "/gauges/" + url.PathEscape(a.GaugeID)
	case a.About != "":
		return ChartPath(a.BatchNumber, a.About)
	}
	return BatchPath(a.BatchNumber)
}

// BatchPath is a batch's page.
func BatchPath(number string) string { return "/batches/" + url.PathEscape(number) }

// ChartPath is the page that looks at one characteristic of a batch, by its key.
func ChartPath(number, key string) string {
	return BatchPath(number) + "/charts?" + url.Values{"of": {key}}.Encode()
}

// BehindPath is the page of the batches behind one value of a dimension, with the characteristic that is looked at.
func BehindPath(s batch.Scope, d batch.Dimension, value, of string) string {
	v := ScopeQuery(s)
	if d != batch.ByAll {
		v.Set("by", string(d))
		v.Set("value", value)
	}
	if of != "" {
		v.Set("of", of)
	}
	return "/trend/batches?" + v.Encode()
}

// NecksPath is the page that lists a batch's necks of one value of a dimension, "" where it lists none.
func NecksPath(number string, d batch.Dimension, value string) string {
	if !PickedFor(d, value) {
		return ""
	}
	return BatchPath(number) + "/necks?" + url.Values{string(d): {value}}.Encode()
}

// MonthText is a month in an address: "2026-10", "" for no month.
func MonthText(m batch.Month) string {
	if m == 0 {
		return ""
	}
	return m.Start().Format("2006-01")
}

// NeckPath is a neck's page.
func NeckPath(serial string) string { return "/necks/" + url.PathEscape(serial) }

// PickedBy are the dimensions of the first inspection that pick necks; the parts of the address are named for them.
var PickedBy = []batch.Dimension{batch.ByInspector, batch.ByStation, batch.ByGauge, batch.ByHour, batch.ByWeekday, batch.ByHumidity, batch.ByNear, batch.ByReason, batch.ByFailing}

// PickedFor tells whether necks are picked by a value of a dimension: one that is not noted is a gauge's or the humidity's.
func PickedFor(d batch.Dimension, value string) bool {
	return slices.Contains(PickedBy, d) && (value != "" || d == batch.ByGauge || d == batch.ByHumidity)
}

// AuditPath is an audit's page.
func AuditPath(a batch.OutgoingAudit) string { return "/audits/" + url.PathEscape(a.ID) }

// InstrumentPath is an instrument's page.
func InstrumentPath(serial string) string { return "/instruments/" + url.PathEscape(serial) }

// ScopeQuery is the part of an address that picks a scope.
func ScopeQuery(s batch.Scope) url.Values {
	v := url.Values{}
	set := func(key, value string) {
		if value != "" {
			v.Set(key, value)
		}
	}
	set("model", s.SpecName)
	set("revision", s.Revision)
	set("from", MonthText(s.From))
	set("to", MonthText(s.To))
	if s.WithoutDoubt {
		v.Set("without", "doubt")
	}
	return v
}

// TrendPath is the trend of a scope; with a characteristic, the layer that looks at it.
func TrendPath(s batch.Scope, of string) string {
	v := ScopeQuery(s)
	if of == "" {
		return "/trend?" + v.Encode()
	}
	v.Set("of", of)
	return "/trend/characteristics?" + v.Encode()
}
