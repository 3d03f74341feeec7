package trend

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// comparison is what two sets of first measurements have in common, what differs first.
type comparison struct {
	Sentence string
	Chart    *show.Chart
	Rows     []comparedRow
	Strong   string // what the strong mark means
	Like     string // what is alike, "" where nothing is compared like with like
}

// comparedRow is one characteristic of both sides.
type comparedRow struct {
	No                   int
	Key, Name, Unit      string
	LinkA, LinkB         string
	NA, NB               int
	MeanA, SDA           string
	MeanB, SDB           string
	Difference, Interval string // of the means, A less B
	Ratio, RatioInterval string // of the standard deviations, A by B
	Like                 string // difference of the means like with like, with its interval
	LikeSort             float64
	Mark                 string // "", "mean", "spread", "mean and spread": beyond chance
	DifferenceSort       float64
	RatioSort            float64
	Strong               bool // beyond chance even among so many comparisons
	p                    float64
	effect, low, high    float64 // difference of the means in pooled standard deviations
	hasEffect            bool
}

// chartedComparisons is how many characteristics the picture of a comparison holds.
const chartedComparisons = 30

// values compares every characteristic that both sides have. One comparison in twenty differs at 95 % confidence where
// nothing does; what differs at 1 - 0.05/m of m comparisons stands out among all of them (Bonferroni's inequality: O. J.
// Dunn, Journal of the American Statistical Association 56 (1961) 52-64).
//
// Where sets can be compared like with like it is that difference of the means that counts; that of all put together is shown with it.
func (p *comparePage) values(spec *inspect.Spec, sets setValues, lengths unit.Unit) {
	of := map[batch.Named]batch.CharacteristicRow{}
	for _, r := range sets.b {
		of[r.Named] = r
	}
	type pair struct{ a, b batch.CharacteristicRow }
	var pairs []pair
	means, spreads := 0, 0
	for _, r := range sets.a {
		o, ok := of[r.Named]
		if !ok || r.N == 0 || o.N == 0 {
			continue
		}
		pairs = append(pairs, pair{r, o})
		if _, ok := batch.DifferenceOfMeans(r.Moments, o.Moments, show.Confidence); ok {
			means++
		}
		if _, ok := batch.RatioOfDeviations(r.Moments, o.Moments, show.Confidence); ok {
			spreads++
		}
	}
	out := &p.Answer
	strict := (1 - show.Confidence) / float64(max(1, means+spreads))
	differ, strong := 0, 0
	for _, pr := range pairs {
		within, told := batch.Comparison{}, 0
		if sets.split {
			within, told = sets.within(pr.a.Named, show.Confidence)
		}
		row, n, s := comparedOf(spec, pr.a, pr.b, likeMean{within, told, sets.split}, strict, lengths)
		row.LinkA, row.LinkB = p.linkA(row.Key), p.linkB(row.Key)
		differ, strong = differ+n, strong+s
		out.Rows = append(out.Rows, row)
	}
	slices.SortStableFunc(out.Rows, func(a, b comparedRow) int { return cmp.Compare(a.p, b.p) })
	for i := range out.Rows {
		out.Rows[i].No = i + 1
	}
	p.Sentence = p.Difference
	if sets.split {
		out.Like = sets.like
	}
	all := means + spreads
	if all == 0 {
		out.Sentence = "No characteristic was measured often enough on both sides to be compared."
		return
	}
	expected := float64(all) * (1 - show.Confidence)
	out.Sentence = fmt.Sprintf("Of %s and %s compared, %s beyond chance taken one by one; about %s of %d would where nothing differs.",
		tell.Counted(means, "mean", "means"), tell.Counted(spreads, "standard deviation", "standard deviations"), show.Pick(differ == 1, "1 differs", fmt.Sprintf("%d differ", differ)),
		show.Fixed(expected, pickDecimals(expected), false), all)
	switch {
	case strong > 0:
		out.Sentence += fmt.Sprintf(" %s out even among so many.", tell.Counted(strong, "stands", "stand"))
	case differ > 0:
		out.Sentence += " None stands out among so many."
	}
	out.Strong = fmt.Sprintf("A wrench marks what stands out among %s: p below %s.", tell.Counted(all, "comparison", "comparisons"), show.Digits(strict))
	out.draw(p.NameA, p.NameB)
}

// apart takes out of a's rows what both sides have but took over different datum frets, which makes them different quantities,
// and adds to the notes which those are.
func (p *comparePage) apart(specA, specB *inspect.Spec, a, b []batch.CharacteristicRow) (notes []string, left []batch.CharacteristicRow) {
	da, db := specA.Datum, specB.Datum
	if da.FirstFret == db.FirstFret && da.SecondFret == db.SecondFret {
		return p.Notes, a
	}
	var names []string
	for _, r := range a {
		if !(inspect.KindOf(r.Name).Datum || r.Name == inspect.Twist) {
			left = append(left, r)
			continue
		}
		name := inspect.Name(r.Name)
		if !slices.Contains(names, name) && slices.ContainsFunc(b, func(o batch.CharacteristicRow) bool { return o.Named == r.Named }) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return p.Notes, left
	}
	return append(p.Notes, fmt.Sprintf("Not compared, for the datum frets differ: %s, over frets %d–%d in batch %s and over frets %d–%d in batch %s.",
		strings.Join(names, ", "), da.FirstFret, da.SecondFret, p.NameA, db.FirstFret, db.SecondFret, p.NameB)), left
}

// pickDecimals writes a small expected number with a decimal.
func pickDecimals(v float64) int {
	if v < 9.5 {
		return 1
	}
	return 0
}

// comparedOf compares one characteristic; differ and strong count its comparisons that lie beyond chance.
func comparedOf(spec *inspect.Spec, a, b batch.CharacteristicRow, like likeMean, strict float64, lengths unit.Unit) (row comparedRow, differ, strong int) {
	in := a.Unit
	number := func(v float64, signed bool) string { return show.Value(v, in, lengths, signed) }
	row = comparedRow{Key: a.Named.Key(), Name: tell.Upper(comparedName(spec, a.Named)), Unit: show.UnitOf(in, lengths), NA: a.N, NB: b.N,
		MeanA: number(a.Mean, inspect.KindOf(a.Name).Signed), MeanB: number(b.Mean, inspect.KindOf(a.Name).Signed), SDA: "–", SDB: "–", Difference: "–", Ratio: "–", p: 1}
	sa, okA := a.SD()
	sb, okB := b.SD()
	if okA {
		row.SDA = number(sa, false)
	}
	if okB {
		row.SDB = number(sb, false)
	}
	mark := func(c batch.Comparison, word string) {
		row.p = min(row.p, c.P)
		if c.P < 1-show.Confidence {
			differ++
			row.Mark = show.Pick(row.Mark == "", word, row.Mark+" and "+word)
		}
		if c.P < strict {
			strong++
			row.Strong = true
		}
	}
	if d, ok := batch.DifferenceOfMeans(a.Moments, b.Moments, show.Confidence); ok {
		row.Difference, row.Interval = number(d.Value, true), number(d.Low, true)+" to "+number(d.High, true)
		row.DifferenceSort = d.Value
		row.Like = "–"
		switch {
		case !like.split:
			mark(d, "mean")
		case like.told > 0:
			row.Like, row.LikeSort = number(like.Value, true)+" ("+number(like.Low, true)+" to "+number(like.High, true)+")", like.Value
			mark(like.Comparison, "mean")
		}
		if like.split && d.P < strict && !(like.told > 0 && like.P < 1-show.Confidence && like.Value*d.Value > 0) {
			row.Mark = strings.TrimPrefix(row.Mark+", mean only put together", ", ")
		}
		drawn := d
		if like.split {
			drawn = like.Comparison
		}
		if pooled := math.Sqrt((a.M2 + b.M2) / float64(a.N+b.N-2)); pooled > 0 && (!like.split || like.told > 0) {
			row.effect, row.low, row.high, row.hasEffect = drawn.Value/pooled, drawn.Low/pooled, drawn.High/pooled, true
		}
	}
	if r, ok := batch.RatioOfDeviations(a.Moments, b.Moments, show.Confidence); ok {
		row.Ratio, row.RatioInterval = show.Fixed(r.Value, 2, false), show.Fixed(r.Low, 2, false)+" to "+show.Fixed(r.High, 2, false)
		row.RatioSort = r.Value
		mark(r, "spread")
	}
	return row, differ, strong
}

// likeMean is a difference of means like with like, of sets that have more than one stratum.
type likeMean struct {
	batch.Comparison
	told  int // values of the first set that have others beside them
	split bool
}

// comparedName names a characteristic; where several models are put together without what only one of them says of it.
func comparedName(spec *inspect.Spec, n batch.Named) string {
	if spec != nil {
		return show.SeriesWords(spec, n)
	}
	words := inspect.Name(n.Name)
	if place := inspect.Place(n.Track, n.String, n.Fret); place != "" {
		words += ", " + place
	}
	if n.HeldFret > 0 {
		words += ", " + inspect.Pressed(n.HeldFret)
	}
	return words
}

// draw shows the differences of the means, each in its own standard deviation, so that all units stand on one axis.
func (o *comparison) draw(a, b string) {
	c := show.Chart{ID: "differences", Spoken: "Differences of the means with their intervals; the table has the numbers.",
		Caption: fmt.Sprintf("%s less %s, means with 95 %% intervals in standard deviations of the necks, in the order of the table. Triangles: beyond chance even among so many. Diamonds: beyond chance taken one by one.", tell.Upper(a), b),
		X:       show.Axis{Title: "number in the table"}, Y: show.Axis{Title: "difference of means, standard deviations", Decimals: 1}, Marks: []show.Mark{{At: 0, Words: "no difference", Kind: "centre"}}}
	points, bars := show.Series{Name: "difference", Kind: "points"}, show.Series{Name: "interval", Kind: "line", Hue: 1}
	for _, r := range o.Rows {
		if !r.hasEffect || len(points.Points) == chartedComparisons {
			continue
		}
		x := float64(len(points.Points))
		c.X.Names = append(c.X.Names, fmt.Sprint(r.No))
		at := show.Point{X: x, Y: show.Y(r.effect), Link: r.LinkA, Words: fmt.Sprintf("%d %s: %s %s (%s)", r.No, r.Name, r.Difference, r.Unit, r.Interval)}
		if r.low > 0 || r.high < 0 {
			at.State = show.Pick(r.Strong, "nonconforming", "undecided")
		}
		points.Points = append(points.Points, at)
		bars.Points = append(bars.Points, show.Point{X: x, Y: show.Y(r.low)}, show.Point{X: x, Y: show.Y(r.high)}, show.Point{X: x})
	}
	if len(points.Points) > 0 {
		c.Series = []show.Series{points, bars}
		o.Chart = &c
	}
}
