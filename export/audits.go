package export

import (
	"fmt"

	"sagitta/batch"
)

// The columns of Audits.
const (
	auditSerial = iota
	auditFound
	auditNote
	auditLookedBy
	auditLookedAt
	auditDrawn
	auditDrawnBy
	auditAQL
	auditLevel
	auditSeverity
	auditLot
	auditSample
	auditAccept
	auditReject
	auditState
	auditEndedBy
	auditEnded
	auditRemark
	auditReleasedBy
	auditReleased
	auditDone
)

var (
	foundWords = []word{{"conforming", good}, {"nonconforming", bad}}
	stateWords = []word{{string(batch.OutgoingAccepted), good}, {string(batch.OutgoingBetween), good}, {string(batch.OutgoingRejected), bad}, {string(batch.OutgoingOpen), unsure}}
)

// writeAudits writes one row for each neck drawn for an outgoing audit, the oldest audit first, with the audit's own data
// after it. A batch without audits has no such sheet.
func (b *book) writeAudits() error {
	all, err := b.src.OutgoingAudits(b.ctx, b.batch.ID)
	if err != nil || len(all) == 0 {
		return err
	}
	t, err := b.newTable("Audits", []column{
		auditSerial:     {head: "Serial number", width: 17, format: textFormat},
		auditFound:      {head: "Found", width: 15, format: textFormat, words: foundWords},
		auditNote:       {head: "Note", width: 32, format: textFormat},
		auditLookedBy:   {head: "Looked at by", width: 16, format: textFormat},
		auditLookedAt:   {head: "Looked at", width: 19, format: timeFormat},
		auditDrawn:      {head: "Drawn", width: 19, format: timeFormat},
		auditDrawnBy:    {head: "Drawn by", width: 16, format: textFormat},
		auditAQL:        {head: "AQL (% nonconforming)", width: 15, format: "0.000"},
		auditLevel:      {head: "Inspection level", width: 11, format: textFormat},
		auditSeverity:   {head: "Severity", width: 11, format: textFormat},
		auditLot:        {head: "Lot", width: 9, format: wholeFormat},
		auditSample:     {head: "Sample", width: 9, format: wholeFormat},
		auditAccept:     {head: "Acceptance number", width: 12, format: wholeFormat},
		auditReject:     {head: "Rejection number", width: 12, format: wholeFormat},
		auditState:      {head: "Result", width: 11, format: textFormat, words: stateWords},
		auditEndedBy:    {head: "Ended by", width: 16, format: textFormat},
		auditEnded:      {head: "Ended", width: 19, format: timeFormat},
		auditRemark:     {head: "Note on the audit", width: 32, format: textFormat},
		auditReleasedBy: {head: "Released for another draw by", width: 16, format: textFormat},
		auditReleased:   {head: "Released", width: 19, format: timeFormat},
		auditDone:       {head: "What was done with the rejected lot", width: 32, format: textFormat},
	})
	if err != nil {
		return err
	}
	for i := len(all) - 1; i >= 0; i-- {
		a, err := b.src.OutgoingAudit(b.ctx, all[i].ID)
		if err != nil {
			return err
		}
		for _, n := range a.Necks {
			if t.full() {
				return fmt.Errorf("audited necks are more than one sheet holds; allowed are %d", b.opt.rowLimit-1)
			}
			if err := t.audited(&a, n); err != nil {
				return err
			}
		}
	}
	return t.close()
}

// audited writes one drawn neck.
func (t *table) audited(a *batch.OutgoingAudit, n batch.OutgoingNeck) error {
	t.text(auditSerial, n.Serial)
	if f := n.Finding; f != nil {
		t.text(auditFound, map[bool]string{true: "conforming", false: "nonconforming"}[f.Conforms])
		t.text(auditNote, f.Note)
		t.text(auditLookedBy, f.By)
		t.time(auditLookedAt, f.At)
	}
	t.time(auditDrawn, a.At)
	t.text(auditDrawnBy, a.By)
	t.put(auditAQL, a.AQL)
	t.text(auditLevel, a.Level)
	t.text(auditSeverity, string(a.Severity))
	t.put(auditLot, a.LotSize)
	t.put(auditSample, a.Size())
	t.put(auditAccept, a.Plan.Accept)
	t.put(auditReject, a.Plan.Reject)
	t.text(auditState, string(a.State))
	t.text(auditEndedBy, a.EndedBy)
	t.time(auditEnded, a.EndedAt)
	t.text(auditRemark, a.Note)
	if r := a.Release; r != nil {
		t.text(auditReleasedBy, r.By)
		t.time(auditReleased, r.At)
		t.text(auditDone, r.Done)
	}
	return t.write()
}
