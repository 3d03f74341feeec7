package specs

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"sagitta/inspect"
	"sagitta/station/web/show"
)

// parse reads what is typed for a key; there is false where that leaves it out.
func (s *sheet) parse(of *slot, typed string, length bool) (v any, there bool, err error) {
	takes := of.takes
	if takes.Kind() == reflect.Pointer {
		takes = takes.Elem()
	}
	switch {
	case of.boxes():
		if typed == asUsual {
			return nil, false, nil
		}
		return anys(strings.FieldsFunc(typed, func(r rune) bool { return r == '\n' })), true, nil
	case takes.Kind() == reflect.Bool:
		return typed == yes, typed == yes || typed == "no" && !of.box(), nil
	case takes.Kind() == reflect.String:
		return typed, typed != "" || !of.optional && !hasUsual(of.path), nil
	case typed == "":
		return nil, false, nil
	case takes == reflect.TypeFor[inspect.Index](), takes == reflect.TypeFor[inspect.StringList]():
		if strings.EqualFold(typed, "each") {
			return "each", true, nil
		}
	}
	switch takes.Kind() {
	case reflect.Slice:
		return s.numbers(takes.Elem(), typed, length)
	case reflect.Float64:
		v, err := s.number(typed, length)
		return v, true, err
	case reflect.Struct:
		if takes == reflect.TypeFor[inspect.StringList]() {
			return s.numbers(reflect.TypeFor[int](), typed, false)
		}
	}
	n, err := strconv.ParseInt(typed, 10, 64)
	if err != nil {
		return nil, true, fmt.Errorf("%q is not a whole number.", typed)
	}
	return n, true, nil
}

// hasUsual says that a text is chosen and may be left out.
func hasUsual(path string) bool {
	k := said[path]
	return len(k.choices) > 0 && k.choices[0].value == ""
}

func (s *sheet) number(typed string, length bool) (float64, error) {
	if length {
		mm, err := show.ParseLength(typed, s.lengths)
		if err != nil {
			return 0, fmt.Errorf("%q is not a length, as in 0.25 or 7/64 in.", typed)
		}
		return mm, nil
	}
	v, err := show.ParseNumber(typed)
	if err != nil {
		return 0, fmt.Errorf("%q is not a number.", typed)
	}
	return v, nil
}

// numbers reads numbers with commas or blanks between, or none.
func (s *sheet) numbers(of reflect.Type, typed string, length bool) (any, bool, error) {
	entries := []any{}
	if strings.EqualFold(typed, noneOf) {
		return entries, true, nil
	}
	for word := range strings.FieldsFuncSeq(typed, func(r rune) bool { return r == ',' || r == ' ' || r == ';' }) {
		if of.Kind() == reflect.Float64 {
			v, err := s.number(word, length)
			if err != nil {
				return nil, true, err
			}
			entries = append(entries, v)
			continue
		}
		n, err := strconv.ParseInt(word, 10, 64)
		if err != nil {
			return nil, true, fmt.Errorf("%q is not a whole number; write them as in 1, 6, or none.", word)
		}
		entries = append(entries, n)
	}
	return entries, true, nil
}

func anys(texts []string) []any {
	all := make([]any, len(texts))
	for i, t := range texts {
		all[i] = t
	}
	return all
}
