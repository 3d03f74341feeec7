package record

import (
	"context"
	"encoding/json"
	"fmt"

	"sagitta/batch"
)

const selectCertificate = `SELECT id, gauge_id, at, by, number, laboratory, issued, due, correction, u, file_name, file_sha256, coalesce(length(file), 0)
	FROM gauge_certificates `

func scanCertificate(s scanner) (batch.Certificate, error) {
	var c batch.Certificate
	var at, issued, due int64
	var correction string
	if err := s.Scan(&c.ID, &c.GaugeID, &at, &c.By, &c.Number, &c.Laboratory, &issued, &due, &correction, &c.U, &c.FileName, &c.SHA256, &c.Size); err != nil {
		return c, err
	}
	c.At, c.Issued, c.Due = instant(at), instant(issued), instant(due)
	if err := json.Unmarshal([]byte(correction), &c.Correction); err != nil {
		return c, fmt.Errorf("%w: the correction of certificate %s: %w", ErrCorrupt, c.ID, err)
	}
	return c, nil
}

// AddCertificate keeps a calibration certificate (its ID, At, Size and SHA256 are filled in) with its file, which may be
// empty, and gives the gauge a new entry with its number, due day, correction and uncertainty; one commit. ErrUnknown: no
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
	err = db.write(ctx, what, func(t *tx) (err error) {
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
		if err := t.exec(`INSERT INTO gauge_certificates (id, station, at, by, gauge_id, number, laboratory, issued, due, correction, u, file_name, file_sha256, file)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, c.ID, t.station, nanos(c.At), by, c.GaugeID, c.Number, c.Laboratory, nanos(c.Issued), nanos(c.Due),
			string(correction), c.U, c.FileName, c.SHA256, blob); err != nil {
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
