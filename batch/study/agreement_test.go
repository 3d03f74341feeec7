package study

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Sources: Cohen (1960), the 20/5/10/15 textbook table, and the AIAG manual's cross-tables (gauge_studies.json).
func TestCohen(t *testing.T) {
	unweighted, err := Unweighted.distances([]float64{0, 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range references(t, "gauge_studies.json", "Cohen's kappa") {
		near(t, e.Name, cohen(decode[[][]int](t, e.Inputs, "table"), unweighted), decode[float64](t, e.Expected, "kappa"), 1e-8)
	}
}

// Weighted kappa by hand: J. Cohen (1968) defines 1 - sum of weight * observed / sum of weight * chance. Table
// 10 2 1 / 3 8 2 / 0 4 10, margins 13, 13, 14 and 13, 14, 13, n = 40. Linear: observed 2 + 1*2 + 3 + 2 + 0 + 4 = 13 of 40;
// chance (13*14 + 2*13*13 + 13*13 + 13*13 + 2*14*13 + 14*14)/40^2 = 1418/1600. Squared: observed 2 + 4 + 3 + 2 + 0 + 4 = 15;
// chance (182 + 4*169 + 169 + 169 + 4*182 + 196)/1600 = 2120/1600.
func TestWeightedKappa(t *testing.T) {
	table := [][]int{{10, 2, 1}, {3, 8, 2}, {0, 4, 10}}
	for weights, want := range map[Weights]float64{
		Unweighted: 1 - (12.0/40)/((1600-169-182-182)/1600.0),
		Linear:     1 - (13.0/40)/(1418.0/1600),
		Quadratic:  1 - (15.0/40)/(2120.0/1600),
	} {
		d, err := weights.distances([]float64{1, 2, 3})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "kappa "+string(weights), cohen(table, d), want, 1e-12)
	}
}

// Source: Fleiss' worked example of 10 subjects, 14 raters and 5 categories (gauge_studies.json).
func TestFleiss(t *testing.T) {
	e := references(t, "gauge_studies.json", "Fleiss")[0]
	near(t, "kappa", fleiss(decode[[][]int](t, e.Inputs, "counts")), decode[float64](t, e.Expected, "kappa"), 1e-9)
}

// attributeStudyOf turns a reference entry into ratings.
func attributeStudyOf(t *testing.T) ([]Rating, entry) {
	t.Helper()
	e := references(t, "gauge_studies.json", "Attribute agreement study")[0]
	truth := decode[[]int](t, e.Inputs, "reference (1 good, 0 bad)")
	var ratings []Rating
	for a, items := range decode[[][][]int](t, e.Inputs, "ratings[appraiser][part][trial]") {
		for i, trials := range items {
			for k, v := range trials {
				ratings = append(ratings, Rating{fmt.Sprint(i + 1), fmt.Sprintf("appraiser %d", a+1), fmt.Sprint(k + 1), fmt.Sprint(v), fmt.Sprint(truth[i])})
			}
		}
	}
	return ratings, e
}

// Source: constructed study by the AIAG manual's definitions, 20 parts, 3 appraisers, 3 trials (gauge_studies.json).
func TestAgreement(t *testing.T) {
	ratings, e := attributeStudyOf(t)
	r, err := Agreement(ratings, Unweighted)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fleiss", r.FleissKappa, decode[float64](t, e.Expected, "between_appraisers_fleiss_kappa (all ratings)"), 1e-8)
	for a, d := range r.Appraisers {
		name := fmt.Sprintf("appraiser %d", a+1)
		against := decode[struct {
			Table [][]int
			Kappa float64
		}](t, e.Expected, name+" kappa against reference (rows reference, columns rating)")
		near(t, name, r.Reference[a].Kappa, against.Kappa, 1e-8)
		if fmt.Sprint(d.Table) != fmt.Sprint(against.Table) || r.Reference[a].Appraiser != name {
			t.Errorf("%s: table %v, want %v", name, d.Table, against.Table)
		}
		want := decode[struct {
			Within        float64 `json:"within_appraiser_agreement"`
			Effectiveness float64 `json:"effectiveness_vs_reference"`
			Miss          float64 `json:"miss_rate"`
			False         float64 `json:"false_alarm_rate"`
		}](t, e.Expected, name)
		near(t, name+" within", float64(d.Consistent)/20, want.Within, 1e-12)
		near(t, name+" effectiveness", float64(d.Correct)/20, want.Effectiveness, 1e-12)
		near(t, name+" misses", float64(d.Wrong[0].Wrong)/float64(d.Wrong[0].Decisions), want.Miss, 1e-12)
		near(t, name+" false alarms", float64(d.Wrong[1].Wrong)/float64(d.Wrong[1].Decisions), want.False, 1e-12)
	}
	// Between: trial by trial, by definition the kappa of the 60 paired ratings; here counted anew from the rows.
	if len(r.Between) != 3 || r.Between[2].A != "appraiser 2" || r.Between[2].B != "appraiser 3" {
		t.Fatalf("pairs %+v", r.Between)
	}
	for _, pair := range r.Between {
		counts := map[[2]string]float64{}
		first, second := map[string]float64{}, map[string]float64{}
		for _, a := range ratings {
			for _, b := range ratings {
				if a.Appraiser == pair.A && b.Appraiser == pair.B && a.Item == b.Item && a.Trial == b.Trial {
					counts[[2]string{a.Rating, b.Rating}]++
					first[a.Rating]++
					second[b.Rating]++
				}
			}
		}
		observed := (counts[[2]string{"0", "0"}] + counts[[2]string{"1", "1"}]) / 60
		chance := (first["0"]*second["0"] + first["1"]*second["1"]) / 3600
		near(t, pair.A+" "+pair.B, pair.Kappa, (observed-chance)/(1-chance), 1e-12)
	}
}

// One rating only leaves every kappa undefined; two appraisers who never agree on a fair split have -1.
func TestUndefinedKappa(t *testing.T) {
	var same, opposed []Rating
	for i, word := range []string{"good", "bad"} {
		for _, who := range []string{"A", "B"} {
			same = append(same, Rating{fmt.Sprint(i), who, "1", "good", "good"})
			said := word
			if who == "B" {
				said = []string{"bad", "good"}[i]
			}
			opposed = append(opposed, Rating{fmt.Sprint(i), who, "1", said, ""})
		}
	}
	r, err := Agreement(same, Unweighted)
	if err != nil {
		t.Fatal(err)
	}
	if r.FleissKappa != nil || r.Between[0].Kappa != nil || r.Reference[0].Kappa != nil {
		t.Errorf("chance agreement 1: %+v", r)
	}
	r, err = Agreement(opposed, Linear) // two words need no order
	if err != nil {
		t.Fatal(err)
	}
	near(t, "opposed", r.Between[0].Kappa, -1, 1e-12)
	if len(r.Reference) != 0 {
		t.Errorf("kappa with no reference: %+v", r.Reference)
	}
}

// Weights take the distance of the numbers: 10 lies between 2 and 30, wherever it stands in the file.
func TestNumbersHaveAnOrder(t *testing.T) {
	rate := func(values ...string) []Rating {
		var ratings []Rating
		for i := 0; i < len(values); i += 2 {
			ratings = append(ratings, Rating{fmt.Sprint(i), "A", "1", values[i], ""}, Rating{fmt.Sprint(i), "B", "1", values[i+1], ""})
		}
		return ratings
	}
	r, err := Agreement(rate("30", "10", "2", "2", "10", "10"), Quadratic)
	if err != nil {
		t.Fatal(err)
	}
	if fmt.Sprint(r.Categories) != "[2 10 30]" {
		t.Errorf("order %v", r.Categories)
	}
	// Observed 20^2/3; chance over all pairs of (30, 2, 10) and (10, 2, 10): 400+784+400 + 64+0+64 + 0+64+0, over 9.
	near(t, "kappa", r.Between[0].Kappa, 1-(400.0/3)/(1776.0/9), 1e-12)
	// One number in two spellings is one rating.
	r, err = Agreement([]Rating{{"1", "A", "1", "1", "1.0"}, {"2", "A", "1", "0", "0.0"}}, Unweighted)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "spellings", r.Reference[0].Kappa, 1, 0)
	if _, err := Agreement(rate("good", "fair", "bad", "bad"), Quadratic); err == nil || !strings.Contains(err.Error(), "words without an order") {
		t.Errorf("words with weights: %v", err)
	}
}

func TestAgreementErrors(t *testing.T) {
	good, _ := attributeStudyOf(t)
	edit := func(change func([]Rating) []Rating) []Rating { return change(append([]Rating(nil), good...)) }
	for _, c := range []struct {
		ratings []Rating
		w       Weights
		want    string
	}{
		{nil, Unweighted, "an attribute study needs at least 2 items and 1 trials; found 0 and 0"},
		{good[:100], Unweighted, "item 14, appraiser appraiser 2, trial 2 is missing"},
		{edit(func(r []Rating) []Rating { r[3].Rating = ""; return r }), Unweighted, "row 4: rating: is empty"},
		{edit(func(r []Rating) []Rating { r[3].Item = ""; return r }), Unweighted, "row 4: item: is empty"},
		{edit(func(r []Rating) []Rating { r[4].Reference = "0"; return r }), Unweighted, `row 5: reference: found "0", but item 2 had "1" before`},
		{edit(func(r []Rating) []Rating {
			for i := range r {
				if r[i].Item == "2" {
					r[i].Reference = ""
				}
			}
			return r
		}), Unweighted, "row 4: reference: is empty for item 2"},
		{append(append([]Rating(nil), good...), good[8]), Unweighted, "row 181: trial: item 3, appraiser appraiser 1, trial 3 is there a second time"},
		{good, "cubic", `weights: found "cubic"; allowed: linear or quadratic`},
	} {
		if _, err := Agreement(c.ratings, c.w); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// Every kappa is at most 1 and, where all agree with a varied reference, exactly 1.
func TestPerfectAgreement(t *testing.T) {
	var ratings []Rating
	for i := range 9 {
		for _, who := range []string{"A", "B", "C"} {
			word := fmt.Sprint(i % 3)
			ratings = append(ratings, Rating{fmt.Sprint(i), who, "1", word, word})
		}
	}
	for _, w := range []Weights{Unweighted, Linear, Quadratic} {
		r, err := Agreement(ratings, w)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range []*float64{r.FleissKappa, r.Between[0].Kappa, r.Reference[2].Kappa} {
			if k == nil || math.Abs(*k-1) > 1e-15 {
				t.Errorf("%q: kappa %v, want 1", w, k)
			}
		}
	}
}
