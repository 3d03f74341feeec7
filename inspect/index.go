package inspect

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
)

// each is the word that stands for every track, string or fret.
const each = "each"

// EachIndex is the index "each".
func EachIndex() Index { return Index{Each: true} }

// NumberIndex is the index of one string or fret.
func NumberIndex(n int) Index { return Index{Number: n} }

// IsZero reports that the index is absent.
func (i Index) IsZero() bool { return i == Index{} }

// String is "each", the number, or "" when absent.
func (i Index) String() string {
	switch {
	case i.Each:
		return each
	case i.Number == 0:
		return ""
	}
	return strconv.Itoa(i.Number)
}

// MarshalText is String; it never fails.
func (i Index) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// UnmarshalText reads "each", a number from 1, or nothing.
func (i *Index) UnmarshalText(text []byte) error {
	switch s := string(text); s {
	case "":
		*i = Index{}
	case each:
		*i = EachIndex()
	default:
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			return fmt.Errorf("found %q: give \"each\" or a number from 1", s)
		}
		*i = NumberIndex(n)
	}
	return nil
}

// MarshalJSON writes "each", a number, or null when absent.
func (i Index) MarshalJSON() ([]byte, error) {
	switch {
	case i.Each:
		return json.Marshal(each)
	case i.Number == 0:
		return []byte("null"), nil
	}
	return json.Marshal(i.Number)
}

// UnmarshalJSON reads "each", a number from 1 (with or without quotes), or null.
func (i *Index) UnmarshalJSON(data []byte) error {
	return i.UnmarshalText(unquoted(data))
}

// unquoted returns the text of a JSON word or number; null is no text.
func unquoted(data []byte) []byte {
	var word string
	switch {
	case string(data) == "null":
		return nil
	case json.Unmarshal(data, &word) == nil:
		return []byte(word)
	}
	return data
}

// IsZero reports that the list is absent.
func (l StringList) IsZero() bool { return !l.Each && l.Numbers == nil }

// MarshalText is "each" or the numbers with commas between; it never fails.
func (l StringList) MarshalText() ([]byte, error) {
	if l.Each {
		return []byte(each), nil
	}
	words := make([]string, len(l.Numbers))
	for i, n := range l.Numbers {
		words[i] = strconv.Itoa(n)
	}
	return []byte(strings.Join(words, ",")), nil
}

// UnmarshalText reads "each", numbers with commas between, or nothing.
func (l *StringList) UnmarshalText(text []byte) error {
	*l = StringList{}
	switch s := string(text); s {
	case "":
	case each:
		l.Each = true
	default:
		for word := range strings.SplitSeq(s, ",") {
			n, err := strconv.Atoi(strings.TrimSpace(word))
			if err != nil || n < 1 {
				return fmt.Errorf("found %q: give \"each\" or a list of string numbers from 1", s)
			}
			l.Numbers = append(l.Numbers, n)
		}
	}
	return nil
}

// MarshalJSON writes "each" or an array of numbers.
func (l StringList) MarshalJSON() ([]byte, error) {
	if l.Each {
		return json.Marshal(each)
	}
	return json.Marshal(l.Numbers)
}

// UnmarshalJSON reads "each", an array of numbers from 1, or null.
func (l *StringList) UnmarshalJSON(data []byte) error {
	var numbers []int
	if err := json.Unmarshal(data, &numbers); err != nil {
		return l.UnmarshalText(unquoted(data))
	}
	for _, n := range numbers {
		if n < 1 {
			return fmt.Errorf("found string %d: give \"each\" or a list of string numbers from 1", n)
		}
	}
	*l = StringList{Numbers: numbers}
	return nil
}
