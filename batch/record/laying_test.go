package record

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// A crown's laying is kept, comes back and is sealed by its verdict.
func TestLayingIsKeptAndSealed(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	first := must(s.AppendReading(s.ctx, laid(in, 1, 0.25, 1)))(t)
	again := laid(in, 1, 0.31, 2)
	again.Supersedes = first.ID
	must(s.AppendReadings(s.ctx, []batch.Reading{again}))(t)
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	r := must(s.Readings(s.ctx, in.ID))(t)
	if len(r) != 2 || r[0].Laying != 1 || r[1].Laying != 2 {
		t.Errorf("readings %+v", r)
	}
	if err := s.VerifyAudit(s.ctx); err != nil {
		t.Error(err)
	}
	for _, change := range []string{`DROP TRIGGER readings_not_changed`, `UPDATE readings SET laying = 1 WHERE seq = 2`} {
		must(s.writer.Exec(change))(t)
	}
	wantErr(t, s.VerifyAudit(s.ctx), ErrAudit, "a reading under it")
}

func laid(in batch.Inspection, fret int, mm float64, laying int) batch.Reading {
	r := crown(in, fret, mm)
	r.Laying = laying
	return r
}

// What version 2 writes is what version 1 does, with the laying at the end.
func TestReadingEncoding2(t *testing.T) {
	r := batch.Reading{ID: "a", Laying: 3}
	one, two := string(reading1(r)), string(reading2(r))
	if two != strings.TrimSuffix(one, "}")+`,"Laying":3}` {
		t.Errorf("%s\n%s", one, two)
	}
}
