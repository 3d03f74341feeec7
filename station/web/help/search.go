package help

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/tell"
)

// longestQuery bounds what is looked for, characters.
const longestQuery = 100

// search finds the topics that a text is about: those of all its words, else those of any. Words of the title count most, then other
// names, then what the page says. Mendable: a text that is too long.
func search(text string) (listPage, error) {
	p := listPage{Query: strings.TrimSpace(text)}
	if n := len([]rune(p.Query)); n > longestQuery {
		return p, batch.Mendable.Errorf("What is looked for has %d characters; at most %d are allowed", n, longestQuery)
	}
	if p.Query == "" {
		p.Groups = allViews()
		return p, nil
	}
	words := wordsOf(p.Query)
	type hit struct {
		topic
		words, weight int
	}
	var hits []hit
	most := 0
	for _, g := range groups() {
		for _, t := range g.Topics {
			h := hit{topic: t}
			for _, w := range words {
				if weight := t.weight(w); weight > 0 {
					h.words, h.weight = h.words+1, h.weight+weight
				}
			}
			if t.named(words) {
				h.weight += 100
			}
			if h.words > 0 {
				hits, most = append(hits, h), max(most, h.words)
			}
		}
	}
	slices.SortStableFunc(hits, func(a, b hit) int { return cmp.Compare(b.weight, a.weight) })
	for _, h := range hits {
		if h.words == most {
			p.Found = append(p.Found, viewOf(h.topic))
		}
	}
	switch {
	case len(p.Found) == 0:
		p.Sentence = fmt.Sprintf("No page is about “%s”. All pages are listed below.", p.Query)
		p.Groups = allViews()
		p.Meant = meant(words)
	case most < len(words):
		p.Sentence = fmt.Sprintf("No page has all of these words; %s some.", tell.Counted(len(p.Found), "page has", "pages have"))
	default:
		p.Sentence = tell.Counted(len(p.Found), "page is", "pages are") + fmt.Sprintf(" about “%s”.", p.Query)
	}
	return p, nil
}

// named says that words are a topic's title or one of its other names.
func (t topic) named(words []string) bool {
	return slices.ContainsFunc(t.names(), func(name string) bool { return slices.Equal(wordsOf(name), words) })
}

// weight is how much a topic is about a word: 0 where it is not.
func (t topic) weight(word string) int {
	for _, of := range []struct {
		texts  []string
		weight int
	}{{[]string{t.heading()}, 20}, {t.names(), 10}, {[]string{t.remedyWords()}, 4}, {t.Is, 3}, {t.How, 1}, {t.Out, 1}} {
		for _, text := range of.texts {
			if slices.Contains(wordsOf(text), word) {
				return of.weight
			}
		}
	}
	return 0
}

// remedyWords are the defects that a topic's remedies are for, with their causes.
func (t topic) remedyWords() string {
	var all []string
	for _, r := range t.remedies() {
		all = append(append(all, r.Defect), r.Causes...)
	}
	return strings.Join(all, " ")
}

// meant is a word of the topics' names that is near to one of those looked for, "" for none.
func meant(words []string) string {
	var known []string
	for _, g := range groups() {
		for _, t := range g.Topics {
			for _, name := range t.names() {
				known = append(known, wordsOf(name)...)
			}
		}
	}
	for _, w := range words {
		if len(w) > 3 {
			if near := files.Nearest(w, known); near != "" {
				return near
			}
		}
	}
	return ""
}

// wordsOf are a text's words in small letters, "back-bow" and "backbow" alike, one and several alike.
func wordsOf(text string) []string {
	text = strings.NewReplacer("-", "", "’", "'").Replace(strings.ToLower(text))
	words := strings.FieldsFunc(text, func(r rune) bool { return !strings.ContainsRune("abcdefghijklmnopqrstuvwxyz0123456789äöüé'", r) })
	for i, w := range words {
		w = strings.TrimSuffix(w, "'s")
		if len(w) > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") {
			w = strings.TrimSuffix(w, "s")
		}
		words[i] = w
	}
	return words
}

// firstSentence is a text's first sentence.
func firstSentence(paragraphs []string) string {
	if len(paragraphs) == 0 {
		return ""
	}
	first, _, more := strings.Cut(paragraphs[0], ". ")
	if more {
		return first + "."
	}
	return first
}
