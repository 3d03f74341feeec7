package laying

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// times makes the campaigns longer: -times 100 is the long form, minutes instead of seconds.
var times = flag.Int("times", 1, "how many times as many simulated necks the campaigns try")

// bench is a simulated neck at the bench: its true developed heights, and a gauge.
type benchNeck struct {
	*rand.Rand
	Neck
	true [][]float64 // by track and fret
}

// kinds of necks: what a sound one has a little of, each has much of.
var kinds = []string{"sound", "over-bow", "back-bow", "S-bend", "high or low frets", "pair of frets", "hump", "hump before the joint",
	"kink", "fall-away", "twist", "uneven sides", "several at once"}

// newBenchNeck draws a neck: 21 to 24 frets, joint at 14 to 18, with a kind's defect, its crowns scattering by so much about its shape,
// each remembering so much of the scatter of the fret before. shared is the share of the scatter's variance that all crowns of a fret have.
func newBenchNeck(r *rand.Rand, tracks int, kind string, scatter, memory, shared float64) benchNeck {
	n := benchNeck{Rand: r, Neck: ordinary(612+60*r.Float64(), 21+r.IntN(4), 14+r.IntN(5), usual(tracks)...)}
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	sign := func() float64 { return 1 - 2*float64(r.IntN(2)) }
	has := func(what string) bool { return kind == what || kind == "several at once" && r.IntN(4) == 0 }
	relief, uneven, bend, twist := 0.2+0.06*r.NormFloat64(), 0.015*r.NormFloat64(), 0.02*r.NormFloat64(), 0.1*r.NormFloat64()
	fall, hump := between(0, 0.2), 0.0
	if has("over-bow") {
		relief = between(0.5, 1.5)
	} else if has("back-bow") {
		relief = -between(0.1, 0.6)
	}
	if has("S-bend") {
		bend = sign() * between(0.05, 0.2)
	}
	if has("hump") {
		hump = between(0.05, 0.3)
	}
	if has("fall-away") {
		fall = between(0.3, 0.8)
	}
	if has("twist") {
		twist = sign() * between(0.3, 1)
	}
	if has("uneven sides") {
		uneven = sign() * between(0.05, 0.15)
	}
	early, kink, kinkAt := 0.0, 0.0, 0.0
	if has("hump before the joint") {
		early = between(0.05, 0.25)
	}
	if has("kink") {
		kink, kinkAt = sign()*between(0.0003, 0.0015), n.Centre[5+r.IntN(n.Joint-5)]
	}
	begins := n.Centre[n.Joint-1-r.IntN(3)]
	common := n.scatter(scatter*math.Sqrt(shared), memory)
	for t, track := range n.Tracks {
		own := n.scatter(scatter*math.Sqrt(1-shared), memory)
		z := make([]float64, n.Last+1)
		offset, tilt := r.NormFloat64(), 0.002*r.NormFloat64()
		for fret := 1; fret <= n.Last; fret++ {
			x, xb, xN := track.X[fret], track.X[n.Joint], track.X[n.Last]
			columns, bow := shape(&n.Neck, Crown{Track: t, Fret: fret}, 0)
			side := track.Y[0] / 17.5
			z[fret] = offset + tilt*x + (relief+side*uneven)*bow + bend*columns[4]/shapeSD[4] + common[fret] + own[fret] +
				side*track.Y[fret]*math.Tan(twist*math.Pi/180)*min(x/xb, 1)*side + kink*max(0, x-kinkAt)
			if x > xb {
				e := (x - xb) / (xN - xb)
				z[fret] += -fall*e*e + hump*math.Pow(math.Sin(math.Pi*e), 2)
			}
			if x > begins {
				z[fret] += early * math.Pow(math.Sin(math.Pi*(x-begins)/(xN-begins)), 2)
			}
		}
		n.true = append(n.true, z)
	}
	if has("high or low frets") {
		for range 1 + r.IntN(2) {
			n.raise(1+r.IntN(n.Last), 1, sign()*between(0.03, 0.15))
		}
	}
	if has("pair of frets") {
		n.raise(1+r.IntN(n.Last-1), 2, sign()*between(0.03, 0.15))
	}
	return n
}

// scatter returns a row of deviations, each remembering so much of the one before.
func (n *benchNeck) scatter(sd, memory float64) []float64 {
	row := make([]float64, n.Last+1)
	for i := range row {
		row[i] = sd * n.NormFloat64()
		if i > 0 {
			row[i] = memory*row[i-1] + math.Sqrt(1-memory*memory)*row[i]
		}
	}
	return row
}

// raise makes neighbouring frets higher, on one track or on all.
func (n *benchNeck) raise(from, frets int, by float64) {
	one := n.IntN(2*len(n.true)) - len(n.true)
	for t := range n.true {
		for fret := from; fret < from+frets; fret++ {
			if one < 0 || one == t {
				n.true[t][fret] += by * (0.85 + 0.3*n.Float64())
			}
		}
	}
}

// read returns one reading of a crown.
func (n *benchNeck) read(c Crown) float64 { return n.true[c.Track][c.Fret] + uReading*n.NormFloat64() }

// measure returns every crown in order, those from the given one on higher by an offset and a tilt along.
func (n *benchNeck) measure(from int, offset, tilt float64) (crowns []Crown) {
	for t := range n.true {
		for fret := 1; fret <= n.Last; fret++ {
			c := Crown{Track: t, Fret: fret}
			c.Z = n.read(c)
			if len(crowns) >= from {
				c.Z += offset + tilt*n.Tracks[t].X[fret]
			}
			crowns = append(crowns, c)
		}
	}
	return crowns
}

const never = math.MaxInt

// asked returns the first look with a question after the crowns from one on are taken, up to so many, and how many crowns were taken then.
func (n *benchNeck) asked(t testing.TB, crowns []Crown, from, looks int) (Look, int) {
	for taken := from + 1; taken <= min(len(crowns), from+looks); taken++ {
		if look := mustQuestion(t, n.Neck, crowns[:taken]); look.Asked {
			return look, taken
		}
	}
	return Look{}, 0
}

// share is a count among so many.
type share struct{ hits, of int }

func (s *share) add(hit bool) {
	s.of++
	if hit {
		s.hits++
	}
}

func (s share) rate() float64 { return float64(s.hits) / float64(max(s.of, 1)) }

func (s share) String() string {
	if s.of == 0 {
		return "-"
	}
	return fmt.Sprintf("%.1f", 100*s.rate())
}

// bound fails when a share is beyond a bound by more than chance explains (four standard deviations of the count).
func (s share) bound(t *testing.T, what string, least, most float64) {
	t.Helper()
	sd := func(p float64) float64 { return 4 * math.Sqrt(float64(s.of)*p*(1-p)) }
	if n := float64(s.of); float64(s.hits) < n*least-sd(least) || float64(s.hits) > n*most+sd(most)+1 {
		t.Errorf("%s: %d of %d, expected a share of %v to %v", what, s.hits, s.of, least, most)
	}
}

// moves counts which rule sees moves of one size.
type moves struct {
	middle, beyond, elsewhere share // the shape: after frets 4 to b-4, b-3 to N-4, elsewhere
	right                     share // of those the right place
	closing                   share
	question, within3         share // moves within a track, not right after the laying's first crown; within five crowns after it, and three
	between                   share // the question: moves between tracks
	anyRule                   share
	moved, alone, plunger     share // answers to those questions: moved; the crown beside alone had changed; plunger
}

// try measures a neck that moves after the given number of crowns.
func (m *moves) try(t *testing.T, n *benchNeck, from int, offset, tilt float64) {
	at := n.measure(never, 0, 0)[from-1] // the crown before the move
	x := n.Tracks[at.Track].X[at.Fret]
	now := func(c Crown) float64 { return n.read(c) + offset + tilt*(n.Tracks[c.Track].X[c.Fret]-x) }
	crowns := n.measure(from, offset-tilt*x, tilt)
	s := mustFindStep(t, n.Neck, crowns)
	where := &m.elsewhere
	if at.Fret >= 4 && at.Fret <= n.Joint-4 {
		where = &m.middle
	} else if at.Fret > n.Joint-4 && at.Fret <= n.Last-4 {
		where = &m.beyond
	}
	where.add(s.Moved)
	if s.Moved {
		m.right.add(s.Step.After == at.Fret)
	}
	seen := false
	for _, c := range Closing(crowns, n.Joint) {
		seen = seen || !Agrees(c.Z, now(c), uReading)
	}
	m.closing.add(seen)
	look, taken := n.asked(t, crowns, from, lookedAt)
	m.anyRule.add(s.Moved || seen || look.Asked)
	if at.Fret == n.Last {
		m.between.add(look.Asked)
		return
	} else if from == 1 {
		return
	}
	m.question.add(look.Asked)
	m.within3.add(look.Asked && taken <= from+3)
	if look.Asked {
		crown, beside := Pair(crowns[:taken], look.About)
		crownNow, besideNow := now(crown), now(beside)
		answer := Judge(crown.Z, crownNow, beside.Z, besideNow, uReading)
		m.moved.add(answer == Moved)
		m.alone.add(answer == Moved && Agrees(crown.Z, crownNow, uReading))
		m.plunger.add(answer == Plunger)
	}
}

// TestMovesSeen plants a move of every size at a random place of the profiles of sound necks with two tracks and counts which rule
// sees it: the shape, the closing reading, the question about one of the five crowns after it.
func TestMovesSeen(t *testing.T) {
	r := rand.New(rand.NewPCG(101, 12))
	for _, tilted := range []float64{0, 0.0003} {
		for _, scatter := range []float64{0.005, 0.010, 0.020} {
			t.Logf("crowns scatter by %.3f mm, readings by %.3f mm, a move tilts by %v mm/mm; per cent seen", scatter, uReading, tilted)
			t.Log("  move | shape after frets 4 to b-4, b-3 to N-4, elsewhere; right place | closing | question within a track, at the third crown, " +
				"between tracks | any rule | of answers: moved, of them the crown beside alone changed, plunger")
			for _, size := range []float64{0.03, 0.05, 0.10, 0.15, 0.20, 0.30, 0.40, 0.50, 1.00} {
				var m moves
				for range 40 * *times {
					n := newBenchNeck(r, 2, "sound", scatter, 0, 0)
					m.try(t, &n, 1+r.IntN(2*n.Last-1), size*(1-2*float64(r.IntN(2))), tilted*r.NormFloat64())
				}
				t.Logf("  %.2f | %v, %v, %v; %v | %v | %v, %v, %v | %v | %v, %v, %v", size, m.middle, m.beyond, m.elsewhere, m.right, m.closing,
					m.question, m.within3, m.between, m.anyRule, m.moved, m.alone, m.plunger)
				if size >= 0.3 && scatter <= 0.01 {
					m.middle.bound(t, fmt.Sprintf("shape, moves of %v mm, scatter %v mm", size, scatter), 0.98, 1)
				}
				if size >= 0.05 && tilted == 0 {
					m.closing.bound(t, fmt.Sprintf("closing reading, moves of %v mm", size), 0.999, 1)
				}
				if size >= 0.4 {
					m.question.bound(t, fmt.Sprintf("question, moves of %v mm, scatter %v mm", size, scatter), 0.97, 1)
				}
			}
		}
	}
}

// TestStepsFalselySeen measures necks of every kind that stay where they are.
func TestStepsFalselySeen(t *testing.T) {
	r := rand.New(rand.NewPCG(102, 12))
	for _, tracks := range []int{1, 2, 3} {
		var all, offsets share
		var lines []string
		for _, kind := range kinds {
			var alarms share
			for range 300 * *times / []int{1: 3, 2: 1, 3: 4}[tracks] {
				scatter := 0.003 * math.Exp(r.Float64()*math.Log(10)) // to 0.03
				n := newBenchNeck(r, tracks, kind, scatter, 0.5*float64(r.IntN(2)), 0.5*float64(r.IntN(2)))
				s := mustFindStep(t, n.Neck, n.measure(never, 0, 0))
				alarms.add(s.Moved)
				all.add(s.Moved)
				if s.Moved {
					offsets.add(math.Abs(s.Step.Offset) > 0.1)
				}
			}
			if alarms.hits > 0 {
				lines = append(lines, fmt.Sprintf("%s %d of %d", kind, alarms.hits, alarms.of))
			}
			alarms.bound(t, fmt.Sprintf("steps seen on necks of kind %s with %d tracks", kind, tracks), 0, 0.001)
		}
		t.Logf("%d tracks: %d false alarms on %d necks, %d of them over 0.1 mm; %s", tracks, all.hits, all.of, offsets.hits, strings.Join(lines, ", "))
		all.bound(t, fmt.Sprintf("steps seen on necks with %d tracks", tracks), 0, 0.0002)
	}
	// Necks with a step of their own.
	for _, c := range []struct {
		what      string
		from, few int
		size      [2]float64
	}{
		{"block of frets 0.05 to 0.15 mm higher up to a fret from 4 to 7", 0, 4, [2]float64{0.05, 0.15}},
		{"block of frets 0.15 to 0.30 mm higher up to a fret from 4 to 12", 0, 9, [2]float64{0.15, 0.30}},
		{"three neighbouring frets 0.03 to 0.15 mm high", 3, 0, [2]float64{0.03, 0.15}},
	} {
		var found, again, place share
		for range 100 * *times {
			n := newBenchNeck(r, 2, "sound", 0.003*math.Exp(r.Float64()*math.Log(10)), 0, 0.5)
			by := c.size[0] + (c.size[1]-c.size[0])*r.Float64()
			if c.from == 0 {
				n.raise(1, min(4+r.IntN(c.few), n.Joint-4), by)
			} else {
				n.raise(1+r.IntN(n.Last-2), 3, by)
			}
			first := mustFindStep(t, n.Neck, n.measure(never, 0, 0))
			found.add(first.Moved)
			if first.Moved {
				second := mustFindStep(t, n.Neck, n.measure(never, 0, 0))
				again.add(second.Again(first))
				place.add(second.Moved && second.Step.After == first.Step.After)
			}
		}
		t.Logf("%s: stopped %v %%; of those found again at the same place %v %%, and in the same series within 0.03 mm %v %%", c.what, found, place, again)
	}
}

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
				if answer == ItIsSo && taken > fewestQuestion { // that crown is left out from now on
					said := slices.Delete(slices.Clone(crowns[:taken]), look.About, look.About+1)
					again := mustQuestion(t, n.Neck, said)
					then.add(again.Asked && said[again.About] == crowns[wrong])
				}
			}
			t.Logf("a crown %.2f mm off, crowns scatter by %.3f mm: asked %v %%, about that crown %v %% of those; answers: plunger %v %%, moved %v %%; "+
				"after a wrong yes about another asked about it %v %% of %d", size, scatter, asked, right, plunger, moved, then, then.of)
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
	}{
		{"ordinary necks", 200, func(*benchNeck) {}, 0.002},
		{"necks with a fret up to 0.15 mm high", 50, func(n *benchNeck) { n.raise(1+n.IntN(n.Last), 1, 0.15*n.Float64()) }, 0.1},
		{"necks with a high and a low fret near each other", 50, func(n *benchNeck) {
			at := 1 + n.IntN(n.Last-3)
			n.raise(at, 1, 0.05+0.1*n.Float64())
			n.raise(at+1+n.IntN(2), 1, -0.05-0.1*n.Float64())
		}, 0.4},
	} {
		var asked share
		for range c.necks * *times {
			n := newBenchNeck(r, 2, "sound", 0.005+0.012*r.Float64(), 0, 0.5)
			c.plant(&n)
			crowns := n.measure(never, 0, 0)
			look, _ := n.asked(t, crowns, 0, len(crowns))
			asked.add(look.Asked)
		}
		t.Logf("%s: asked on %d of %d", c.what, asked.hits, asked.of)
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
		t.Logf("%d links disagree though nothing moved: %d of %d", 3*tracks, disagree.hits, disagree.of)
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
