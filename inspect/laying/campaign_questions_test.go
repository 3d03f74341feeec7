package laying

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestQuestionsAsked lifts the plunger at a random crown, and counts the questions on necks where nothing is wrong.
func TestQuestionsAsked(t *testing.T) {
	r := rand.New(rand.NewPCG(103, 12))
	for _, scatter := range []float64{0.010, 0.017, 0.030} {
		for _, size := range []float64{0.25, 0.30, 0.40} {
			var asked, right, plunger, moved, then share
			for range 100 * *times {
				n := newBenchNeck(r, 2, "sound", scatter, 0, 0.5)
				wrong := r.IntN(2 * n.Last)
				crowns := n.measure(never, 0, 0)
				crowns[wrong].Z += size * (1 - 2*float64(r.IntN(2)))
				look, taken := n.asked(t, crowns, wrong, lookedAt)
				asked.add(look.Asked)
				if !look.Asked {
					continue
				}
				right.add(look.About == wrong)
				crown, beside := Pair(crowns[:taken], look.About)
				answer := Judge(crown.Z, n.read(crown), beside.Z, n.read(beside), uReading)
				plunger.add(answer == Plunger)
				moved.add(answer == Moved)
				if answer == ItIsSo { // that crown is left out from now on
					said := slices.Delete(slices.Clone(crowns), look.About, look.About+1)
					again, taken := n.asked(t, said, taken-2, len(said))
					found := false
					if again.Asked {
						crown, beside := Pair(said[:taken], again.About)
						found = crown == crowns[wrong] || beside == crowns[wrong]
					}
					then.add(found)
				}
			}
			t.Logf("a crown %.2f mm off, crowns scatter by %.3f mm: asked %v %%, about that crown %v %% of those; answers: plunger %v %%, moved %v %%; "+
				"after a yes about another the next pair has it in %v %% of %d (by the handbook asked 99.6 %% at 0.30 mm, 97.5 where crowns scatter by 0.030)", size, scatter, asked, right, plunger, moved, then, then.of)
			if size >= 0.3 && scatter <= 0.017 {
				asked.bound(t, fmt.Sprintf("questions about crowns %v mm off, scatter %v mm", size, scatter), 0.97, 1)
			}
		}
	}
	for _, c := range []struct {
		what  string
		necks int
		plant func(n *benchNeck)
		most  float64
		says  string // the handbook
	}{
		{"ordinary necks", 200, func(*benchNeck) {}, 0.002, "1 on 9,000"},
		{"necks with a fret up to 0.15 mm high", 50, func(n *benchNeck) { n.raise(1+n.IntN(n.Last), 1, 0.15*n.Float64()) }, 0.1, "3 on 100"},
		{"necks with a high and a low fret near each other", 50, func(n *benchNeck) {
			at := 1 + n.IntN(n.Last-3)
			n.raise(at, 1, 0.05+0.1*n.Float64())
			n.raise(at+1+n.IntN(2), 1, -0.05-0.1*n.Float64())
		}, 0.4, "1 on 5"},
	} {
		var asked share
		for range c.necks * *times {
			n := newBenchNeck(r, 2, "sound", 0.005+0.012*r.Float64(), 0, 0.5)
			c.plant(&n)
			crowns := n.measure(never, 0, 0)
			look, _ := n.asked(t, crowns, 0, len(crowns))
			asked.add(look.Asked)
		}
		t.Logf("%s: asked on %d of %d (by the handbook %s)", c.what, asked.hits, asked.of, c.says)
		asked.bound(t, "questions on "+c.what, 0, c.most)
	}
}

// TestLinksFalselyDisagree carries necks that stayed as they were into another laying.
func TestLinksFalselyDisagree(t *testing.T) {
	r := rand.New(rand.NewPCG(104, 12))
	for tracks := 1; tracks <= 3; tracks++ {
		var disagree share
		for range 1000 * *times {
			neck := ordinary(648, 22, 17, usual(tracks)...)
			var old, links []Crown
			for t := range neck.Tracks {
				for _, fret := range []int{1, 2, 9, 22} { // the links, and one to carry
					old = append(old, Crown{t, fret, uReading * r.NormFloat64()})
				}
			}
			for _, l := range mustLinks(t, neck, old) {
				l.Z = 0.3 + uReading*r.NormFloat64()
				links = append(links, l)
			}
			got, err := Carry(neck, old, links, uReading)
			if err != nil {
				t.Fatal(err)
			}
			disagree.add(!got.Agree)
		}
		t.Logf("%d links disagree though nothing moved: %d of %d (by the handbook 1 on 10,000 with three, up to 5 with nine)", 3*tracks, disagree.hits, disagree.of)
		disagree.bound(t, fmt.Sprintf("%d links", 3*tracks), 0, 0.0006)
	}
	// Of the weights: the scatter of a carried crown is what they propagate.
	neck := ordinary(648, 22, 17, usual(2)...)
	level := simulated(r, neck, 0.01)
	var old []Crown
	sum, squares, want := 0.0, 0.0, 0.0
	const draws = 4000
	for range draws {
		old = slices.Clone(level)
		for i := range old {
			old[i].Z += uReading * r.NormFloat64()
		}
		links := mustLinks(t, neck, level)
		for i := range links {
			links[i].Z += 0.3 + uReading*r.NormFloat64()
		}
		got, err := Carry(neck, old, links, uReading)
		if err != nil {
			t.Fatal(err)
		}
		const crown = 4
		d := got.Crowns[crown].Z - level[crown].Z - 0.3
		sum, squares = sum+d, squares+d*d
		want = uReading * math.Sqrt(dot(got.Old[crown], got.Old[crown])+dot(got.New[crown], got.New[crown]))
	}
	sd := math.Sqrt(squares/draws - sum*sum/draws/draws)
	t.Logf("a carried crown scatters by %.5f mm over %d draws, by its weights %.5f mm (JCGM 101:2008)", sd, draws, want)
	if math.Abs(sd/want-1) > 0.05 {
		t.Errorf("a carried crown scatters by %v mm, by its weights %v mm", sd, want)
	}
}
