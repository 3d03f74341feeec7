package specs

import (
	"fmt"
	"net/http"
	"slices"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/site"
)

// specCompare sets two revisions side by side.
type specCompare struct {
	A, B     specLine
	Parts    []comparedPart
	Sentence string
}

func (s *server) compareSpecs(c *site.Request) error {
	a, _, err := s.findSpec(c, c.Query("a"))
	if err != nil {
		return err
	}
	b, _, err := s.findSpec(c, c.Query("b"))
	if err != nil {
		return err
	}
	parts, differ := compareSpecs(a.Spec.WithDefaults(), b.Spec.WithDefaults(), c.Unit())
	p := specCompare{A: a, B: b, Parts: parts, Sentence: "The two say the same in every field."}
	if differ > 0 {
		p.Sentence = tell.Counted(differ, "field differs; it is marked with ≠.", "fields differ; they are marked with ≠.")
	}
	return c.Show(http.StatusOK, "speccompare", "Two specifications", p)
}

// comparedPart is a part of two revisions side by side.
type comparedPart struct {
	Title  string
	Fields []comparedField
	Differ int
}

// comparedField is one field of two revisions; an empty value is absent from that revision.
type comparedField struct {
	Name, A, B string
	Differs    bool
}

// compareSpecs sets two specifications side by side, field by field, in the first one's order; what only the second
// has follows where its part ends.
func compareSpecs(a, b *inspect.Spec, lengths unit.Unit) (parts []comparedPart, differ int) {
	left, right := tell.Spec(a, lengths), tell.Spec(b, lengths)
	var titles []string
	fieldsOf := func(parts []tell.Part, title string) []tell.Field {
		for _, p := range parts {
			if p.Title == title {
				return p.Fields
			}
		}
		return nil
	}
	for _, p := range left {
		titles = append(titles, p.Title)
	}
	for _, p := range right {
		if !slices.Contains(titles, p.Title) {
			titles = append(titles, p.Title)
		}
	}
	for _, title := range titles {
		part := comparedPart{Title: title}
		at := map[string]int{}
		for _, f := range numbered(fieldsOf(left, title)) {
			at[f.Name] = len(part.Fields)
			part.Fields = append(part.Fields, comparedField{Name: f.Name, A: f.Value})
		}
		for _, f := range numbered(fieldsOf(right, title)) {
			if i, both := at[f.Name]; both {
				part.Fields[i].B = f.Value
			} else {
				part.Fields = append(part.Fields, comparedField{Name: f.Name, B: f.Value})
			}
		}
		for i := range part.Fields {
			part.Fields[i].Differs = part.Fields[i].A != part.Fields[i].B
			if part.Fields[i].Differs {
				part.Differ++
			}
		}
		differ += part.Differ
		if len(part.Fields) > 0 {
			parts = append(parts, part)
		}
	}
	return parts, differ
}

// numbered tells fields of the same name apart: the second of its name becomes "name (2)".
func numbered(fields []tell.Field) []tell.Field {
	seen := map[string]int{}
	out := make([]tell.Field, len(fields))
	for i, f := range fields {
		seen[f.Name]++
		if n := seen[f.Name]; n > 1 {
			f.Name = fmt.Sprintf("%s (%d)", f.Name, n)
		}
		out[i] = f
	}
	return out
}
