// Package label makes labels as PDF of the label's own size: one that lies in the instrument and tells its set-up without a network, and a
// traveller that goes through the shop with a neck.
package label

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/export/sheet"
)

// Kind is what a label is for.
type Kind string

// Kinds of label.
const (
	SetUp     Kind = "set-up"    // lies in the instrument
	Traveller Kind = "traveller" // goes with the neck through the shop
)

// Kinds are all kinds of label.
var Kinds = []string{string(SetUp), string(Traveller)}

// ReadKind reads a kind; "" is none. Mendable: it is another.
func ReadKind(text string) (Kind, error) {
	if text != "" && !slices.Contains(Kinds, text) {
		return "", batch.Mendable.Errorf("found %q; allowed: %s", batch.Shown(text), tell.List(Kinds))
	}
	return Kind(text), nil
}

// Label is what is printed on one label.
type Label struct {
	Serial string
	Lines  []string // under the serial number, the most telling first; the last are left out of print where there is no room
	Code   string   // what the QR code says: all of it
	Bars   bool     // the serial number stands on it as bars too, where its characters have any
	Date   time.Time
}

// ofSetUp is the label that tells an instrument's set-up. Its code is plain text, one thing a line, the serial number first.
func ofSetUp(s *sheet.Sheet) Label {
	return Label{Serial: s.Serial, Lines: s.Short, Date: s.Date, Code: strings.NewReplacer("°", "", "–", "-").Replace(strings.Join(append([]string{s.Serial}, s.Short...), "\n"))}
}

// ofTraveller is a neck's label for its way through the shop: a scan of either code brings the neck to the bench.
func ofTraveller(t *sheet.Template, neck batch.Neck, b batch.Batch) Label {
	lines := []string{t.Words.Batch + " " + b.Number, t.Words.Model + " " + b.Spec.Name}
	if b.Visit > 0 {
		lines = []string{t.Words.Visit + " " + strconv.Itoa(b.Visit)}
	}
	return Label{Serial: neck.Serial, Code: neck.Serial, Bars: true, Date: b.OpenedAt, Lines: lines}
}

// Record is what labels ask of the record.
type Record interface {
	sheet.Record
	Necks(ctx context.Context, batchID string) ([]batch.NeckRow, error)
}

// mostLabels is how many pages one file has.
const mostLabels = 5000

// Of are the labels of a number: a serial number's one, or those of all necks of a batch in their order. Without a kind it is a serial number's set-up, a
// batch's travellers. Absent: nothing has the number. Conflict: the batch has more necks than a file has pages.
func Of(ctx context.Context, rec Record, t *sheet.Template, kind Kind, number string) ([]Label, error) {
	var necks []batch.Neck
	usual, number := SetUp, strings.TrimSpace(number)
	neck, err := rec.Neck(ctx, number)
	switch {
	case err == nil:
		necks, number = []batch.Neck{neck}, neck.BatchNumber
	case batch.KindOf(err) != batch.Absent:
		return nil, err
	default:
		usual = Traveller
	}
	b, err := rec.Batch(ctx, number)
	if batch.KindOf(err) == batch.Absent {
		return nil, batch.Absent.Errorf("neither a neck nor a batch has the number %q", batch.Shown(number))
	}
	if err != nil {
		return nil, err
	}
	if usual == Traveller {
		rows, err := rec.Necks(ctx, b.ID)
		if err != nil {
			return nil, err
		}
		for i := range rows {
			necks = append(necks, rows[i].Neck)
		}
	}
	if len(necks) > mostLabels {
		return nil, batch.Conflict.Errorf("batch %s has %d necks; one file holds %d labels: ask for them by their serial numbers", b.Number, len(necks), mostLabels)
	}
	if kind == "" {
		kind = usual
	}
	labels := make([]Label, len(necks))
	for i, neck := range necks {
		if kind == Traveller {
			labels[i] = ofTraveller(t, neck, b)
			continue
		}
		s, err := sheet.Of(ctx, rec, t, neck.Serial)
		if err != nil {
			return nil, err
		}
		labels[i] = ofSetUp(s)
	}
	return labels, nil
}

// Size is a label's size, mm.
type Size struct{ Wide, High float64 }

// Bounds of a label's side, mm.
const leastSide, mostSide = 10, 300

// Sizes are the common ones.
var Sizes = []string{"62x29", "50x25", "100x50"}

// ReadSize reads a size as "62x29": width and height in mm, each from 10 to 300. Mendable: it is none.
func ReadSize(text string) (Size, error) {
	wide, high, both := strings.Cut(text, "x")
	s := Size{side(wide), side(high)}
	if !both || s.Wide == 0 || s.High == 0 {
		return Size{}, batch.Mendable.Errorf("found %q; allowed: width and height in mm, each from %d to %d, such as %s", batch.Shown(text), leastSide, mostSide, tell.List(Sizes))
	}
	return s, nil
}

// side is a side's length, 0 where the text is none that a label may have.
func side(text string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || !(v >= leastSide && v <= mostSide) {
		return 0
	}
	return v
}

// String writes a size as it is read.
func (s Size) String() string { return fmt.Sprintf("%gx%g", s.Wide, s.High) }
