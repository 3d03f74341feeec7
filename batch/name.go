package batch

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/mtibben/confusables"
	"golang.org/x/text/unicode/norm"
)

// longestName bounds a person's name, in characters.
const longestName = 80

// blankBraille is a braille cell without dots: a character that shows nothing and is no space.
const blankBraille = '\u2800'

// PersonName is a person's name as it is kept: in composed form (Unicode NFC), single spaces between its words. Mendable: it is empty or longer
// than 80 characters, or it holds what is no text, a control, format or direction character, which would change how what stands beside it reads.
func PersonName(typed string) (string, error) {
	if !utf8.ValidString(typed) {
		return "", Mendable.Errorf("the name holds bytes that are no text (UTF-8); type it anew")
	}
	name := norm.NFC.String(strings.Join(strings.Fields(typed), " "))
	for _, r := range name {
		if !unicode.IsPrint(r) || r == blankBraille || unicode.In(r, unicode.Cf, unicode.Co, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point) {
			return "", Mendable.Errorf("the name holds the character %U, which is not seen or turns the direction of its neighbours; leave it out", r)
		}
	}
	switch n := utf8.RuneCountInString(name); {
	case n == 0:
		return "", Mendable.Errorf("found no name")
	case n > longestName:
		return "", Mendable.Errorf("the name has %d characters; at most %d are allowed", n, longestName)
	case strings.IndexFunc(name, unicode.IsLetter) < 0:
		return "", Mendable.Errorf("the name %q has no letter", name)
	}
	return name, nil
}

// LooksLike says whether two names are taken for one another when they are read: by the skeletons of Unicode Technical Standard 39, whatever
// the case of the letters and the spaces between them.
func LooksLike(a, b string) bool {
	return skeleton(a) == skeleton(b) || skeleton(folded(a)) == skeleton(folded(b)) // a capital and its small letter may look like different letters
}

func skeleton(name string) string { return confusables.Skeleton(folded(confusables.Skeleton(name))) }

func folded(name string) string { return strings.ToLower(strings.ReplaceAll(name, " ", "")) }
