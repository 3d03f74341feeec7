package files

import (
	"cmp"
	"maps"
	"reflect"
	"slices"
	"strings"

	"sagitta/inspect"
)

// Rewrite writes a specification into the text of an older one: a key whose value is the same keeps its text, one whose value
// changed gets the new value in its place, and remarks stay where they are, but for one behind a value that changed: it may speak of
// the old one. What went is taken out, what is new follows where its table ends. ReadSpec of the result gives exactly s. kept is false where the old text is written in a way that this cannot
// follow (tables in braces, keys with points): then all of it is written anew, without remarks.
func Rewrite(text []byte, s *inspect.Spec) (written []byte, kept bool) {
	if old, err := ReadSpec("", text); err == nil {
		if written, ok := rewritten(text, old, s); ok {
			if again, err := ReadSpec("", written); err == nil && reflect.DeepEqual(again, s) {
				return written, true
			}
		}
	}
	return WriteSpec(s), false
}

// block is a table's part of a text: remarks that stand right over its head, its lines, and blank lines up to the next.
type block struct {
	path  string // without [..]; "" is the text before the first table
	list  bool
	lead  string
	text  string
	value *table // what it said; nil where it says nothing that counts
	keys  []blockKey
	entry int // of its list
}

// blockKey is where a key stands in its block's text.
type blockKey struct {
	name             string
	line, value, end int // where its line begins, its value begins and ends
}

func rewritten(text []byte, old, s *inspect.Spec) ([]byte, bool) {
	blocks, ok := blocksOf(text)
	if !ok {
		return nil, false
	}
	was, is := flat(tableOf(reflect.ValueOf(old).Elem(), ""), ""), flat(tableOf(reflect.ValueOf(s).Elem(), ""), "")
	for i := range blocks {
		if entries := was[blocks[i].path]; blocks[i].entry < len(entries.tables) {
			blocks[i].value = entries.tables[blocks[i].entry]
		}
	}
	var out strings.Builder
	written := map[string]bool{}
	for _, b := range blocks {
		if written[b.path] {
			continue
		}
		written[b.path] = true
		now, there := is[b.path]
		if !there {
			continue
		}
		out.WriteString(b.lead)
		for _, piece := range pieces(blocks, b.path, now) {
			addPiece(&out, piece)
		}
	}
	for _, path := range slices.SortedFunc(maps.Keys(is), func(a, b string) int { return cmp.Compare(is[a].place, is[b].place) }) {
		if entries := is[path]; !written[path] {
			for _, t := range entries.tables {
				if len(t.keys) > 0 || entries.list || len(t.subs) == 0 {
					addPiece(&out, newPiece(path, entries.list, t))
				}
			}
		}
	}
	return []byte(out.String()), true
}

// piece is the text of a table as it will be.
type piece struct {
	text  string
	fresh bool // it was not in the text, or stood elsewhere
}

func newPiece(path string, list bool, t *table) piece {
	var b strings.Builder
	b.WriteString(headOf(path, list) + "\n")
	for _, k := range t.keys {
		b.WriteString(k.line())
	}
	return piece{b.String(), true}
}

// addPiece puts a table's text at the end, on a line of its own and, where it is new, after a blank one.
func addPiece(out *strings.Builder, p piece) {
	if so := out.String(); p.fresh && so != "" && !strings.HasSuffix(so, "\n\n") && !strings.HasSuffix(so, "\n\r\n") {
		if !strings.HasSuffix(so, "\n") {
			out.WriteByte('\n')
		}
		out.WriteByte('\n')
	} else if so != "" && !strings.HasSuffix(so, "\n") {
		out.WriteByte('\n')
	}
	out.WriteString(p.text)
}

// flatTables are the tables of one path and their place in the file's order.
type flatTables struct {
	list   bool
	tables []*table
	place  int
}

// flat lists a table and all in it by path.
func flat(t *table, path string) map[string]flatTables {
	all := map[string]flatTables{}
	var add func(t *table, path string, list bool)
	add = func(t *table, path string, list bool) {
		f, there := all[path]
		if !there {
			f.place = len(all)
		}
		f.list, f.tables = list, append(f.tables, t)
		all[path] = f
		for _, sub := range t.subs {
			for _, e := range sub.entries {
				add(e, join(path, sub.name), sub.list)
			}
		}
	}
	add(t, path, false)
	return all
}

// pieces are the texts of all tables of one path, in their new order. Each takes the text of the old table that is most like it.
func pieces(blocks []block, path string, now flatTables) []piece {
	var old []block
	for _, b := range blocks {
		if b.path == path {
			old = append(old, b)
		}
	}
	from := matches(old, now.tables)
	out := make([]piece, len(now.tables))
	for i, t := range now.tables {
		if from[i] < 0 {
			out[i] = newPiece(path, now.list, t)
			continue
		}
		b := old[from[i]]
		text := b.with(t)
		if from[i] > 0 { // the first one's remarks stand over all of the list
			text = b.lead + text
		}
		out[i] = piece{text, false}
	}
	return out
}

// matches says for each new table which old one it came from, -1 for none: first those that say the same, then those that have
// most in common.
func matches(old []block, now []*table) []int {
	from := make([]int, len(now))
	taken := make([]bool, len(old))
	take := func(i int, like func(i, j int) int) {
		most := 0
		for j := range old {
			if taken[j] || old[j].value == nil {
				continue
			}
			if n := like(i, j); n > most {
				most, from[i] = n, j
			}
		}
		if most > 0 {
			taken[from[i]] = true
		}
	}
	for i := range now {
		from[i] = -1
		take(i, func(i, j int) int {
			if reflect.DeepEqual(old[j].value.keys, now[i].keys) {
				return len(old) - j // the first of several
			}
			return 0
		})
	}
	alone := len(old) == 1 && len(now) == 1
	for i := range now {
		if from[i] < 0 {
			take(i, func(i, j int) int {
				if n := now[i].common(old[j].value); n > 0 || alone {
					return max(1, 1000*n-max(i-j, j-i)) // of two that are alike, the nearer
				}
				return 0
			})
		}
	}
	return from
}

// common is how many keys of two tables say the same.
func (t *table) common(o *table) (n int) {
	for _, k := range t.keys {
		if v, there := o.find(k.name); there && reflect.DeepEqual(v, k.value) {
			n++
		}
	}
	return n
}

func (t *table) find(name string) (any, bool) {
	for _, k := range t.keys {
		if k.name == name {
			return k.value, true
		}
	}
	return nil, false
}

// with is the block's text with the values of a table.
func (b block) with(t *table) string {
	var out strings.Builder
	at, end := 0, 0
	said := map[string]bool{}
	for _, k := range b.keys {
		said[k.name] = true
		was, before := b.value.find(k.name)
		is, now := t.find(k.name)
		switch {
		case before == now && reflect.DeepEqual(was, is):
			end = lineEnd(b.text, k.end)
		case now:
			out.WriteString(b.text[at:k.value] + tomlValue(is) + "\n")
			at = lineEnd(b.text, k.end)
			end = at
		default:
			out.WriteString(b.text[at:k.line])
			at = lineEnd(b.text, k.end)
			end = at
		}
	}
	if end == 0 { // a table without keys: what is new stands under its head
		end = lineEnd(b.text, 0)
		if b.path == "" {
			end = 0
		}
	}
	out.WriteString(b.text[at:end])
	for _, k := range t.keys {
		if !said[k.name] {
			if so := out.String(); so != "" && !strings.HasSuffix(so, "\n") {
				out.WriteByte('\n')
			}
			out.WriteString(k.line())
		}
	}
	out.WriteString(b.text[end:])
	return out.String()
}

// lineEnd is where the line ends in which a place of a text lies, its line feed included.
func lineEnd(text string, at int) int {
	if i := strings.IndexByte(text[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(text)
}
