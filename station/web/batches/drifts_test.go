package batches

import (
	"fmt"
	"html"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/webtest"
)

// series are the values of so many necks: relief about 0.3 mm with a sigma of 0.02 mm, which moves by so many sigmas at a neck.
func series(r *rand.Rand, necks, at int, by float64) []batch.SeriesPoint {
	points := make([]batch.SeriesPoint, necks)
	for i := range points {
		v := 0.3 + 0.02*r.NormFloat64()
		if i >= at {
			v += 0.02 * by
		}
		points[i] = batch.SeriesPoint{Serial: fmt.Sprintf("QM-2611-%04d", i+1), Value: &v, Unit: "mm"}
	}
	return points
}

// view is the chart of a series with the usual base.
func viewOf(points []batch.SeriesPoint) controlView {
	named := batch.Named{Name: inspect.Relief, Track: "bass", Unit: "mm"}
	return control{spc.IndividualsKind, named, "Relief", points, batch.ChartBase{First: 1, Last: 25}, spc.TestsOf(1), unit.Millimetre}.view()
}

var headline = regexp.MustCompile(`^Relief: (no|\d+) signals? among (\d+) necks; chance alone would give (\S+?)\.(?:$| )`)

// The headline of a steady batch says how many signals chance would give, and that is how many there are over many batches; no
// sentence says that the process drifts. With a shift of one sigma at the 60th neck two in three of such batches have a signal, and
// the neck and the size that are named lie about the true ones.
func TestHeadlinesOfPlantedTruths(t *testing.T) {
	const times = 800
	r := rand.New(rand.NewPCG(21, 21))
	found, said := 0.0, 0.0
	for range times {
		v := viewOf(series(r, 220, 220, 0))
		m := headline.FindStringSubmatch(v.Sentence)
		if m == nil || m[2] != "220" {
			t.Fatalf("the headline is %q", v.Sentence)
		}
		n, _ := strconv.ParseFloat(strings.Replace(m[1], "no", "0", 1), 64)
		chance, err := strconv.ParseFloat(m[3], 64)
		if err != nil || int(n) != len(v.Signals) {
			t.Fatalf("%q with %d signals", v.Sentence, len(v.Signals))
		}
		found, said = found+n/times, said+chance/times
		for _, words := range append([]string{v.Sentence}, wordsOf(v)...) {
			if strings.Contains(words, "drifts") || strings.Contains(words, "has shifted") || strings.Contains(words, "steady over") {
				t.Fatalf("a steady process: %s", words)
			}
		}
	}
	if se := math.Sqrt(2 * found / times); math.Abs(found-said) > 4*se+0.05 {
		t.Errorf("%.3f ± %.3f signals in a steady batch, said %.3f", found, se, said)
	}
	signals, near := 0, 0
	by := 0.0
	named := regexp.MustCompile(`at about neck QM-2611-(\d+) and by \+(\S+) mm\.$`)
	for range times / 4 {
		v := viewOf(series(r, 220, 59, 1))
		if len(v.Signals) == 0 {
			continue
		}
		signals++
		if m := named.FindStringSubmatch(v.Sentence); m != nil {
			neck, _ := strconv.Atoi(m[1])
			size, _ := strconv.ParseFloat(m[2], 64)
			if by += size; neck >= 45 && neck <= 75 {
				near++
			}
		}
	}
	if signals < times/4/2 || near < signals*2/3 || math.Abs(by/float64(signals)-0.02) > 0.008 {
		t.Errorf("a shift of one sigma at neck 60: %d of %d batches have a signal, %d name a neck within 15, by %.4f mm on the average, planted 0.02", signals, times/4, near, by/float64(signals))
	}
}

func wordsOf(v controlView) (all []string) {
	for _, s := range v.Signals {
		all = append(all, s.Words)
	}
	return all
}

// driftOf is what the table says of a characteristic's drift.
func driftOf(t *testing.T, page, key string) string {
	t.Helper()
	_, row, _ := strings.Cut(page, "charts?of="+key+"\"")
	row, _, _ = strings.Cut(row, "</tr>")
	m := regexp.MustCompile(`<td class="drift" data-value="\d+">([^<]*)</td>`).FindStringSubmatch(row)
	if m == nil {
		t.Fatalf("no drift of %s: %s", key, row)
	}
	return html.UnescapeString(m[1])
}

// The table of all characteristics puts what has moved first, says how much and since when, and the sentence over it counts all; of a
// steady batch it says that there is none, or what chance would give.
func TestTableOfPlantedDrift(t *testing.T) {
	s := shop(t)
	r := rand.New(rand.NewPCG(7, 8))
	values := make([]float64, 150)
	for i := range values {
		root := 0.38 + 0.02*r.NormFloat64()
		values[i] = root * root * root
	}
	planted(s, "QM-2711", values)
	page := s.Get("/batches/QM-2711/characteristics", 200)
	webtest.Wants(t, page, "over 150 necks; chance alone would give ", " in all of them.", "the least healthy first")
	if got := driftOf(t, page, inspect.LevelZone); got != "no signal" {
		t.Errorf("a steady level zone: %q", got)
	}
	for i := 60; i < len(values); i++ {
		values[i] += 0.03
	}
	planted(s, "QM-2712", values)
	page = s.Get("/batches/QM-2712/characteristics", 200)
	drift := regexp.MustCompile(`^\d+ signals?; \+0\.0(2|3)\d mm since about QM-2712-00(5\d|6[0-5])$`)
	if got := driftOf(t, page, inspect.LevelZone); !drift.MatchString(got) {
		t.Errorf("a level zone that rose by 0.03 mm at neck 61: %q", got)
	}
	rows := regexp.MustCompile(`charts\?of=([a-z_]+)`).FindAllStringSubmatch(page, -1)
	if first := slices.IndexFunc(rows, func(m []string) bool { return m[1] == inspect.LevelZone }); first != 0 {
		t.Errorf("what has moved stands in row %d", first+1)
	}
	chart := s.Get("/batches/QM-2712/charts?of=level_zone", 200)
	webtest.Wants(t, chart, "chance alone would give 0.", "if its level has moved once, then most likely at about neck QM-2712-00", "A steady process gives one such signal in about", "Student&#39;s t with 14.9 degrees of freedom")
}

// A level that fell for 16 necks and came back is told as come back, or with the sign of its fall: never as one that has risen.
func TestExcursionThatCameBack(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 31))
	back := 0
	for range 100 {
		points := series(r, 220, 25, 0.4)
		for i := 60; i < 76; i++ {
			*points[i].Value -= 0.06
		}
		v := viewOf(points)
		if strings.Contains(v.Sentence, "level has moved") && !strings.Contains(strings.Join(wordsOf(v), " "), " above ") {
			t.Fatal(v.Sentence)
		}
		if m := regexp.MustCompile(`its level came back after neck QM-2611-(\d+), up to which signals last\.$`).FindStringSubmatch(v.Sentence); m != nil {
			if neck, _ := strconv.Atoi(m[1]); neck >= 70 && neck <= 90 {
				back++
			}
		}
	}
	if back < 20 {
		t.Errorf("%d of 100 are told as come back", back)
	}
	s := shop(t)
	values := make([]float64, 150)
	for i := range values {
		root := 0.38 + 0.01*r.NormFloat64()
		if values[i] = root * root * root; i >= 60 && i < 76 {
			values[i] -= 0.03
		} else if i >= 25 {
			values[i] += 0.002
		}
	}
	planted(s, "QM-2714", values)
	got := driftOf(t, s.Get("/batches/QM-2714/characteristics", 200), inspect.LevelZone)
	if !regexp.MustCompile(`^\d+ signals?; came back after QM-2714-00[78]\d$`).MatchString(got) {
		t.Error(got)
	}
}

// What is left out of a large batch is said, an average does not go on over the gap as if its sides were neighbours, characteristics that
// are not watched are not counted as without a signal, and necks in doubt, which the look for signals takes in, are spoken of.
func TestDriftsSayWhatWasRead(t *testing.T) {
	s := shop(t)
	r := rand.New(rand.NewPCG(41, 41))
	values := make([]float64, 620)
	for i := range values {
		root := 0.38 + 0.01*r.NormFloat64()
		values[i] = root * root * root
	}
	planted(s, "QM-2715", values)
	page := s.Get("/batches/QM-2715/characteristics", 200)
	webtest.Wants(t, page, " among the first 50 and the newest 500 of 620 necks; chance alone would give ")
	m := regexp.MustCompile(`(?:any|\d+) of (\d+) characteristics? among`).FindStringSubmatch(page)
	if m == nil {
		t.Fatal("no number of characteristics")
	}
	rows, none := strings.Count(page, `<td class="drift"`), strings.Count(page, "most are alike: not watched")
	if of, _ := strconv.Atoi(m[1]); none == 0 || of != rows-none {
		t.Errorf("%s of %d characteristics, of which %d are not watched", m[0], rows, none)
	}
	const doubt = "Signals are looked for among necks in doubt too."
	if strings.Contains(page, doubt) {
		t.Error("nobody asked to leave necks in doubt out")
	}
	webtest.Wants(t, s.Get("/batches/QM-2715/characteristics?without=doubt", 200), doubt)
}
