package specs

import (
	"reflect"
	"strings"

	"sagitta/inspect"
)

// slot is a key that the strict reader of specifications knows, and what it takes.
type slot struct {
	path     string // without the numbers of lists; a limit's bounds of all units are "limit.lower", "limit.target", "limit.upper"
	table    string // that it is in
	takes    reflect.Type
	optional bool // it may be left out
	length   bool // mm
}

// slots are the reader's keys; lists are the tables of which there may be several, by their path.
var slots, lists = readerKeys()

func readerKeys() (all []slot, several map[string]bool) {
	several = map[string]bool{}
	seen := map[string]bool{}
	var walk func(of reflect.Type, table string)
	walk = func(of reflect.Type, table string) {
		for i := range of.NumField() {
			f := of.Field(i)
			name, options, _ := strings.Cut(f.Tag.Get("toml"), ",")
			path, takes := joined(table, name), f.Type
			if takes.Kind() == reflect.Pointer && takes.Elem().Kind() == reflect.Struct {
				takes = takes.Elem()
			}
			if takes.Kind() == reflect.Slice && takes.Elem().Kind() == reflect.Struct {
				several[path] = true
				walk(takes.Elem(), path)
				continue
			}
			if takes.Kind() == reflect.Struct && takes != reflect.TypeFor[inspect.Index]() && takes != reflect.TypeFor[inspect.StringList]() {
				walk(takes, path)
				continue
			}
			s := slot{path: path, table: table, takes: takes, optional: strings.HasPrefix(options, "omit"), length: strings.HasSuffix(name, "_mm")}
			if bound, _, is := boundOf(path); is {
				s.path, s.length = bound, false
			}
			if !seen[s.path] {
				all = append(all, s)
			}
			seen[s.path] = true
		}
	}
	walk(reflect.TypeFor[inspect.Spec](), "")
	return all, several
}

// boundOf tells a limit's bound without its unit: "limit.lower_mm" is "limit.lower" in mm.
func boundOf(path string) (bound, unit string, is bool) {
	rest, found := strings.CutPrefix(path, "limit.")
	name, unit, cut := strings.Cut(rest, "_")
	if !found || !cut || name != "lower" && name != "target" && name != "upper" {
		return "", "", false
	}
	return "limit." + name, unit, true
}

func joined(table, name string) string {
	if table == "" {
		return name
	}
	return table + "." + name
}

// byPath are the slots by their path, said what the form says of each key, inTable the keys of each table in the form's order; a key
// that the list of keys does not have is still a field, under its own name.
var byPath, said, inTable = func() (map[string]*slot, map[string]key, map[string][]key) {
	by, said, in := map[string]*slot{}, map[string]key{}, map[string][]key{}
	for i := range slots {
		by[slots[i].path] = &slots[i]
	}
	for _, k := range keys {
		if of := by[k.path]; of != nil {
			said[k.path], in[of.table] = k, append(in[of.table], k)
		}
	}
	for _, of := range slots {
		if _, listed := said[of.path]; !listed {
			k := key{path: of.path, label: of.path[strings.LastIndex(of.path, ".")+1:]}
			said[of.path], in[of.table] = k, append(in[of.table], k)
		}
	}
	return by, said, in
}()
