package files

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// blocksOf cuts a text into its tables. ok is false where a table or key is written in a way that is not followed.
func blocksOf(text []byte) (blocks []block, ok bool) {
	var lines []int // where each begins
	for at := 0; at <= len(text); {
		lines = append(lines, at)
		next := bytes.IndexByte(text[at:], '\n')
		if next < 0 {
			break
		}
		at += next + 1
	}
	var parser unstable.Parser
	body := withoutMark(text)
	mark := len(text) - len(body)
	parser.Reset(body)
	blocks = []block{{}}
	starts := []int{0}
	heads := []int{0}
	counts := map[string]int{}
	type key struct{ block, line int }
	var keys []key
	var names []string
	for parser.NextExpression() {
		e := parser.Expression()
		var words []string
		line := 0
		for k := e.Key(); k.Next(); {
			words = append(words, string(k.Node().Data))
			line = parser.Shape(k.Node().Raw).Start.Line
		}
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			b := block{path: strings.Join(words, "."), list: e.Kind == unstable.ArrayTable}
			b.entry = counts[b.path]
			counts[b.path]++
			blocks = append(blocks, b)
			head := lines[line-1]
			heads, starts = append(heads, head), append(starts, overHead(text, lines, line))
		case unstable.KeyValue:
			if len(words) != 1 || e.Value().Kind == unstable.InlineTable {
				return nil, false
			}
			keys, names = append(keys, key{len(blocks) - 1, lines[line-1]}), append(names, words[0])
		}
	}
	if parser.Error() != nil {
		return nil, false
	}
	for i := range blocks {
		end := len(text)
		if i+1 < len(blocks) {
			end = starts[i+1]
		}
		blocks[i].lead, blocks[i].text = string(text[starts[i]:heads[i]]), string(text[heads[i]:end])
	}
	for i, k := range keys {
		b := &blocks[k.block]
		at := k.line - heads[k.block]
		if k.line == 0 {
			at += mark
		}
		value, end, found := valueIn(b.text, at)
		if !found {
			return nil, false
		}
		b.keys = append(b.keys, blockKey{names[i], at, value, end})
	}
	return blocks, true
}

// overHead is where the remarks begin that stand right over the head on a line counted from 1.
func overHead(text []byte, lines []int, line int) int {
	first := line - 1
	for first > 0 && bytes.HasPrefix(bytes.TrimSpace(text[lines[first-1]:lines[first]]), []byte("#")) {
		first--
	}
	return lines[first]
}

// valueIn finds the value of the key whose line begins at a place of a text.
func valueIn(text string, at int) (value, end int, found bool) {
	equals := strings.IndexByte(text[at:], '=')
	if equals < 0 {
		return 0, 0, false
	}
	value = at + equals + 1
	for value < len(text) && (text[value] == ' ' || text[value] == '\t') {
		value++
	}
	depth := 0
	for i := value; i < len(text); i++ {
		switch c := text[i]; c {
		case '"', '\'':
			closing := closingQuote(text, i)
			if closing < 0 {
				return 0, 0, false
			}
			i = closing
		case '[':
			depth++
		case ']':
			depth--
		case '#', '\n':
			if depth == 0 {
				return value, value + len(strings.TrimRight(text[value:i], " \t\r")), true
			}
			if c == '#' {
				i = lineEnd(text, i) - 1
			}
		}
	}
	return value, value + len(strings.TrimRight(text[value:], " \t\r")), depth == 0
}

// closingQuote is the place of the quote that ends the text begun at one; -1 for a text over several lines.
func closingQuote(text string, at int) int {
	quote := text[at]
	for i := at + 1; i < len(text); i++ {
		switch {
		case text[i] == '\n' || strings.HasPrefix(text[at:], strings.Repeat(fmt.Sprintf("%c", quote), 3)):
			return -1
		case text[i] == '\\' && quote == '"':
			i++
		case text[i] == quote:
			return i
		}
	}
	return -1
}
