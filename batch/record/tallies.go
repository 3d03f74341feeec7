package record

import (
	"fmt"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
)

// tallies are changes of the sums over neck_first, gathered before they are written.
type tallies struct {
	firsts map[firstKey]*[3]int // inspected, passed, final
	values map[valueKey]*valueSums
	uses   map[string][]batch.GaugeUse // by their text
	refs   map[valueKey]float64        // about which sums are kept already; nil where they are gathered for themselves
}

type firstKey struct {
	batch     int64
	month     batch.Month
	dimension batch.Dimension
	value     string
}

type valueKey struct {
	batch int64
	month batch.Month
	gauge string
	batch.Named
}

// valueSums are the sums of one row of characteristic_tally.
type valueSums struct {
	n                                          int
	ref, s1, s2                                float64
	nonconforming, undecided, unmeasured, near int
	met                                        bool // a value is the ref that was given
}

func newTallies() *tallies {
	return &tallies{firsts: map[firstKey]*[3]int{}, values: map[valueKey]*valueSums{}, uses: map[string][]batch.GaugeUse{}}
}

// humidityBand is the width of a band, % RH.
const humidityBand = 10

// band is the lower end of the band that a relative humidity lies in.
func band(f *first) string {
	if !f.humidity.Valid {
		return ""
	}
	return strconv.Itoa(int(f.humidity.Float64) / humidityBand * humidityBand)
}

// add takes a first inspection in, sign 1, or out again, sign -1.
func (s *tallies) add(f *first, all []inspect.Characteristic, sign int) error {
	uses, known := s.uses[f.gauges]
	if !known {
		var err error
		if uses, err = parseUses(f.gauges); err != nil {
			return err
		}
		s.uses[f.gauges] = uses
	}
	f.counted(uses, func(d batch.Dimension, value string) {
		k := firstKey{f.batch, f.month, d, value}
		n := s.firsts[k]
		if n == nil {
			n = new([3]int)
			s.firsts[k] = n
		}
		n[0] += sign
		if f.passed {
			n[1] += sign
		}
		if f.final {
			n[2] += sign
		}
	})
	for i := range all {
		if c := &all[i]; c.Zone != inspect.NoLimit {
			s.value(valueKey{f.batch, f.month, batch.GaugeOf(c.Name, uses), batch.NameOf(*c)}, c, sign)
		}
	}
	return nil
}

// counted says under which values of which dimensions a first inspection counts.
func (f *first) counted(uses []batch.GaugeUse, count func(d batch.Dimension, value string)) {
	count(batch.ByAll, "")
	count(batch.ByInspector, f.inspector)
	count(batch.ByStation, f.station)
	count(batch.ByHour, fmt.Sprintf("%02d", f.hour))
	count(batch.ByWeekday, strconv.Itoa(f.weekday))
	count(batch.ByHumidity, band(f))
	if f.near {
		count(batch.ByNear, "near")
	}
	if f.reason != "" {
		count(batch.ByReason, f.reason)
	}
	for name := range strings.FieldsSeq(f.failing) {
		count(batch.ByFailing, name)
	}
	seen := ""
	for _, u := range uses {
		if !strings.Contains(seen, "\n"+u.GaugeID+"\n") {
			seen += "\n" + u.GaugeID + "\n"
			count(batch.ByGauge, u.GaugeID)
		}
	}
	if len(uses) == 0 {
		count(batch.ByGauge, "")
	}
}

func (s *tallies) value(k valueKey, c *inspect.Characteristic, sign int) {
	v := s.values[k]
	if v == nil {
		v = new(valueSums)
		s.values[k] = v
	}
	if c.Value != nil {
		if ref, kept := s.refs[k]; kept {
			v.ref, v.met = ref, v.met || ref == *c.Value
		} else if v.n == 0 && v.s1 == 0 && v.s2 == 0 {
			v.ref = *c.Value
		}
		d := *c.Value - v.ref
		v.n += sign
		v.s1 += float64(sign) * d
		v.s2 += float64(sign) * d * d
	}
	switch c.Zone {
	case inspect.Nonconforming:
		v.nonconforming += sign
	case inspect.Undecided:
		v.undecided += sign
	case inspect.NotMeasured:
		v.unmeasured += sign
	}
	if batch.NearLimit(*c) {
		v.near += sign
	}
}

const (
	addFirsts = ` ON CONFLICT (batch_ord, month, dimension, value) DO UPDATE SET inspected = first_tally.inspected + excluded.inspected,
		passed = first_tally.passed + excluded.passed, final = first_tally.final + excluded.final`
	// Sums about another reference value are moved to the row's own: with d = ref' - ref, Σ(x - ref) = s1' + n d and
	// Σ(x - ref)² = s2' + 2 d s1' + n d².
	addValues = ` ON CONFLICT (batch_ord, month, gauge_id, name, track, string, fret, held_fret, unit) DO UPDATE SET n = o.n + excluded.n,
		s1 = o.s1 + excluded.s1 + excluded.n * (excluded.ref - o.ref),
		s2 = o.s2 + excluded.s2 + 2 * (excluded.ref - o.ref) * excluded.s1 + excluded.n * (excluded.ref - o.ref) * (excluded.ref - o.ref),
		nonconforming = o.nonconforming + excluded.nonconforming, undecided = o.undecided + excluded.undecided,
		unmeasured = o.unmeasured + excluded.unmeasured, near = o.near + excluded.near`
)

// write adds what was gathered to the record's sums.
func (s *tallies) write(t *tx) error {
	firsts := t.rows(`INSERT INTO first_tally (batch_ord, month, dimension, value, inspected, passed, final)`, 7, addFirsts)
	for k, n := range s.firsts {
		if *n != [3]int{} {
			if err := firsts.add(k.batch, k.month, k.dimension, k.value, n[0], n[1], n[2]); err != nil {
				return err
			}
		}
	}
	if err := firsts.end(); err != nil {
		return err
	}
	values := t.rows(`INSERT INTO characteristic_tally AS o (batch_ord, month, gauge_id, name, track, string, fret, held_fret, unit,
		n, ref, s1, s2, nonconforming, undecided, unmeasured, near)`, 17, addValues)
	for k, v := range s.values {
		if *v == (valueSums{ref: v.ref}) {
			continue
		}
		if err := values.add(k.batch, k.month, k.gauge, k.Name, k.Track, k.String, k.Fret, k.HeldFret, k.Unit,
			v.n, v.ref, v.s1, v.s2, v.nonconforming, v.undecided, v.unmeasured, v.near); err != nil {
			return err
		}
	}
	return values.end()
}
