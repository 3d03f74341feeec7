package record

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"sagitta/batch"
)

// A verdict's digest is the SHA-256 over the verdict as stored and every reading it rests on, in order, superseded ones
// included, each part with its length before it. The chain keeps it with the version of the encoding that it was taken over.
// An encoding is written out here, field by field, and never changes: what a Go type gains elsewhere is no part of it. A field
// of a reading that is to be sealed too makes a new version; the old ones stay, for what was written with them.

// digestVersion is the version of new digests.
const digestVersion = 2

// readingEncodings write a reading as the digests of a version take it.
var readingEncodings = map[int]func(batch.Reading) []byte{1: reading1, 2: reading2}

// verdictDetail is what the chain says of a verdict; its digest stands at the end.
func verdictDetail(v *batch.Verdict, digest string) string {
	detail := string(v.Disposition)
	if v.Reason != "" {
		detail += ", " + v.Reason
	}
	return fmt.Sprintf("%s; digest %d, sha256 %s", detail, digestVersion, digest)
}

// digestIn takes the digest and its version from the end of an entry's detail. The first digests were written without a
// version: theirs is 1.
func digestIn(detail string) (version int, sum string, err error) {
	words := strings.Fields(detail[strings.LastIndex(detail, ";")+1:])
	version = 1
	if len(words) == 4 && words[0] == "digest" {
		if version, err = strconv.Atoi(strings.TrimSuffix(words[1], ",")); err != nil {
			return 0, "", fmt.Errorf("%w: found digest %q; allowed: a number", ErrAudit, words[1])
		}
	}
	if len(words) == 0 {
		return 0, "", fmt.Errorf("%w: found no digest in %q", ErrAudit, detail)
	}
	if readingEncodings[version] == nil {
		return 0, "", fmt.Errorf("%w: its digests are of version %d, this program knows up to %d; verify it with the newer program", ErrNewer, version, digestVersion)
	}
	return version, words[len(words)-1], nil
}

// selectDigested is what a digest is taken over.
const selectDigested = `SELECT id, inspection_id, at, disposition, decided_by, reason, result, last_seq FROM verdicts `

// digest takes the digest of a verdict. row is of selectDigested.
func digest(ctx context.Context, q querier, version int, row scanner) (inspection, sum string, err error) {
	var id, at, disposition, by, reason, result string
	var last int64
	if err := row.Scan(&id, &inspection, &at, &disposition, &by, &reason, &result, &last); err != nil {
		return "", "", err
	}
	var readings []batch.Reading
	if last > 0 {
		readings, err = list(ctx, q, scanReading, `SELECT `+readingColumns+` FROM readings r WHERE r.inspection_id = ? AND r.seq <= ? ORDER BY r.seq`, inspection, last)
		if err != nil {
			return "", "", err
		}
	}
	texts := make([][]byte, len(readings))
	for i, r := range readings {
		texts[i] = readingEncodings[version](r)
	}
	return inspection, sumVerdict(id, inspection, at, disposition, by, reason, result, texts), nil
}

// sumVerdict is the SHA-256 in hex over a verdict's fields and the readings under it, each with its length before it.
func sumVerdict(id, inspection, at, disposition, by, reason, result string, readings [][]byte) string {
	h := sha256.New()
	for _, s := range []string{id, inspection, at, disposition, by, reason, result} {
		number(h, int64(len(s)))
		h.Write([]byte(s))
	}
	for _, text := range readings {
		number(h, int64(len(text)))
		h.Write(text)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// sumOf is a text's SHA-256 in hex.
func sumOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// reading1 writes a reading in version 1: a JSON object (RFC 8259) without blanks, its keys in this order, strings, numbers,
// bytes and times as the functions of encoded say.
func reading1(r batch.Reading) []byte {
	e := fields1(r)
	return *e.raw(`}`)
}

// reading2 writes a reading in version 2: as version 1, with its laying as the last key.
func reading2(r batch.Reading) []byte {
	e := fields1(r)
	e.raw(`,"Laying":`).int(int64(r.Laying))
	return *e.raw(`}`)
}

// fields1 is the object of version 1 but for its end.
func fields1(r batch.Reading) *encoded {
	e := make(encoded, 0, 700)
	e.raw(`{"ID":`).string(r.ID)
	e.raw(`,"InspectionID":`).string(r.InspectionID)
	e.raw(`,"Seq":`).int(r.Seq)
	e.raw(`,"Point":{"Kind":`).string(string(r.Point.Kind))
	e.raw(`,"Track":`).string(r.Point.Track)
	e.raw(`,"Fret":`).int(int64(r.Point.Fret))
	e.raw(`,"String":`).int(int64(r.Point.String))
	e.raw(`,"HeldFret":`).int(int64(r.Point.HeldFret))
	e.raw(`},"Round":`).int(int64(r.Round))
	e.raw(`,"At":`).time(r.At)
	e.raw(`,"Value":`).float(r.Value)
	e.raw(`,"U":`).float(r.U)
	e.raw(`,"URepeat":`).float(r.URepeat)
	e.raw(`,"Withdrawn":`).bool(r.Withdrawn)
	e.raw(`,"Supersedes":`).string(r.Supersedes)
	e.raw(`,"By":`).string(r.By)
	e.raw(`,"Reason":`).string(r.Reason)
	e.raw(`,"GaugeID":`).string(r.GaugeID)
	e.raw(`,"CheckID":`).string(r.CheckID)
	e.raw(`,"Decoder":`).string(r.Decoder)
	e.raw(`,"Raw":`).bytes(r.Raw)
	e.raw(`,"Offset":`).int(r.Offset)
	e.raw(`,"Sent":`).string(r.Sent)
	e.raw(`,"Unit":`).string(r.Unit)
	e.raw(`,"Decoded":`).float(r.Decoded)
	e.raw(`,"FeetMM":[`).float(r.FeetMM[0])
	e.raw(`,`).float(r.FeetMM[1])
	e.raw(`],"PlungerMM":`).float(r.PlungerMM)
	return &e
}

// encoded is a text in the making.
type encoded []byte

func (e *encoded) raw(s string) *encoded {
	*e = append(*e, s...)
	return e
}

func (e *encoded) int(n int64) { *e = strconv.AppendInt(*e, n, 10) }

func (e *encoded) bool(b bool) { *e = strconv.AppendBool(*e, b) }

// float writes the fewest digits that give the number back: plainly from 1e-6 to below 1e21, else with an exponent of no more
// digits than it needs.
func (e *encoded) float(f float64) {
	if a := math.Abs(f); a == 0 || a >= 1e-6 && a < 1e21 {
		*e = strconv.AppendFloat(*e, f, 'f', -1, 64)
		return
	}
	text := strconv.FormatFloat(f, 'e', -1, 64)
	if mantissa, digit, short := strings.Cut(text, "e-0"); short {
		text = mantissa + "e-" + digit
	}
	e.raw(text)
}

// time is in RFC 3339, UTC, with the digits of a second's fraction that it needs, in quotation marks.
func (e *encoded) time(t time.Time) {
	e.raw(`"` + t.UTC().Format("2006-01-02T15:04:05.999999999Z07:00") + `"`)
}

// bytes are in base 64 (RFC 4648, section 4) in quotation marks; null where there are none.
func (e *encoded) bytes(b []byte) {
	if b == nil {
		e.raw(`null`)
		return
	}
	e.raw(`"` + base64.StdEncoding.EncodeToString(b) + `"`)
}

// string is in quotation marks. Escaped are the quotation mark and the backslash, control characters (those with a letter of
// their own by it, others by four hexadecimal digits), <, > and &, and the separators U+2028 and U+2029; a byte that is not
// UTF-8 is the replacement character's escape.
func (e *encoded) string(s string) {
	if strings.IndexFunc(s, func(r rune) bool { return r < ' ' || r > '~' || strings.ContainsRune("\"\\<>&", r) }) < 0 {
		e.raw(`"`).raw(s).raw(`"`)
		return
	}
	e.raw(`"`)
	for i, r := range s {
		switch {
		case r == utf8.RuneError && !strings.HasPrefix(s[i:], "\uFFFD"):
			e.raw(`\ufffd`)
		case r == '"' || r == '\\':
			e.raw(`\`).raw(string(r))
		case strings.ContainsRune("\b\f\n\r\t", r):
			e.raw(`\`).raw(string("bfnrt"[strings.IndexRune("\b\f\n\r\t", r)]))
		case r < ' ' || r == '<' || r == '>' || r == '&' || r == '\u2028' || r == '\u2029':
			e.raw(fmt.Sprintf(`\u%04x`, r))
		default:
			e.raw(string(r))
		}
	}
	e.raw(`"`)
}
