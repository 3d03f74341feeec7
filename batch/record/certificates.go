package record

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"sagitta/batch"
)

const selectCertificate = `SELECT id, gauge_id, at, by, number, laboratory, issued, due, correction, u, file_name, file_sha256, coalesce(length(file), 0), found,
	(SELECT count(*) FROM doubts d WHERE d.cause_id = gauge_certificates.id) FROM gauge_certificates `

func scanCertificate(s scanner) (batch.Certificate, error) {
	var c batch.Certificate
	var at, issued, due int64
	var correction, found string
	if err := s.Scan(&c.ID, &c.GaugeID, &at, &c.By, &c.Number, &c.Laboratory, &issued, &due, &correction, &c.U, &c.FileName, &c.SHA256, &c.Size, &found, &c.Doubted); err != nil {
		return c, err
	}
	c.At, c.Issued, c.Due = instant(at), instant(issued), instant(due)
	if err := json.Unmarshal([]byte(correction), &c.Correction); err != nil {
		return c, fmt.Errorf("%w: the correction of certificate %s: %w", ErrCorrupt, c.ID, err)
	}
	if found != "" { // of one from before this was kept
		var states certificateStates
		if err := json.Unmarshal([]byte(found), &states); err != nil {
			return c, fmt.Errorf("%w: the states of certificate %s: %w", ErrCorrupt, c.ID, err)
		}
		c.LimitMM, c.Found, c.Left = states.LimitMM, states.Found, states.Left
	}
	return c, nil
}

// certificateStates are how a gauge was found and left, as the record keeps them in one text.
type certificateStates struct {
	LimitMM     float64
	Found, Left batch.CalibrationState
}

// AddCertificate keeps a calibration certificate (its ID, At, Size and SHA256 are filled in) with its file, which may be
// empty, and gives the gauge a new entry with its number, due day, correction and uncertainty; one commit. Where the gauge was found
// outside what is allowed, its corrected readings are in doubt back to what proves it last; Doubted counts the inspections. ErrUnknown: no
// such gauge; ErrInput: what Certificate.Check finds, or a file of more than batch.LargestCertificate bytes.
func (db *DB) AddCertificate(ctx context.Context, by string, c batch.Certificate, file []byte) (batch.Certificate, error) {
	what := "keeping certificate " + c.Number
	if faults := c.Check(); len(faults) > 0 {
		err := error(ErrInput)
		for _, f := range faults {
			err = fmt.Errorf("%w; %w", err, f)
		}
		return batch.Certificate{}, fmt.Errorf("%s: %w", what, err)
	}
	if len(file) > batch.LargestCertificate {
		return batch.Certificate{}, fmt.Errorf("%s: %w: the file %s has %d bytes; allowed are at most %d", what, ErrInput, c.FileName, len(file), batch.LargestCertificate)
	}
	correction, err := json.Marshal(c.Correction)
	if err != nil {
		return batch.Certificate{}, fmt.Errorf("%s: %w: %v", what, ErrInput, err)
	}
	states, err := json.Marshal(certificateStates{c.LimitMM, c.Found, c.Left})
	if err != nil {
		return batch.Certificate{}, fmt.Errorf("%s: %w: %v", what, ErrInput, err)
	}
	err = db.write(ctx, what, func(t *tx) (err error) {
		if err := t.may(by, batch.Certify); err != nil {
			return err
		}
		g, err := scanGauge(t.row(selectGauge+`WHERE g.gauge_id = ?`, c.GaugeID))
		if err != nil {
			return unknown(err, "gauge", c.GaugeID)
		}
		if c.ID, err = newID(); err != nil {
			return err
		}
		c.At, c.By, c.Size, c.SHA256 = instant(nanos(t.at)), by, len(file), ""
		var blob any
		if len(file) > 0 {
			blob, c.SHA256 = file, sumOf(file)
		} else {
			c.FileName = ""
		}
		if err := t.exec(`INSERT INTO gauge_certificates (id, station, at, by, gauge_id, number, laboratory, issued, due, correction, u, file_name, file_sha256, file, found)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, c.ID, t.station, nanos(c.At), by, c.GaugeID, c.Number, c.Laboratory, nanos(c.Issued), nanos(c.Due),
			string(correction), c.U, c.FileName, c.SHA256, blob, string(states)); err != nil {
			return err
		}
		if err := t.castCertificate(&c, g); err != nil {
			return err
		}
		standing, err := t.standing(`?`, c.ID)
		if err != nil {
			return err
		}
		if err := t.audit(by, "certificate kept", g.Name, fmt.Sprintf("%d inspections in doubt; certificate %s of %s", len(standing), c.Number, c.Issued.Format("2006-01-02"))); err != nil {
			return err
		}
		g.Certificate, g.CertificateDue, g.Calibration, g.CalibrationU = c.Number, c.Due, c.Correction, c.U
		_, err = t.saveGauge(by, "gauge calibrated", "", g)
		return err
	})
	if err != nil {
		return batch.Certificate{}, err
	}
	return c, nil
}

// castCertificate casts the doubt of a gauge that was found outside what is allowed, its readings corrected by the entry in force then, back
// to the last check that proves it better (GaugeCheck.ProvesBetter), or to the day of the last certificate that did not leave it outside, whichever is
// later. It reaches to the end of the day of the calibration where the gauge was left within, else to the first check since that
// proves it better, or until now.
func (t *tx) castCertificate(c *batch.Certificate, now batch.Gauge) error {
	day := c.Issued.AddDate(0, 0, 1).Add(-1)
	entry, err := scanGauge(t.row(`SELECT entry, at, retired FROM gauge_entries WHERE gauge_id = ? AND at <= ? ORDER BY ord DESC LIMIT 1`, c.GaugeID, nanos(day)))
	if errors.Is(err, sql.ErrNoRows) {
		entry, err = now, nil
	}
	if err != nil || !c.Outside(c.Found, entry.Calibration) {
		return err
	}
	k := batch.Cause{ID: c.ID, Kind: batch.CertificateFound, At: c.At, By: c.By, To: c.At, Why: c.Number,
		Found: batch.Found{Masters: c.Errors(c.Found, entry.Calibration)}, Over: batch.DoubtRange{GaugeID: c.GaugeID}}
	before, err := list(t.ctx, t, scanCertificate, selectCertificate+`WHERE gauge_id = ? AND issued < ? ORDER BY issued`, c.GaugeID, nanos(c.Issued))
	if err != nil {
		return err
	}
	for _, b := range before {
		if !b.Outside(b.Left, b.Correction) {
			k.From, k.Proof = b.Issued, b.Number
		}
	}
	checks, err := list(t.ctx, t, scanCheck, selectCheck+`WHERE c.gauge_id = ? ORDER BY c.ord`, c.GaugeID)
	if err != nil {
		return err
	}
	if c.Left.Known() && !c.Outside(c.Left, c.Correction) && day.Before(k.To) {
		k.To = day
	}
	for _, check := range checks {
		switch better := check.ProvesBetter(k.Found.Masters); {
		case !better:
		case check.At.After(day):
			if check.At.Before(k.To) {
				k.To = check.At
			}
		case check.At.After(k.From):
			k.From, k.Proof = check.At, batch.ProofCheck
		}
	}
	all, err := reached(t.ctx, t, reach{DoubtRange: batch.DoubtRange{GaugeID: c.GaugeID, From: k.From, To: k.To}})
	if err != nil {
		return err
	}
	c.Doubted = len(all)
	return t.cast(k, all)
}

// Certificates returns a gauge's calibration certificates without their files, the oldest first.
func (db *DB) Certificates(ctx context.Context, gaugeID string) ([]batch.Certificate, error) {
	all, err := list(ctx, db.reader, scanCertificate, selectCertificate+`WHERE gauge_id = ? ORDER BY ord`, gaugeID)
	return all, translate(err, "reading a gauge's certificates")
}

// CertificateFile returns a certificate and its file. ErrUnknown: no such certificate; ErrCorrupt: the file's SHA-256 is
// not the one it was kept with.
func (db *DB) CertificateFile(ctx context.Context, id string) (batch.Certificate, []byte, error) {
	c, err := scanCertificate(db.reader.QueryRowContext(ctx, selectCertificate+`WHERE id = ?`, id))
	if err != nil {
		return c, nil, unknown(err, "certificate", id)
	}
	var file []byte
	if err := db.reader.QueryRowContext(ctx, `SELECT file FROM gauge_certificates WHERE id = ?`, id).Scan(&file); err != nil {
		return c, nil, translate(err, "reading certificate "+c.Number)
	}
	if len(file) > 0 && sumOf(file) != c.SHA256 {
		return c, nil, fmt.Errorf("reading certificate %s: %w: its file has the SHA-256 %s, it was kept with %s", c.Number, ErrCorrupt, sumOf(file), c.SHA256)
	}
	return c, file, nil
}
