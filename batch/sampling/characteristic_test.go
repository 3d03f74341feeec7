package sampling

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s: %.17g, want %.17g", what, got, want)
	}
}

// sure gives the value of a call that must not fail.
func sure(v float64, err error) func(*testing.T) float64 {
	return func(t *testing.T) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Source: NIST/SEMATECH e-Handbook, section 6.2.3.1, n = 52, c = 3, N = 10000 (acceptance_sampling.json).
func TestCharacteristic(t *testing.T) {
	e := references(t, "OC curve")[0]
	p := Plan{N: decode[int](t, e.Inputs, "n"), Accept: 3, Reject: decode[int](t, e.Inputs, "c") + 1}
	lot := decode[int](t, e.Inputs, "N")
	binomial, whole := decode[[]float64](t, e.Expected, "Pa_binomial"), decode[[]float64](t, e.Expected, "Pa_hypergeometric")
	poisson := decode[[]float64](t, e.Expected, "Pa_poisson")
	for i, share := range decode[[]float64](t, e.Inputs, "p") {
		near(t, "binomial", sure(p.Acceptance(share))(t), binomial[i], 1e-9)
		near(t, "hypergeometric", sure(p.AcceptanceOfLot(lot, int(math.Round(share*float64(lot)))))(t), whole[i], 1e-9)
		near(t, "poisson", sure(p.AcceptanceOfDefects(share))(t), poisson[i], 1e-9)
	}
}

// Source: type A against type B on small lots (acceptance_sampling.json).
func TestSmallLots(t *testing.T) {
	for _, row := range decode[[][]float64](t, references(t, "Type A")[0].Expected, "rows") {
		p := Plan{N: int(row[1]), Accept: int(row[2]), Reject: int(row[2]) + 1}
		near(t, "hypergeometric", sure(p.AcceptanceOfLot(int(row[0]), int(row[3])))(t), row[4], 1e-10)
		near(t, "binomial", sure(p.Acceptance(row[3]/row[0]))(t), row[5], 1e-10)
	}
}

// Source: MIL-STD-105E, Table X, computed to full digits (acceptance_sampling.json); and the risks of letter K at AQL 1.0.
func TestQualityAt(t *testing.T) {
	e := references(t, "Quality levels")[0]
	levels := []float64{0.99, 0.95, 0.9, 0.75, 0.5, 0.25, 0.1, 0.05, 0.01}
	for _, row := range decode[[][]float64](t, e.Expected, "binomial") {
		p := Plan{N: int(row[0]), Accept: int(row[1]), Reject: int(row[1]) + 1}
		for i, accepted := range levels {
			near(t, "quality", 100*sure(p.QualityAt(accepted))(t), row[i+2], 1e-8*row[i+2])
		}
	}
	risks := references(t, "Risks of code letter K")[0]
	k, err := Lookup(2000, 1.0, "II", Normal)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "producer's risk", 1-sure(k.Acceptance(0.01))(t), decode[float64](t, risks.Expected, "producer_risk_at_AQL_binomial"), 1e-9)
	near(t, "producer's risk by counts", 1-sure(k.AcceptanceOfDefects(0.01))(t), decode[float64](t, risks.Expected, "producer_risk_at_AQL_poisson"), 1e-9)
	near(t, "consumer's point", sure(k.QualityAt(0.1))(t), decode[float64](t, risks.Expected, "LTPD_10_percent_binomial"), 1e-9)
}

// A gap between the numbers accepts: Re 4 decides, not Ac 1. By hand for n = 2, Ac 0, Re 2: 1 - p^2.
func TestGapAccepts(t *testing.T) {
	p := Plan{N: 2, Accept: 0, Reject: 2}
	near(t, "gap", sure(p.Acceptance(0.3))(t), 1-0.09, 1e-14)
	never := Plan{N: 2, Accept: 30, Reject: 31} // counts nonconformities; two units cannot reach it
	near(t, "units", sure(never.Acceptance(1))(t), 1, 0)
	near(t, "quality", sure(never.QualityAt(0.5))(t), 1, 0)
	near(t, "nothing wrong", sure(p.AcceptanceOfDefects(0))(t), 1, 0)
	near(t, "all wrong", sure(p.Acceptance(1))(t), 0, 0)
	near(t, "none wrong", sure(p.Acceptance(0))(t), 1, 0)
}

func TestCharacteristicErrors(t *testing.T) {
	p := Plan{N: 20, Accept: 1, Reject: 2}
	for name, call := range map[string]func() (float64, error){
		"share above 1":    func() (float64, error) { return p.Acceptance(1.5) },
		"share no number":  func() (float64, error) { return p.Acceptance(math.NaN()) },
		"small lot":        func() (float64, error) { return p.AcceptanceOfLot(10, 1) },
		"more bad":         func() (float64, error) { return p.AcceptanceOfLot(30, 31) },
		"rate negative":    func() (float64, error) { return p.AcceptanceOfDefects(-1) },
		"rate infinite":    func() (float64, error) { return p.AcceptanceOfDefects(math.Inf(1)) },
		"certain":          func() (float64, error) { return p.QualityAt(1) },
		"never":            func() (float64, error) { return p.QualityAt(0) },
		"chance no number": func() (float64, error) { return p.QualityAt(math.NaN()) },
	} {
		if v, err := call(); err == nil {
			t.Errorf("%s: %v without an error", name, v)
		}
	}
}
