package export

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"strconv"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"

	"github.com/xuri/excelize/v2"
)

// TrailForm is how entries of the record's trail are written.
type TrailForm string

// The forms: a line of text each, comma-separated values with a header row, a JSON object a line, a workbook.
const (
	TrailText  TrailForm = "txt"
	TrailCSV   TrailForm = "csv"
	TrailJSON  TrailForm = "json"
	TrailSheet TrailForm = "xlsx"
)

// TrailForms are all of them.
var TrailForms = []TrailForm{TrailText, TrailCSV, TrailJSON, TrailSheet}

// Trail writes entries of the record's trail, as they come. Cells that begin like a formula are kept from being one. Errors are those of the entries and of w, or the context's; of a
// workbook also batch.Conflict where there are more entries than a sheet has rows.
func Trail(ctx context.Context, w io.Writer, form TrailForm, entries iter.Seq2[batch.Entry, error], opt Options) error {
	if opt.Location == nil {
		opt.Location = time.Local
	}
	switch form {
	case TrailText:
		return eachEntry(entries, func(e batch.Entry) error {
			_, err := fmt.Fprintf(w, "%s  %s\n", e.At.In(opt.Location).Format(time.DateTime), opt.Words.Entry(e))
			return err
		})
	case TrailJSON:
		out := json.NewEncoder(w)
		out.SetEscapeHTML(false)
		return eachEntry(entries, func(e batch.Entry) error { return out.Encode(jsonOf(e, opt)) })
	case TrailCSV:
		out := csv.NewWriter(w)
		if err := out.Write(trailColumns); err != nil {
			return err
		}
		if err := eachEntry(entries, func(e batch.Entry) error { return out.Write(SafeCells(cellsOf(e, opt))) }); err != nil {
			return err
		}
		out.Flush()
		return out.Error()
	case TrailSheet:
		return trailSheet(ctx, w, entries, opt)
	}
	return batch.Mendable.Errorf("the form %q of the record's trail is not known; allowed are %q", form, TrailForms)
}

func eachEntry(entries iter.Seq2[batch.Entry, error], do func(e batch.Entry) error) error {
	for e, err := range entries {
		if err == nil {
			err = do(e)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// trailColumns are the columns of comma-separated values; at is RFC 3339 in UTC.
var trailColumns = []string{"seq", "at", "by", "says", "matter", "what", "about", "neck", "attempt", "batch", "gauge", "person", "reason", "detail", "sha256", "station", "hash"}

func cellsOf(e batch.Entry, opt Options) []string {
	attempt := ""
	if e.Attempt > 0 {
		attempt = strconv.Itoa(e.Attempt)
	}
	return []string{strconv.FormatInt(e.Seq, 10), e.At.UTC().Format(time.RFC3339Nano), e.By, opt.Words.Entry(e), string(e.Happening().Matter), e.What, e.About,
		e.Serial, attempt, e.Batch, e.Gauge, e.Person, e.Reason, e.Detail, tell.Digest(e), e.Station, e.Hash}
}

// jsonEntry is an entry as JSON; what an entry does not name is left out.
type jsonEntry struct {
	Seq     int64     `json:"seq"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	Says    string    `json:"says"`
	Matter  string    `json:"matter,omitempty"`
	What    string    `json:"what"`
	About   string    `json:"about,omitempty"`
	Neck    string    `json:"neck,omitempty"`
	Attempt int       `json:"attempt,omitempty"`
	Batch   string    `json:"batch,omitempty"`
	Gauge   string    `json:"gauge,omitempty"`
	Person  string    `json:"person,omitempty"`
	Reason  string    `json:"reason,omitempty"`
	Detail  string    `json:"detail,omitempty"`
	SHA256  string    `json:"sha256,omitempty"`
	Station string    `json:"station"`
	Hash    string    `json:"hash"`
}

func jsonOf(e batch.Entry, opt Options) jsonEntry {
	return jsonEntry{e.Seq, e.At.UTC(), e.By, opt.Words.Entry(e), string(e.Happening().Matter), e.What, e.About, e.Serial, e.Attempt, e.Batch, e.Gauge, e.Person, e.Reason, e.Detail,
		tell.Digest(e), e.Station, e.Hash}
}

// trailSheet writes a workbook of one sheet.
func trailSheet(ctx context.Context, w io.Writer, entries iter.Seq2[batch.Entry, error], opt Options) error {
	if opt.rowLimit == 0 {
		opt.rowLimit = excelize.TotalRows
	}
	b := &book{ctx: ctx, opt: opt, file: excelize.NewFile()}
	defer b.file.Close() // removes the temporary files
	b.styles = styles{file: b.file, known: map[look]int{}}
	var err error
	if b.picture, err = signPicture(); err != nil {
		return err
	}
	t, err := b.newTable("Trail", []column{
		{head: "Entry", width: 9, format: wholeFormat},
		{head: "At", width: 19, format: timeFormat},
		{head: "By", width: 18, format: textFormat},
		{head: "What happened", width: 90, format: textFormat},
		{head: "Matter", width: 15, format: textFormat},
		{head: "Neck", width: 17, format: textFormat},
		{head: "Batch", width: 12, format: textFormat},
		{head: "Gauge", width: 18, format: textFormat},
		{head: "Person", width: 18, format: textFormat},
		{head: "Station", width: 14, format: textFormat},
		{head: "SHA-256 of what it seals", width: 66, format: textFormat},
		{head: "Hash of the entry", width: 66, format: textFormat},
	})
	if err == nil {
		err = eachEntry(entries, func(e batch.Entry) error {
			if t.full() {
				return batch.Conflict.Errorf("the trail has more entries than the %d rows of a sheet: pick fewer out, or write comma-separated values", opt.rowLimit-1)
			}
			t.put(0, e.Seq)
			t.time(1, e.At)
			for i, text := range []string{e.By, opt.Words.Entry(e), string(e.Happening().Matter), e.Serial, e.Batch, e.Gauge, e.Person, e.Station, tell.Digest(e), e.Hash} {
				t.text(i+2, text)
			}
			return t.write()
		})
	}
	if err == nil {
		err = t.close()
	}
	if err == nil {
		err = b.file.DeleteSheet("Sheet1")
	}
	if err == nil {
		err = b.file.Write(w)
	}
	if err != nil {
		return fmt.Errorf("workbook of the record's trail: %w", temporary(err))
	}
	return nil
}
