package batch

import (
	"slices"
	"time"

	"sagitta/inspect"
)

// Scope picks batches and months; empty fields pick all. Months are those of the first judged inspection, in the
// station's local time.
type Scope struct {
	BatchID  string
	SpecName string // all revisions of a model, unless Revision is given
	Revision string
	From, To Month // both included
	// WithoutDoubt leaves out first measurements that rest on readings in doubt: of sums over characteristics and of series those values,
	// of counts of necks those with such a value. Without it they are in, and counted in InDoubt.
	WithoutDoubt bool
}

// Month is a calendar month as year times 100 plus month: 202611. The zero value is no month.
type Month int

// MonthOf is the month of a moment in its own location.
func MonthOf(t time.Time) Month { return Month(t.Year()*100 + int(t.Month())) }

// Start is the first day of the month in UTC.
func (m Month) Start() time.Time {
	return time.Date(int(m)/100, time.Month(m%100), 1, 0, 0, 0, 0, time.UTC)
}

// Dimension is what first inspections are broken down by. The first judged inspection of a neck counts, at its start.
type Dimension string

// The dimensions. ByReason counts necks by the first failing characteristic in the order of rework, ByFailing by every
// characteristic that failed (a neck counts once under each), ByNear only those whose verdict is near a limit (see
// IsNear).
const (
	ByAll       Dimension = ""
	ByInspector Dimension = "inspector"
	ByStation   Dimension = "station"
	ByGauge     Dimension = "gauge" // IDs; a neck counts under each gauge that was used
	ByHour      Dimension = "hour"  // "07"
	ByWeekday   Dimension = "weekday"
	ByHumidity  Dimension = "humidity" // lower end of a band of 10 % RH: "40"; "" where none was noted
	ByReason    Dimension = "reason"
	ByFailing   Dimension = "failing"
	ByNear      Dimension = "near"
)

// Sets of first inspections that are compared beyond the dimensions that are counted by value.
const (
	ByBatch    Dimension = "batch"    // number
	ByMonth    Dimension = "month"    // "202611"
	ByRevision Dimension = "revision" // model and revision with a line break between
	ByShift    Dimension = "shift"    // hours of the day, the first and the one after the last: "06-14", "22-06"
)

// Share counts the necks of one value of a dimension.
type Share struct {
	Value     string // weekdays are 1 (Monday) to 7
	Inspected int
	FirstPass int // passed at the first judged inspection
	FinalPass int // whose newest disposition is pass
	InDoubt   int // of all inspected, left out or not: with a value that rests on readings in doubt
}

// BatchShare is a batch's part of a Share.
type BatchShare struct {
	Number   string
	SpecName string
	Revision string
	Share
}

// TrendRow is the first inspections of one model's revision in one month.
type TrendRow struct {
	SpecName string
	Revision string
	Month    Month
	Share
	Near    int // verdicts near a limit; see IsNear
	Reasons []Reason
}

// Named is what a characteristic is, without its value.
type Named struct {
	Name     string
	Track    string
	String   int
	Fret     int
	HeldFret int
	Unit     string
}

// NameOf is the part of a characteristic that names it.
func NameOf(c inspect.Characteristic) Named {
	return Named{Name: c.Name, Track: c.Track, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret, Unit: c.Unit}
}

// Split says how the numbers of characteristics are told apart.
type Split string

// The splits.
const (
	SplitNone  Split = ""
	SplitMonth Split = "month"
	SplitGauge Split = "gauge"
	SplitBatch Split = "batch"
	SplitSpec  Split = "revision" // by model and revision

	SplitMonthSpec Split = "month and revision"
	SplitStratum   Split = "stratum" // by all of them
)

// CharacteristicRow is the first measurements of one limited characteristic.
type CharacteristicRow struct {
	Named
	Month    Month  // of SplitMonth and SplitMonthSpec, like the next four of theirs
	GaugeID  string // "": not known
	Batch    string // number
	SpecName string
	Revision string
	Moments
	Nonconforming int
	Undecided     int
	NotMeasured   int
	Near          int // |margin| below U = 2 u
	InDoubt       int // values that rest on readings in doubt, left out or not
}

// SeriesFilter picks the first measurements of one characteristic.
type SeriesFilter struct {
	Scope
	Named      // Unit is not asked for
	Newest int // only so many, the newest; 0: all
}

// FirstValue is one value among the first measurements of a neck.
type FirstValue struct {
	Named
	Serial string
	Value  float64
}

// SeriesPoint is one neck's first measurement of a characteristic.
type SeriesPoint struct {
	Serial      string
	BatchNumber string
	At          time.Time // start of the inspection
	Value       *float64
	U           *float64
	Lower       *float64
	Target      *float64
	Upper       *float64
	Unit        string
	Zone        inspect.Zone
	Inspector   string
	Station     string
	GaugeID     string // "": not known
	InDoubt     bool   // the value rests on readings in doubt
	Cleared     bool   // a person cleared the neck of doubt
	Climate     inspect.Climate
}

// NeckValues are a neck's first measurements of the characteristics of one name, in the result's order.
type NeckValues struct {
	Serial string
	At     time.Time // start of the inspection
	Values []NeckValue
}

// NeckValue is one of them.
type NeckValue struct {
	Named
	Value *float64 // nil: not measured
	U     *float64
	Zone  inspect.Zone
}

// FirstIs picks the necks whose first judged inspection has a value of a dimension, as Breakdown gives them.
type FirstIs struct {
	Dimension Dimension
	Value     string
}

// NeckFilter picks necks of a batch; empty fields pick all. Reason, Inspector, GaugeID, Hour and Near are of the first
// judged inspection, as in the breakdowns, so that a row of those leads to its necks.
type NeckFilter struct {
	BatchID     string // "": of all batches, only with InDoubt or Held
	Serial      string // a part of it
	Disposition inspect.Disposition
	State       InspectionState
	Firsts      []FirstIs // all of them
	InDoubt     bool
	Held        bool
	Offset      int
	Limit       int // 0: all
}

// NeckPage is a page of necks in the order in which they were registered, and how many there are on all pages.
type NeckPage struct {
	Necks []NeckRow
	Total int
}

// Loops says how often a batch's necks were inspected until they passed, and how long that took.
type Loops struct {
	Attempts []Count         // passed necks by the number of judged inspections it took, rising
	Waiting  []Count         // the others, by the number of judged inspections so far
	ToPass   []time.Duration // of passed necks, from the start of the first inspection to the newest verdict, rising
}

// Count is a number of necks.
type Count struct {
	Of    int
	Necks int
}

// ReworkOutcome is a step of rework with what was predicted and what the next judged inspection found.
type ReworkOutcome struct {
	Serial  string
	Attempt int // that it followed
	ReworkAction
	After  *float64 // mean relief at the next judged inspection, mm; nil before it
	AfterU float64
}

// NeckStory is everything about one serial number.
type NeckStory struct {
	NeckReport
	Rework []ReworkAction
	Import *Import // nil: inspected here
}

// IsNear reports whether a verdict rests on values near a limit, |margin| below U = 2 u: of a result in which something is
// nonconforming, every such characteristic is near; of another, any limited one.
func IsNear(all []inspect.Characteristic) bool {
	var near, failing, failingNear int
	for i := range all {
		n := NearLimit(all[i])
		if n {
			near++
		}
		if all[i].Zone == inspect.Nonconforming {
			failing++
			if n {
				failingNear++
			}
		}
	}
	if failing > 0 {
		return failing == failingNear
	}
	return near > 0
}

// NearLimit reports whether a characteristic's value lies within U = 2 u of a limit, on either side.
func NearLimit(c inspect.Characteristic) bool {
	m, ok := inspect.WorstMargin(c)
	return ok && c.Zone != inspect.NoLimit && c.Zone != inspect.NotMeasured && c.U != nil && m < 2**c.U && -m < 2**c.U
}

// Failing lists the names of the characteristics that are nonconforming, each once, in the result's order.
func Failing(all []inspect.Characteristic) []string {
	var names []string
	for i := range all {
		if all[i].Zone == inspect.Nonconforming && !slices.Contains(names, all[i].Name) {
			names = append(names, all[i].Name)
		}
	}
	return names
}
