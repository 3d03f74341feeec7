package infer

import (
	"fmt"
	"regexp"
	"strings"
)

// span is a stretch of bytes, to not among them.
type span struct{ from, to int }

// numbersIn finds the stretches of digits with at most one point or comma in them; a comma beside a point parts two.
func numbersIn(b []byte) []span {
	var found []span
	for i := 0; i < len(b); {
		if !isDigit(b[i]) && !(isPoint(b[i]) && i+1 < len(b) && isDigit(b[i+1])) {
			i++
			continue
		}
		to := i
		for to < len(b) && (isDigit(b[to]) || isPoint(b[to])) {
			to++
		}
		for to > i && isPoint(b[to-1]) {
			to--
		}
		found = append(found, parted(b, i, to)...)
		i = to + 1
	}
	return found
}

func isPoint(b byte) bool { return b == '.' || b == ',' }

// parted parts a stretch of digits, points and commas into numbers.
func parted(b []byte, from, to int) []span {
	points, commas := 0, 0
	for _, v := range b[from:to] {
		switch v {
		case '.':
			points++
		case ',':
			commas++
		}
	}
	if points+commas <= 1 {
		return []span{{from, to}}
	}
	at := byte(',')
	if points > 1 {
		at = '.'
	}
	if points > 1 && commas > 1 {
		return nil
	}
	var found []span
	for i := from; i <= to; i++ {
		if i == to || b[i] == at {
			if i > from {
				found = append(found, span{from, i})
			}
			from = i + 1
		}
	}
	return found
}

// region widens a number's stretch to its sign and the blanks before it.
func region(b []byte, s span) span {
	i := s.from
	for i > 0 && b[i-1] == ' ' {
		i--
	}
	if i > 0 && (b[i-1] == '+' || b[i-1] == '-') {
		i--
		for i > 0 && b[i-1] == ' ' {
			i--
		}
	}
	return span{i, s.to}
}

var regionForm = regexp.MustCompile(`^( *)([+-]?)( *)(\d*)([.,]?)(\d*)( *[+-]?)$`)

// written is how a gauge writes its numbers, gathered of several.
type written struct {
	pattern string // with the groups sign and digits
	point   string // "." or ",", "" where none is sent
	places  int    // digits behind it
	whole   int    // most digits before it
	signed  bool   // a plus or minus always stands with it
	minus   bool   // a minus was seen
	fixed   bool   // always as many digits
}

// numberForm makes the pattern of numbers written alike; ok is false where they are not.
func numberForm(regions []string) (w written, ok bool) {
	parts := make([][]string, len(regions))
	for i, r := range regions {
		if parts[i] = regionForm.FindStringSubmatch(r); parts[i] == nil || parts[i][4]+parts[i][6] == "" {
			return w, false
		}
	}
	g := gathered(regions, parts)
	if g.points > 1 || g.trailing > 0 && (g.trailing < len(regions) || g.plus+g.minus > 0) {
		return w, false
	}
	w.point, w.places, w.whole = parts[0][5], g.maxPlaces, g.maxWhole
	w.signed, w.minus = g.plus+g.minus+g.trailing == len(regions), g.minus+g.trailingMinus > 0
	w.fixed = g.padded && g.minWhole == g.maxWhole
	behind := g.behind(w.point)
	switch {
	case g.trailing > 0:
		w.pattern = blanks(0, g.maxLead) + `(?P<digits>` + g.wholeDigits(w) + behind + `)` + blanks(g.minBefore, g.maxBefore) + `(?P<sign>[+-])`
	case g.sameWidth && (g.maxBlanks >= 2 || g.minWhole != g.maxWhole && g.maxBlanks > 0):
		w.fixed = true
		w.pattern = g.columns(w, len(regions[0])-len(w.point)-g.maxPlaces, behind)
	default:
		lead, sign := blanks(0, g.maxLead), "[+-]"
		switch {
		case w.signed:
		case g.blankForPlus:
			lead, sign = "", "[ -]"
			if g.plus > 0 {
				sign = "[ +-]"
			}
		default:
			sign = "[+-]?"
		}
		w.pattern = lead + `(?P<sign>` + sign + `)(?P<digits>` + blanks(0, g.maxInner) + g.wholeDigits(w) + behind + `)`
	}
	return w, true
}

// gathering counts what numbers have in common.
type gathering struct {
	plus, minus, trailing, trailingMinus     int
	minWhole, maxWhole, minPlaces, maxPlaces int
	minLead                                  int // before a sign
	maxLead, maxInner, maxBlanks             int
	minBefore, maxBefore                     int // blanks before a trailing sign
	points                                   int // different ones
	padded                                   bool
	sameWidth                                bool
	blankForPlus                             bool // one blank stands where others have their sign
}

func gathered(regions []string, parts [][]string) gathering {
	g := gathering{minWhole: 99, minPlaces: 99, minBefore: 99, minLead: 99, sameWidth: true, blankForPlus: true, padded: true}
	points := map[string]bool{}
	anyPad := false
	for i, p := range parts {
		lead, sign, inner, whole, places := len(p[1]), p[2], len(p[3]), p[4], len(p[6])
		switch sign {
		case "+":
			g.plus++
		case "-":
			g.minus++
		}
		if after := strings.TrimLeft(p[7], " "); after != "" {
			g.trailing++
			if after == "-" {
				g.trailingMinus++
			}
			g.minBefore, g.maxBefore = min(g.minBefore, len(p[7])-1), max(g.maxBefore, len(p[7])-1)
		}
		if sign == "" {
			g.blankForPlus = g.blankForPlus && lead == 1
		} else {
			g.blankForPlus = g.blankForPlus && lead == 0 && inner == 0
			g.minLead = min(g.minLead, lead)
		}
		g.minWhole, g.maxWhole = min(g.minWhole, len(whole)), max(g.maxWhole, len(whole))
		g.minPlaces, g.maxPlaces = min(g.minPlaces, places), max(g.maxPlaces, places)
		g.maxLead, g.maxInner, g.maxBlanks = max(g.maxLead, lead), max(g.maxInner, inner), max(g.maxBlanks, lead+inner)
		g.sameWidth = g.sameWidth && len(regions[i]) == len(regions[0])
		anyPad = anyPad || len(whole) > 1 && whole[0] == '0'
		points[p[5]] = true
	}
	g.points = len(points)
	g.padded = anyPad
	g.blankForPlus = g.blankForPlus && (g.minus > 0 || g.plus > 0) && g.plus+g.minus < len(parts)
	if g.trailing == 0 {
		g.minBefore = 0
	}
	return g
}

// behind is the pattern of the point and what is behind it.
func (g *gathering) behind(point string) string {
	if point == "" {
		return ""
	}
	return regexp.QuoteMeta(point) + digits(g.minPlaces, g.maxPlaces)
}

// wholeDigits is the pattern of the digits before the point.
func (g *gathering) wholeDigits(w written) string {
	switch {
	case w.fixed:
		return digits(g.maxWhole, g.maxWhole)
	case w.point == "":
		return digits(1, max(6, g.maxWhole))
	case g.minWhole == 0:
		return digits(0, max(2, g.maxWhole+1))
	}
	return digits(1, max(3, g.maxWhole+1))
}

// columns is the pattern of numbers that blanks fill to one width: whole is how many characters stand before the point, sign and blanks
// among them.
func (g *gathering) columns(w written, whole int, behind string) string {
	least := 1
	if g.minWhole == 0 {
		least = 0
	}
	sign := "[ +-]"
	if w.signed {
		sign = "[+-]"
	}
	lead := 0
	if g.maxInner > 0 {
		lead = g.minLead
	}
	whole -= lead
	var left, floating []string
	for n := least; n < whole; n++ {
		pad := blanks(whole-1-n, whole-1-n)
		left = append(left, sign+pad+digits(n, n))
		floating = append(floating, pad+sign+digits(n, n))
	}
	forms := floating // the sign stands at the digits
	switch {
	case g.plus+g.minus == 0: // nothing says where it stands
		forms = append(forms, left[:max(0, len(left)-1)]...)
		if g.maxWhole == whole {
			forms = append(forms, digits(whole, whole))
		}
	case g.maxInner > 0: // it stands in a column of its own
		forms = left
	}
	return blanks(lead, lead) + `(?P<digits>(?:` + strings.Join(forms, "|") + `)` + behind + `)`
}

// digits and blanks are patterns of a count of them.
func digits(low, high int) string { return counted(`\d`, low, high) }
func blanks(low, high int) string { return counted(` `, low, high) }

func counted(of string, low, high int) string {
	switch {
	case high == 0:
		return ""
	case low == 0 && high == 1:
		return of + "?"
	case low == 1 && high == 1:
		return of
	case low == high:
		return fmt.Sprintf("%s{%d}", of, low)
	}
	return fmt.Sprintf("%s{%d,%d}", of, low, high)
}
