package tell

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/spc"
)

// Of months that nothing but chance moves as many lie beyond their limits as the sentence says, over many years; a month of twice the
// share that fails is named.
func TestMonthsBeyond(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 31))
	year := func(bad int) (spc.Chart, []batch.Month) {
		counts, sizes, months := make([]float64, 12), make([]float64, 12), make([]batch.Month, 12)
		for i := range counts {
			sizes[i], months[i] = float64(150+10*i), batch.Month(202501+i)
			share := 0.15
			if i == bad {
				share = 0.3
			}
			for range int(sizes[i]) {
				if r.Float64() < share {
					counts[i]++
				}
			}
		}
		c, err := spc.P(counts, sizes, spc.Options{Tests: spc.TestsOf(1)})
		if err != nil {
			t.Fatal(err)
		}
		return c, months
	}
	words := regexp.MustCompile(`^(None|\d+) of 12 months lies? beyond the limits; chance alone would give (0\.\d+)\.$`)
	const years = 3000
	found, said := 0.0, 0.0
	for range years {
		c, months := year(-1)
		m := words.FindStringSubmatch(MonthsBeyond(c, spc.TestsOf(1)))
		if m == nil {
			t.Fatal(MonthsBeyond(c, spc.TestsOf(1)))
		}
		n, _ := strconv.Atoi(strings.Replace(m[1], "None", "0", 1))
		if chance, _ := strconv.ParseFloat(m[2], 64); n == len(MonthSignals(c, months)) {
			found, said = found+float64(n)/years, said+chance/years
		}
	}
	if se := math.Sqrt(found / years); math.Abs(found-said) > 4*se+0.3*said {
		t.Errorf("%.4f ± %.4f months of a year beyond their limits, said %.4f", found, se, said)
	}
	c, months := year(4)
	if s := MonthSignals(c, months); len(s) == 0 || !strings.HasPrefix(s[0], "May 2025: ") || !strings.Contains(s[0], "above the limit of") {
		t.Errorf("a bad May: %q", s)
	}
}
