package files

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"sagitta/batch"
)

// mostBytes is the size up to which a delimited file is read: some million rows.
const mostBytes = 256 << 20

// ReadText reads the file of a name up to 256 MiB; "-" is what in gives. name is what errors call it.
func ReadText(file string, in io.Reader) (name string, text []byte, err error) {
	if file != "-" {
		opened, err := os.Open(file)
		if err != nil {
			return file, nil, err
		}
		defer func() { _ = opened.Close() }()
		return read(file, opened, mostBytes)
	}
	return read("standard input", in, mostBytes)
}

func read(name string, in io.Reader, most int64) (string, []byte, error) {
	text, err := io.ReadAll(io.LimitReader(in, most+1))
	if err == nil && int64(len(text)) > most {
		err = batch.FileError{File: name, Found: fmt.Sprintf("more than %d bytes", most), Allowed: fmt.Sprintf("%d MiB: divide the file", most>>20)}
	}
	return name, text, err
}

// unicodeText is a file's text as UTF-8 without a byte order mark. UTF-16 is known by its mark, or by the zero byte that
// the first of its characters has; everything else must be UTF-8. The error is a [batch.FileError].
func unicodeText(file string, text []byte) ([]byte, error) {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(text, []byte("\xff\xfe")), len(text) > 1 && text[0] != 0 && text[1] == 0:
		order = binary.LittleEndian
	case bytes.HasPrefix(text, []byte("\xfe\xff")), len(text) > 1 && text[0] == 0 && text[1] != 0:
		order = binary.BigEndian
	default:
		text = withoutMark(text)
		if !utf8.Valid(text) {
			return nil, batch.FileError{File: file, Line: 1 + bytes.Count(text[:validPrefix(text)], []byte("\n")),
				Problem: "found bytes that are not UTF-8; allowed: UTF-8 or UTF-16: save the file as CSV in UTF-8"}
		}
		return text, nil
	}
	return fromUTF16(file, text, order)
}

// fromUTF16 is UTF-16 in one order of bytes as UTF-8, without its mark.
func fromUTF16(file string, text []byte, order binary.ByteOrder) ([]byte, error) {
	decoded := make([]byte, 0, len(text)/2+len(text)/8)
	wrong := func(what string) error {
		return batch.FileError{File: file, Line: 1 + bytes.Count(decoded, []byte("\n")), Problem: "found " + what + "; allowed: whole characters of UTF-16: save the file again, as CSV in UTF-8"}
	}
	unit := func(i int) rune { return rune(order.Uint16(text[i:])) }
	for i := 0; i+1 < len(text); i += 2 {
		r := unit(i)
		if utf16.IsSurrogate(r) {
			if i+3 < len(text) {
				r = utf16.DecodeRune(r, unit(i+2))
			}
			if i += 2; utf16.IsSurrogate(r) || r == utf8.RuneError {
				return nil, wrong("half of a character")
			}
		}
		decoded = utf8.AppendRune(decoded, r)
	}
	if len(text)%2 != 0 {
		return nil, wrong("half of a character at the end")
	}
	return withoutMark(decoded), nil
}

// validPrefix is how many bytes of the text are UTF-8 before the first that are not.
func validPrefix(text []byte) int {
	n := 0
	for n < len(text) {
		r, size := utf8.DecodeRune(text[n:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		n += size
	}
	return n
}

// Separators are the signs between cells that are found where none is given, those that nobody writes inside a name first.
const separators = "\t;,"

// noSeparator stands between the cells of a file of one column: a sign that no text holds.
const noSeparator = '\x1f'

// findSeparator is the sign that divides the header and the row below it into as many cells, else one that divides the
// header; of several the first of separators. noSeparator where the header has none of them.
func findSeparator(text []byte) rune {
	header, rest := countSeparators(text)
	row, _ := countSeparators(rest)
	for _, c := range separators {
		if header[c] > 0 && header[c] == row[c] {
			return c
		}
	}
	for _, c := range separators {
		if header[c] > 0 {
			return c
		}
	}
	return noSeparator
}

// countSeparators counts the separators outside quotation marks in a text's first row that holds anything, and returns
// what follows it.
func countSeparators(text []byte) (counts map[rune]int, rest []byte) {
	text = bytes.TrimLeft(text, "\r\n")
	counts = map[rune]int{}
	quoted := false
	for i, b := range text {
		switch {
		case b == '"':
			quoted = !quoted
		case quoted:
		case b == '\n':
			return counts, text[i+1:]
		case strings.IndexByte(separators, b) >= 0:
			counts[rune(b)]++
		}
	}
	return counts, nil
}
