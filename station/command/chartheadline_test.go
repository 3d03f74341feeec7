package command

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// The terminal's headline is true of planted series: over many steady ones there are as many signals as it says that chance gives, and of
// one whose level moves by four sigmas none says that there is no signal.
func TestChartHeadlineIsTrue(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 51))
	headline := regexp.MustCompile(`^(NO|\d+) SIGNALS? among 120 values; chance alone would give (\S+)\.\n`)
	counted := func(moved float64) (n, chance float64) {
		x := make([]float64, 120)
		for i := range x {
			if x[i] = 0.3 + 0.02*r.NormFloat64(); i >= 60 {
				x[i] += 0.02 * moved
			}
		}
		_, out, _ := sagitta(t, "", "chart", "single", valuesFile(t, x), "--base", "1:40")
		m := headline.FindStringSubmatch(out)
		if m == nil || strings.Contains(out, "drifts") || strings.Contains(out, "has shifted") {
			t.Fatalf("%.400s", out)
		}
		n, _ = strconv.ParseFloat(strings.Replace(m[1], "NO", "0", 1), 64)
		chance, _ = strconv.ParseFloat(m[2], 64)
		return n, chance
	}
	const times = 150
	found, squares, said := 0.0, 0.0, 0.0
	for range times {
		n, chance := counted(0)
		found, squares, said = found+n/times, squares+n*n/times, said+chance/times
	}
	if se := math.Sqrt((squares - found*found) / times); math.Abs(found-said) > 4*se+0.05*said {
		t.Errorf("%.2f ± %.2f signals in a steady series, said %.2f", found, se, said)
	}
	for range 10 {
		if n, chance := counted(4); n < chance {
			t.Errorf("a level that moves by four sigmas: %v signals, chance %v", n, chance)
		}
	}
}
