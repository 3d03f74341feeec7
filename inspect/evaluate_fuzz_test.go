package inspect

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"testing"
)

// soundResult fails for a number in a result that is not finite.
func soundResult(t *testing.T, res *Result) {
	t.Helper()
	if _, err := json.Marshal(res); err != nil { // JSON has no NaN and no infinity
		t.Fatalf("result is not finite: %v", err)
	}
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.U != nil && *c.U < 0 || c.PConform != nil && (*c.PConform < 0 || *c.PConform > 1) || c.Zone == "" {
			t.Fatalf("%+v", *c)
		}
	}
	if res.Conforms != (res.Disposition == Pass) {
		t.Fatalf("conforms %v, disposition %s", res.Conforms, res.Disposition)
	}
}

// FuzzEvaluateHeights: whatever the heights are, an error or a finite result comes back, never a panic. Eight bytes make one
// number; a first byte with its highest bit set means not measured.
func FuzzEvaluateHeights(f *testing.F) {
	add := func(frets byte, tracks byte, values ...float64) {
		var data []byte
		for _, v := range values {
			data = binary.BigEndian.AppendUint64(data, math.Float64bits(v))
		}
		f.Add(frets, tracks, data)
	}
	add(22, 3)
	add(22, 0, 1, 2, 3)
	add(3, 1, 0.1)
	add(22, 2, math.NaN(), math.Inf(1), math.Inf(-1), 1e308, 5e-324)
	add(24, 3, 1e6, -1e6, 0, 0, 0, 0, 0)
	add(12, 3, 0.01, 0.011, 0.5, -0.5, 1e-300, 999, -999, 0.3)
	add(22, 3, 0, -0.12, -0.22, -0.3, -0.36, -0.4, -0.42)
	f.Fuzz(func(t *testing.T, frets, tracks byte, data []byte) {
		s, r := fullNeck(1)
		s.Neck.Frets = int(frets) % 26
		s.Neck.JointFret = min(17, s.Neck.Frets)
		number := func(i int) *float64 {
			if len(data) < 8 {
				return nil
			}
			i = i * 8 % (len(data) - 7)
			if data[i]&0x80 != 0 && data[i+1]&1 != 0 {
				return nil
			}
			v := math.Float64frombits(binary.BigEndian.Uint64(data[i:]))
			return &v
		}
		r.Profile = r.Profile[:int(tracks)%4]
		for i := range r.Profile {
			p := &r.Profile[i]
			p.ZMM = make([]*float64, s.Neck.Frets)
			for j := range p.ZMM {
				p.ZMM[j] = number(i*s.Neck.Frets + j)
			}
		}
		for i := range r.Action {
			if v := number(i); v != nil {
				r.Action[i].HeightMM = *v
				r.NutHeight[i].UMM = v
			}
		}
		for i := range s.Limits {
			if k := kinds[s.Limits[i].Characteristic]; k.Fret && s.Limits[i].Fret.Number > s.Neck.Frets {
				s.Limits[i].Fret = EachIndex()
			}
		}
		for _, quick := range []bool{true, false} {
			res, err := Evaluate(s, r, Options{SkipUncertainty: quick})
			if err == nil {
				soundResult(t, res)
			}
		}
	})
}

// FuzzEvaluateFiles: any JSON that makes a specification and readings gives an error or a finite result.
func FuzzEvaluateFiles(f *testing.F) {
	for _, name := range neckNames {
		s, r := readNeck(f, name)
		f.Add(mustJSON(f, s), mustJSON(f, r))
	}
	s, r := readNeck(f, "W2-too-much-relief")
	r.RodSteps = []RodStep{{Turns: 0.25, Direction: "loosen", ReliefBeforeMM: 0.4, ReliefAfterMM: 0.5}}
	r.Intonation = []IntonationReading{{String: 6, Fret: 12, OpenHz: 82.41, FrettedHz: 164.9}}
	r.FretXMM = make([]*float64, 20)
	f.Add(mustJSON(f, s), mustJSON(f, r))
	f.Add(`{}`, `{}`)
	f.Add(`{"neck":{"scale_mm":648,"frets":3}}`, `{"profile":[{"z_mm":[null]}]}`)
	f.Fuzz(func(t *testing.T, spec, readings string) {
		s, r := &Spec{}, &Readings{}
		if json.Unmarshal([]byte(spec), s) != nil || json.Unmarshal([]byte(readings), r) != nil {
			return
		}
		if res, err := Evaluate(s, r, Options{}); err == nil {
			soundResult(t, res)
			for _, c := range res.Characteristics {
				_, _ = WorstMargin(c)
				if len(Words(s, c)) == 0 {
					t.Fatalf("%+v has no words", c)
				}
				Involved(s, c)
			}
			if n := len(res.Characteristics); n > 0 {
				c := res.Characteristics[(len(spec)+len(readings))%n]
				if w, err := Workings(s, r, c); err == nil && len(w) == 0 {
					t.Fatalf("%s has no workings", Words(s, c))
				}
			}
			Remedies(s, res)
			for _, a := range res.Advice {
				if AdviceWords(s, a) == "" {
					t.Fatalf("%+v has no words", a)
				}
			}
		}
		s.WithDefaults().TracksOf()
		s.Unmeasurable()
	})
}

// FuzzRod: advice and learning stay finite for finite inputs.
func FuzzRod(f *testing.F) {
	f.Add(0.45, 0.006, 0.3, 0.5, 0.125, 0.25, 0.5, 0.4)
	f.Add(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
	f.Add(-1e9, 1e9, 1e-300, -0.5, 1e-200, 1e300, 2.0, 2.0)
	f.Add(0.45, 0.006, 0.3, 0.5, 0.125, 0.25, -62.5, 0.4) // went the wrong way: teaches nothing
	f.Add(math.NaN(), math.Inf(1), 0.3, 0.5, 0.1, 0.25, math.Inf(-1), math.NaN())
	f.Fuzz(func(t *testing.T, relief, u, target, k, sd, turns, before, after float64) {
		for _, v := range []float64{relief, u, target, k, sd, turns, before, after} {
			if !(math.Abs(v) < 1e9) {
				LearnRod(&Spec{}, []RodStep{{Turns: turns, ReliefBeforeMM: before, ReliefAfterMM: after, UMM: &u}}) // must not panic
				return
			}
		}
		a := AdviseRod(relief, u, target, k, sd)
		if math.Abs(a.Turns) > 0.25 || math.IsNaN(a.PredictedMM+a.IntervalMM[0]+a.IntervalMM[1]) || a.IntervalMM[0] > a.IntervalMM[1] {
			t.Fatalf("%+v", a)
		}
		if math.Abs(turns) > 1e-3 && u > 1e-6 {
			m := LearnRod(&Spec{}, []RodStep{{Turns: turns, ReliefBeforeMM: before, ReliefAfterMM: after, UMM: &u}})
			if mean, sd := m.NewNeck(); math.IsNaN(mean) || !(sd > 0) || m.Pairs > 0 && !(m.SDMM > 0) {
				t.Fatalf("%+v", m)
			}
		}
	})
}
