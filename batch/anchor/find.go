package anchor

import (
	"archive/zip"
	"bytes"
	"errors"
	"html"
	"io"
	"regexp"
	"slices"
	"strings"

	"sagitta/batch"
)

// MostBytes is how much of a file, and of a part of an archive, is looked through.
const MostBytes = 64 << 20

// parts are the files in an archive that may hold checkpoints: of a copy of a station, and of a workbook (ISO/IEC 29500-1).
var parts = []string{CopyName, "docProps/core.xml", "xl/sharedStrings.xml"}

// CopyName is the newest checkpoint's file in a copy of a station.
const CopyName = "checkpoint.txt"

// Find returns the checkpoints in a file, each once, the one of most entries last: a workbook, a sheet as PDF or HTML, a copy of a station, a file
// of a witness, or any text that holds them line by line. Signatures are not checked. batch.Absent where there is none.
func Find(in io.ReaderAt, size int64) ([]Checkpoint, error) {
	texts, err := textsIn(in, size)
	if err != nil {
		return nil, err
	}
	var all []Checkpoint
	for _, text := range texts {
		for _, found := range form.FindAllString(plain(text), -1) {
			c, err := Parse(strings.TrimSuffix(found, "\n") + "\n")
			if err == nil && !slices.ContainsFunc(all, func(other Checkpoint) bool { return other.Note == c.Note }) {
				all = append(all, c)
			}
		}
	}
	if len(all) == 0 {
		return nil, batch.Absent.Errorf("there is no checkpoint in it")
	}
	slices.SortStableFunc(all, func(a, b Checkpoint) int { return int(min(max(a.Size-b.Size, -1), 1)) })
	return all, nil
}

// form is how a checkpoint stands in a text: its lines, an empty one, its signatures.
var form = regexp.MustCompile(`[^\s+<>"]+\n[0-9]+\n[A-Za-z0-9+/]{43}=\n(?:[^\n<>]+\n)*\n(?:— [^\s+]+ [A-Za-z0-9+/]+={0,2}\n?)+`)

var (
	endsOfLines = regexp.MustCompile(`[ \t\r]+\n`)
	noBlank     = regexp.MustCompile(`([A-Za-z0-9+/]{43}=\n(?:[a-z]+ [^\n]+\n)*)(— )`)
)

// plain is a text without what HTML and XML put in place of letters, and with the empty line before the signature, which who copies text out of
// a page may lose.
func plain(text []byte) string {
	return noBlank.ReplaceAllString(endsOfLines.ReplaceAllString(html.UnescapeString(string(text)), "\n"), "$1\n$2")
}

func textsIn(in io.ReaderAt, size int64) ([][]byte, error) {
	magic := make([]byte, 4)
	if n, err := in.ReadAt(magic, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	} else if magic = magic[:n]; !bytes.Equal(magic, []byte("PK\x03\x04")) {
		text, err := limited(io.NewSectionReader(in, 0, size))
		return [][]byte{text}, err
	}
	z, err := zip.NewReader(in, size)
	if err != nil {
		return nil, batch.Mendable.Errorf("it is damaged or cut short: %v", err)
	}
	var texts [][]byte
	for _, f := range z.File {
		if !slices.Contains(parts, f.Name) {
			continue
		}
		part, err := f.Open()
		if err != nil {
			return nil, batch.Mendable.Errorf("%s in it is damaged: %v", f.Name, err)
		}
		text, err := limited(part)
		_ = part.Close()
		if err != nil {
			return nil, batch.Mendable.Errorf("%s in it is damaged: %v", f.Name, err)
		}
		texts = append(texts, text)
	}
	return texts, nil
}

func limited(in io.Reader) ([]byte, error) { return io.ReadAll(io.LimitReader(in, MostBytes)) }
