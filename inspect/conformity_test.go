package inspect

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

func TestConformityReference(t *testing.T) {
	var ref struct {
		GuardFactor float64 `json:"guard_factor"`
		Cases       []struct {
			Y, U              float64
			Lower, Upper      *float64
			P                 float64 `json:"p_conform"`
			Source            string
			Simple            Zone
			GuardedAcceptance Zone `json:"guarded_acceptance"`
			GuardedRejection  Zone `json:"guarded_rejection"`
		}
	}
	kerneltest.Load(t, "conformance.json", &ref)
	if len(ref.Cases) != 17 {
		t.Fatalf("%d cases", len(ref.Cases))
	}
	for _, c := range ref.Cases {
		p := ConformProbability(c.Y, c.U, c.Lower, c.Upper)
		t.Logf("%s: y %v u %v: p %.10g, %.1f digits", c.Source, c.Y, c.U, p, kerneltest.Digits(p, c.P))
		// The reference subtracts two values near 1 where both limits lie on one side, which costs it 1e-16.
		if math.Abs(p-c.P) > 3e-16+1e-14*c.P {
			t.Errorf("y %v u %v: p %v, want %v", c.Y, c.U, p, c.P)
		}
		for rule, want := range map[string]Zone{
			"simple": c.Simple, "guarded_acceptance": c.GuardedAcceptance, "guarded_rejection": c.GuardedRejection,
		} {
			if zone, err := Judge(rule, ref.GuardFactor, c.Y, c.U, c.Lower, c.Upper); err != nil || zone != want {
				t.Errorf("%s, y %v u %v: %v, %v, want %v", rule, c.Y, c.U, zone, err, want)
			}
		}
	}
	// JCGM 106:2012 gives 0.66 for the two-sided example of 7.4 and 0.92 and 0.99 for the one-sided ones of 7.3 (from memory).
	for i, printed := range []float64{0.66, 0.92, 0.99} {
		c := ref.Cases[i]
		if p := ConformProbability(c.Y, c.U, c.Lower, c.Upper); math.Abs(p-printed) > 0.005 {
			t.Errorf("%s: p %v, printed %v", c.Source, p, printed)
		}
	}
}

// TestNormalTail compares with M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, table 26.2, values of
// -log10 Q(x) for large x (from memory, five decimals).
func TestNormalTail(t *testing.T) {
	zero := 0.0
	for _, c := range []struct{ x, minusLog float64 }{{5, 6.54265}, {10, 23.11805}, {20, 88.56010}, {30, 197.30921}} {
		for _, p := range []float64{
			ConformProbability(c.x, 1, nil, &zero),
			ConformProbability(-c.x, 1, &zero, nil),
		} {
			if got := -math.Log10(p); math.Abs(got-c.minusLog) > 0.000005 {
				t.Errorf("x %v: -log10 Q is %v, tabulated %v", c.x, got, c.minusLog)
			}
		}
	}
	// Q(10) in full: 7.61985302416052606597e-24 (50-digit arithmetic, from memory).
	if p := ConformProbability(10, 1, nil, &zero); math.Abs(p/7.61985302416052606597e-24-1) > 1e-14 {
		t.Errorf("Q(10) = %v", p)
	}
}

func TestConformProbabilityLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	for range 20_000 {
		lower := r.NormFloat64()
		upper := lower + 2*r.Float64()
		u, y := math.Pow(10, 2*r.Float64()-1.5), 4*r.NormFloat64()
		p := ConformProbability(y, u, &lower, &upper)
		if !(p >= 0 && p <= 1) {
			t.Fatalf("p = %v", p)
		}
		// Away from the middle of the limits it falls; shifting all or mirroring all changes nothing.
		middle := (lower + upper) / 2
		further := y + math.Copysign(0.1, y-middle)
		if q := ConformProbability(further, u, &lower, &upper); q > p+1e-15 {
			t.Fatalf("y %v to %v in %v..%v, u %v: p rises from %v to %v", y, further, lower, upper, u, p, q)
		}
		minusLower, minusUpper := -lower, -upper
		if q := ConformProbability(-y, u, &minusUpper, &minusLower); q != p {
			t.Fatalf("mirrored: %v, %v", p, q)
		}
		// The two tails and the middle make 1, and one-sided limits are monotone.
		below, above := ConformProbability(y, u, nil, &lower), ConformProbability(y, u, &upper, nil)
		if math.Abs(below+p+above-1) > 1e-14 {
			t.Fatalf("parts sum to %v", below+p+above)
		}
		if q := ConformProbability(y+0.1, u, nil, &lower); q > below {
			t.Fatalf("p below %v rises with y: %v to %v", lower, below, q)
		}
	}
	nan := math.NaN()
	zero := 0.0
	for _, p := range []float64{
		ConformProbability(nan, 1, &zero, nil), ConformProbability(0, nan, &zero, nil), ConformProbability(0, -1, &zero, nil),
		ConformProbability(0, 1, &nan, nil), ConformProbability(0, 0, nil, &nan),
	} {
		if p != 0 {
			t.Errorf("no distribution: p = %v, want 0", p)
		}
	}
	if p := ConformProbability(5, 1, nil, nil); p != 1 {
		t.Errorf("no limits: p = %v, want 1", p)
	}
	for _, c := range []struct{ y, want float64 }{{0, 1}, {1, 1}, {0.5, 1}, {-1e-300, 0}, {1.0000001, 0}} {
		one := 1.0
		if p := ConformProbability(c.y, 0, &zero, &one); p != c.want {
			t.Errorf("u = 0, y = %v: p = %v, want %v", c.y, p, c.want)
		}
	}
}

func TestJudgeBounds(t *testing.T) {
	lower, upper := 0.25, 0.5
	const factor, u = 2.0, 0.03125 // g = 0.0625, all exact in binary
	below := func(v float64) float64 { return math.Nextafter(v, -1) }
	above := func(v float64) float64 { return math.Nextafter(v, 1) }
	for _, c := range []struct {
		rule         string
		y            float64
		lower, upper *float64
		want         Zone
	}{
		{"simple", 0.25, &lower, &upper, Conforming},
		{"simple", below(0.25), &lower, &upper, Nonconforming},
		{"simple", 0.5, &lower, &upper, Conforming},
		{"simple", above(0.5), &lower, &upper, Nonconforming},
		{"simple", -9, nil, &upper, Conforming},
		{"simple", 9, &lower, nil, Conforming},
		{"simple", 9, nil, nil, NoLimit},
		{"guarded_acceptance", 0.3125, &lower, &upper, Conforming},
		{"guarded_acceptance", below(0.3125), &lower, &upper, Undecided},
		{"guarded_acceptance", 0.25, &lower, &upper, Undecided},
		{"guarded_acceptance", below(0.25), &lower, &upper, Nonconforming},
		{"guarded_acceptance", 0.4375, &lower, &upper, Conforming},
		{"guarded_acceptance", above(0.4375), &lower, &upper, Undecided},
		{"guarded_acceptance", 0.5, &lower, &upper, Undecided},
		{"guarded_acceptance", above(0.5), &lower, &upper, Nonconforming},
		{"guarded_rejection", 0.1875, &lower, &upper, Undecided},
		{"guarded_rejection", below(0.1875), &lower, &upper, Nonconforming},
		{"guarded_rejection", 0.25, &lower, &upper, Conforming},
		{"guarded_rejection", below(0.25), &lower, &upper, Undecided},
		{"guarded_rejection", 0.5625, &lower, &upper, Undecided},
		{"guarded_rejection", above(0.5625), &lower, &upper, Nonconforming},
		{"guarded_rejection", above(0.5), &lower, &upper, Undecided},
	} {
		if zone, err := Judge(c.rule, factor, c.y, u, c.lower, c.upper); err != nil || zone != c.want {
			t.Errorf("%s, y %v: %v, %v, want %v", c.rule, c.y, zone, err, c.want)
		}
	}
	// A tolerance narrower than two guard bands has no conforming zone.
	if zone, err := Judge("guarded_acceptance", factor, 0.375, 0.1, &lower, &upper); err != nil || zone != Undecided {
		t.Errorf("narrow tolerance: %v, %v", zone, err)
	}
}

func TestJudgeErrors(t *testing.T) {
	lower, upper, nan := 0.5, 0.25, math.NaN()
	for name, run := range map[string]func() (Zone, error){
		"unknown rule":      func() (Zone, error) { return Judge("strict", 1, 0, 1, nil, &upper) },
		"unknown, no limit": func() (Zone, error) { return Judge("", 1, 0, 1, nil, nil) },
		"limits exchanged":  func() (Zone, error) { return Judge("simple", 1, 0, 1, &lower, &upper) },
		"negative u":        func() (Zone, error) { return Judge("simple", 1, 0, -1, nil, &upper) },
		"negative factor":   func() (Zone, error) { return Judge("simple", -1, 0, 1, nil, &upper) },
		"NaN value":         func() (Zone, error) { return Judge("simple", 1, nan, 1, nil, &upper) },
		"NaN limit":         func() (Zone, error) { return Judge("simple", 1, 0, 1, nil, &nan) },
		"infinite u":        func() (Zone, error) { return Judge("simple", 1, 0, math.Inf(1), nil, &upper) },
	} {
		if zone, err := run(); err == nil || zone != "" {
			t.Errorf("%s: %q, %v", name, zone, err)
		}
	}
	if _, err := Judge("simple", 1, nan, 1, nil, nil); !errors.Is(err, fit.ErrNotFinite) {
		t.Errorf("NaN without limits: %v", err)
	}
}

// example is a worked example of testdata/reference/statistics; its source stands in the file.
type example struct {
	Name             string
	Inputs, Expected map[string]json.RawMessage
}

// decoded reads a value of an example.
func decoded[T any](t *testing.T, from map[string]json.RawMessage, key string) (v T) {
	t.Helper()
	if err := json.Unmarshal(from[key], &v); err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return v
}

// conformityExample is the example whose name begins with a word, and its limits, nil where it has none.
func conformityExample(t *testing.T, word string) (e example, lower, upper *float64) {
	t.Helper()
	var doc struct{ Entries []example }
	readJSON(t, "../testdata/reference/statistics/conformity.json", &doc)
	i := slices.IndexFunc(doc.Entries, func(e example) bool { return strings.HasPrefix(e.Name, word) })
	if i < 0 {
		t.Fatalf("no example %q", word)
	}
	e = doc.Entries[i]
	if e.Inputs["T_L"] != nil {
		lower = number(decoded[float64](t, e.Inputs, "T_L"))
	}
	return e, lower, number(decoded[float64](t, e.Inputs, "T_U"))
}

// TestConformanceExamples: conformance probabilities with one limit and with two, and the consumer's risk at an accepted value
// (JCGM 106:2012, 7 and 9.3; conformity.json).
func TestConformanceExamples(t *testing.T) {
	same := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) <= 1e-12) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	e, lower, upper := conformityExample(t, "Conformance probability, one")
	y, u := decoded[float64](t, e.Inputs, "y"), decoded[float64](t, e.Inputs, "u")
	same(e.Name, ConformProbability(y, u, lower, upper), decoded[float64](t, e.Expected, "p_c"))
	e, lower, upper = conformityExample(t, "Conformance probability, two")
	for _, r := range decoded[[][3]float64](t, e.Expected, "rows") {
		same(e.Name, ConformProbability(r[0], r[1], lower, upper), r[2])
	}
	e, lower, upper = conformityExample(t, "Specific consumer risk")
	y, u = decoded[float64](t, e.Inputs, "y"), decoded[float64](t, e.Inputs, "u")
	same(e.Name, 1-ConformProbability(y, u, lower, upper), decoded[float64](t, e.Expected, "specific_consumer_risk"))
}

// TestGuardBandExamples: what is proven with guard bands of 2 u and of 1.65 u is what the rule that asks for more of it says
// (ISO 14253-1), and where each rule's acceptance ends (JCGM 106:2012, 8.3; conformity.json).
func TestGuardBandExamples(t *testing.T) {
	e, lower, upper := conformityExample(t, "Decision rule")
	u := decoded[float64](t, e.Inputs, "u")
	judged := func(rule string, guard, y float64) Zone {
		zone, err := Judge(rule, guard, y, u, lower, upper)
		if err != nil {
			t.Fatal(err)
		}
		return zone
	}
	for _, r := range decoded[[][3]any](t, e.Expected, "rows") {
		y, _ := r[0].(float64)
		for i, guard := range []float64{2, 1.65} {
			got := "neither proven"
			switch {
			case judged(GuardedAcceptance, guard, y) == Conforming:
				got = "conformity proven"
			case judged(guardedRejection, guard, y) == Nonconforming:
				got = "nonconformity proven"
			}
			if got != r[i+1] {
				t.Errorf("%v with a guard of %v u: %s, want %s", y, guard, got, r[i+1])
			}
		}
	}
	e, lower, upper = conformityExample(t, "Guard band")
	u = decoded[float64](t, e.Inputs, "U") / 2
	for _, c := range []struct {
		rule, key      string
		inside, beyond Zone
	}{
		{simpleRule, "simple_acceptance", Conforming, Nonconforming},
		{GuardedAcceptance, "guarded_acceptance (w=U)", Conforming, Undecided},
		{guardedRejection, "guarded_rejection (w=-U)", Undecided, Nonconforming},
	} {
		limits := decoded[[2]float64](t, e.Expected, c.key)
		for i, out := range [2]float64{-1e-9, 1e-9} {
			if in, over := judged(c.rule, 2, limits[i]-out), judged(c.rule, 2, limits[i]+out); in != c.inside || over != c.beyond {
				t.Errorf("%s at %v: inside %s, beyond %s; want %s, %s", c.rule, limits[i], in, over, c.inside, c.beyond)
			}
		}
	}
}
