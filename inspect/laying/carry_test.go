package laying

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestRigidMoveIsRestored: crowns carried after a rigid move are those of the new laying, to rounding.
func TestRigidMoveIsRestored(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 12))
	worst := 0.0
	for _, neck := range lawNecks() {
		for n := FewestCarried; n <= len(neck.Tracks)*neck.Last; n++ {
			old := simulated(r, neck, 0.02)[:n]
			c2 := 0.0
			if n > neck.Last {
				c2 = 0.01 * r.NormFloat64()
			}
			laid := lay(neck, old, r.NormFloat64(), 0.003*r.NormFloat64(), c2)
			var links []Crown
			for _, l := range mustLinks(t, neck, old) {
				i := slices.Index(old, l)
				links = append(links, laid[i])
			}
			got, err := Carry(neck, old, links, uReading)
			if err != nil {
				t.Fatal(err)
			}
			if !got.Agree {
				t.Errorf("%d crowns: links of a rigid move do not agree: %+v", n, got.Links)
			}
			for i := range laid {
				worst = max(worst, math.Abs(got.Crowns[i].Z-laid[i].Z))
			}
		}
	}
	if worst > 1e-12 {
		t.Errorf("carried crowns differ by up to %.2g mm from those of the new laying", worst)
	}
	t.Logf("definition: rigid moves restored within %.1e mm", worst)
}

// TestWeightsOfCarrying: carried heights are the weighted sums they are said to be, each weight is what the height changes by with its
// reading, and a common offset goes through whole.
func TestWeightsOfCarrying(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 12))
	for _, neck := range lawNecks() {
		for _, n := range []int{8, neck.Last, len(neck.Tracks) * neck.Last} {
			old := simulated(r, neck, 0.02)[:n]
			links := lay(neck, mustLinks(t, neck, old), 0.3, 0.001, 0)
			for i := range links {
				links[i].Z += 0.01 * r.NormFloat64()
			}
			carry := func() Carried {
				c, err := Carry(neck, old, links, uReading)
				if err != nil {
					t.Fatal(err)
				}
				return c
			}
			got := carry()
			for j := range old {
				sum, weights := 0.0, 0.0
				for i, w := range got.Old[j] {
					sum, weights = sum+w*old[i].Z, weights+w
				}
				for i, w := range got.New[j] {
					sum, weights = sum+w*links[i].Z, weights+w
				}
				if math.Abs(sum-got.Crowns[j].Z) > 1e-12 || math.Abs(weights-1) > 1e-12 {
					t.Errorf("crown %+v: weighted sum %.12f of weights %.12f", got.Crowns[j], sum, weights)
				}
			}
			differ := func(input []Crown, weights [][]float64) {
				for i := range input {
					before := input[i].Z
					input[i].Z = before + 1
					up := carry()
					input[i].Z = before
					for j := range old {
						if d := up.Crowns[j].Z - got.Crowns[j].Z; math.Abs(d-weights[j][i]) > 1e-12 {
							t.Errorf("crown %d changes by %.12f with input %d, weight %.12f", j, d, i, weights[j][i])
						}
					}
				}
			}
			differ(old, got.Old)
			differ(links, got.New)
		}
	}
}

// TestLinksNamed: the rule's corners.
func TestLinksNamed(t *testing.T) {
	even := ordinary(648, 22, 17, usual(2)...)
	for fret := range even.Tracks[0].X {
		even.Tracks[0].X[fret] = 20 * float64(fret)
	}
	of := func(track int, frets ...int) (crowns []Crown) {
		for _, f := range frets {
			crowns = append(crowns, Crown{Track: track, Fret: f})
		}
		return crowns
	}
	for _, c := range []struct {
		what      string
		old, want []Crown
	}{
		{"none", nil, nil},
		{"three", of(0, 4, 2, 9), of(0, 2, 4, 9)},
		{"four, of two alike the lower fret", of(0, 1, 2, 3, 4), of(0, 1, 2, 4)},
		{"taken backwards, the middle missing", of(0, 9, 8, 7, 3, 2, 1), of(0, 1, 3, 9)},
		{"two tracks", append(of(1, 1, 2), of(0, 1, 2, 3, 4, 5)...), append(of(0, 1, 3, 5), of(1, 1, 2)...)},
	} {
		if got := mustLinks(t, even, c.old); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

// TestCarryingWithFewLinks: without links enough a track is refused by name; where every link is fitted exactly nothing is tested and
// the links do not agree.
func TestCarryingWithFewLinks(t *testing.T) {
	neck := ordinary(648, 22, 17, usual(2)...)
	r := rand.New(rand.NewPCG(7, 12))
	old := simulated(r, neck, 0.01)
	if _, err := Carry(neck, old, old[:1], uReading); !errors.Is(err, ErrUndetermined) {
		t.Errorf("one link: %v, want ErrUndetermined", err)
	}
	if _, err := Carry(neck, old[:22], append(old[:1:1], old[30]), uReading); !errors.Is(err, ErrCrown) {
		t.Errorf("a link that is no old crown: %v, want ErrCrown", err)
	}
	// Two on the first track and one on the second determine the plane and leave nothing to test.
	for _, links := range [][]Crown{{old[0], old[15]}, {old[0], old[15], old[30]}} {
		got, err := Carry(neck, append(old[:16:16], links[2:]...), links, uReading)
		if err != nil {
			t.Fatal(err)
		}
		if got.Agree {
			t.Errorf("%d links agree where none is tested: %+v", len(links), got.Links)
		}
	}
	// Lines along each track where one link each cannot make a plane.
	got, err := Carry(neck, []Crown{old[0], old[30]}, []Crown{old[0], old[30]}, uReading)
	if err != nil || len(got.Shifts) != 2 || got.Agree {
		t.Errorf("one link on each of two tracks: %+v, %v; want a line each and no agreement", got, err)
	}
	// Agreement is lost just beyond 4 sqrt(2) u sqrt(1 - h).
	for _, c := range []struct {
		share float64
		agree bool
	}{{0.999, true}, {1.001, false}} {
		links := mustLinks(t, neck, old[:22])
		unmoved, err := Carry(neck, old[:22], links, uReading)
		if err != nil {
			t.Fatal(err)
		}
		// Of three links on a line each has the same standardised residual; moving one by d leaves it d (1 - h).
		h := unmoved.Links[1].Leverage
		links[1].Z += c.share * 4 * math.Sqrt2 * uReading / math.Sqrt(1-h)
		if got, err := Carry(neck, old[:22], links, uReading); err != nil || got.Agree != c.agree {
			t.Errorf("link off by %v of the bound: agree %v, %v", c.share, got.Agree, err)
		}
	}
}
