package export

import (
	"encoding/hex"
	"fmt"
	"strconv"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// The columns of Readings.
const (
	readSerial = iota
	readAttempt
	readSeq
	readRound
	readLaying
	readTime
	readPoint
	readKind
	readTrack
	readFret
	readString
	readHeld
	readValue
	readUnit
	readU
	readStatus
	readRefers
	readGauge
	readDecoder
	readSent
	readSentUnit
	readRaw
	readHex
	readBy
	readReason
)

// What a reading's row stands for. A row that is never taken back or replaced counts.
const (
	counts    = "counts"
	replaced  = "replaced"
	takenBack = "taken back"
	takesBack = "takes back"
	skipped   = "skipped"
)

// readingColumns are the columns of Readings in a unit.
func (b *book) readingColumns() []column {
	return []column{
		readSerial:   {head: "Serial number", width: 17, format: textFormat},
		readAttempt:  {head: "Attempt", width: 9, format: wholeFormat},
		readSeq:      {head: "Reading", width: 8, format: wholeFormat},
		readRound:    {head: "Round", width: 8, format: wholeFormat},
		readLaying:   {head: "Laying", width: 7, format: wholeFormat},
		readTime:     {head: "Time", width: 19, format: timeFormat},
		readPoint:    {head: "Point", width: 27, format: textFormat},
		readKind:     {head: "Kind", width: 12, format: textFormat},
		readTrack:    {head: "Track", width: 9, format: textFormat},
		readFret:     {head: "Fret", width: 7, format: wholeFormat},
		readString:   {head: "String", width: 8, format: wholeFormat},
		readHeld:     {head: "Held at fret", width: 8, format: wholeFormat},
		readValue:    {head: "Value (" + b.unit.String() + "; cents for pitch)", width: 13, format: numberFormat(b.decimals)},
		readUnit:     {head: "Unit", width: 7, format: textFormat},
		readU:        {head: "Standard uncertainty (" + b.unit.String() + ")", width: 13, format: numberFormat(b.decimals + 1)},
		readStatus:   {head: "Status", width: 12, format: textFormat, words: []word{{replaced, doubt}, {takenBack, doubt}, {takesBack, special}, {skipped, unsure}}},
		readRefers:   {head: "Replaces or takes back reading", width: 12, format: wholeFormat},
		readGauge:    {head: "Gauge", width: 22, format: textFormat},
		readDecoder:  {head: "Decoder", width: 18, format: textFormat},
		readSent:     {head: "Digits as sent", width: 12, format: textFormat},
		readSentUnit: {head: "Unit as sent", width: 8, format: textFormat},
		readRaw:      {head: "Frame as sent", width: 24, format: textFormat},
		readHex:      {head: "Frame (hexadecimal)", width: 28, format: textFormat},
		readBy:       {head: "By", width: 16, format: textFormat},
		readReason:   {head: "Reason", width: 24, format: textFormat},
	}
}

// readingSheets writes readings, on as many sheets as it takes.
type readingSheets struct {
	*table
	sheets   int
	decimals map[string]int // of a gauge's values, by gauge
	looks    map[int]int    // style of that many decimals
	seqs     map[string]int64
	status   map[string]string
}

// writeReadings writes one row a reading. A row's fate is known when its inspection's last row has been read, so that
// one inspection is held at a time.
func (b *book) writeReadings() error {
	s := &readingSheets{decimals: map[string]int{}, looks: map[int]int{}, seqs: map[string]int64{}, status: map[string]string{}}
	for _, g := range b.gauges {
		if g.ResolutionMM > 0 {
			s.decimals[g.ID] = b.unit.decimals(g.ResolutionMM)
		}
	}
	if err := s.next(b); err != nil {
		return err
	}
	var held []batch.ReadingReport
	n := 0
	for r, err := range b.src.EachReading(b.ctx, b.batch.ID) {
		if err != nil {
			return fmt.Errorf("after %d readings: %w", n, err)
		}
		n++
		if len(held) > 0 && held[0].InspectionID != r.InspectionID {
			if err := s.add(b, held); err != nil {
				return err
			}
			if held[0].Serial != r.Serial {
				b.progress()
			}
			held = held[:0]
		}
		held = append(held, r)
	}
	if err := s.add(b, held); err != nil {
		return err
	}
	return s.close()
}

// next begins a sheet: Readings, then Readings 2 and so on.
func (s *readingSheets) next(b *book) (err error) {
	if s.table != nil {
		if err := s.close(); err != nil {
			return err
		}
	}
	s.sheets++
	name := "Readings"
	if s.sheets > 1 {
		name += " " + strconv.Itoa(s.sheets)
	}
	s.table, err = b.newTable(name, b.readingColumns())
	return err
}

// add writes the readings of one inspection.
func (s *readingSheets) add(b *book, readings []batch.ReadingReport) error {
	clear(s.seqs)
	clear(s.status)
	for i := range readings {
		r := &readings[i]
		s.seqs[r.ID] = r.Seq
		s.status[r.ID] = counts
		switch {
		case r.Supersedes == "" && r.Withdrawn:
			s.status[r.ID] = skipped
		case r.Supersedes != "" && r.Withdrawn:
			s.status[r.ID], s.status[r.Supersedes] = takesBack, takenBack
		case r.Supersedes != "":
			s.status[r.Supersedes] = replaced
		}
	}
	for i := range readings {
		if s.full() {
			if err := s.next(b); err != nil {
				return err
			}
		}
		if err := s.reading(b, &readings[i]); err != nil {
			return fmt.Errorf("reading %d of %s, attempt %d: %w", readings[i].Seq, readings[i].Serial, readings[i].Attempt, err)
		}
	}
	return nil
}

// reading writes one row.
func (s *readingSheets) reading(b *book, r *batch.ReadingReport) error {
	p := r.Point
	s.text(readSerial, r.Serial)
	s.put(readAttempt, r.Attempt)
	s.put(readSeq, r.Seq)
	s.put(readRound, r.Round)
	if r.Laying > 0 {
		s.put(readLaying, r.Laying)
	}
	s.time(readTime, r.At)
	s.text(readPoint, tell.Point(p))
	s.text(readKind, string(p.Kind))
	s.text(readTrack, p.Track)
	for _, c := range []struct{ at, n int }{{readFret, p.Fret}, {readString, p.String}, {readHeld, p.HeldFret}} {
		if c.n > 0 {
			s.put(c.at, c.n)
		}
	}
	if !r.Withdrawn {
		if err := s.measured(b, r); err != nil {
			return err
		}
	}
	s.text(readStatus, s.status[r.ID])
	if seq, ok := s.seqs[r.Supersedes]; ok {
		s.put(readRefers, seq)
	}
	if r.GaugeID == "" {
		s.text(readGauge, "typed by hand")
	} else {
		s.text(readGauge, r.GaugeName)
	}
	s.text(readDecoder, r.Decoder)
	s.text(readSent, r.Sent)
	s.text(readSentUnit, r.Unit)
	if len(r.Raw) > 0 && p.Kind != batch.Sweep { // a whole pass's bytes are longer than a cell
		s.text(readRaw, tell.Printable(r.Raw))
		s.text(readHex, hex.EncodeToString(r.Raw))
	}
	s.text(readBy, r.By)
	s.text(readReason, r.Reason)
	return s.write()
}

// measured sets value, unit and uncertainty, with the decimals of the gauge.
func (s *readingSheets) measured(b *book, r *batch.ReadingReport) error {
	unit, decimals := "mm", b.decimals
	if d, ok := s.decimals[r.GaugeID]; ok {
		decimals = d
	}
	switch r.Point.Kind {
	case batch.Pitch:
		unit, decimals = "cents", 1
	case batch.PitchDeclared:
		return nil // a confirmation, no quantity
	case batch.Sweep:
		return nil // a pass: its crowns have rows of their own
	}
	s.put(readValue, b.unit.shown(r.Value, unit))
	id, ok := s.looks[decimals]
	if !ok {
		var err error
		if id, err = b.styles.id(look{format: numberFormat(decimals)}); err != nil {
			return err
		}
		s.looks[decimals] = id
	}
	s.cells[readValue].StyleID = id
	s.text(readUnit, b.unit.label(unit))
	if r.U > 0 && unit == "mm" {
		s.put(readU, b.unit.From(r.U))
	}
	return nil
}
