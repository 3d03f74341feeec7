package laying

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
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
