package laying

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"
)

// reference is testdata/reference/geometry/layings.json, computed with numpy apart from this project's code.
type reference struct {
	Cases []referenceCase `json:"cases"`
}

type referenceCase struct {
	Kind, Name string
	U          float64 `json:"u_mm"`

	Old   []referenceCrown
	Asked []referenceCrown `json:"links_asked"`
	Links []referenceCrown

	Scale     float64 `json:"scale_mm"`
	Joint     int     `json:"joint_fret"`
	Frets     int
	Tracks    int
	Developed [][]*float64 `json:"developed_mm"`
	Taken     [][3]float64

	Expected struct {
		Form         string
		C            []float64
		Residuals    []float64 `json:"residuals_mm"`
		Leverage     []float64
		Standardised []float64
		Agree        bool
		Z            []float64 `json:"z_mm"`
		Withdrawn    string

		Moved     bool
		Strongest []referencePlace
		Step      *referencePlace

		Last  [][4]float64
		Asked bool
		About []int
	}
}

type referenceCrown struct {
	Track, Fret int
	X           float64 `json:"x_mm"`
	Y           float64 `json:"y_mm"`
	Z           float64 `json:"z_mm"`
}

type referencePlace struct {
	Series        string
	Track         int
	After, Before int
	Offset, Least float64
	Statistic     float64
}

func readReference(t *testing.T, kind string) (cases []referenceCase) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/geometry/layings.json")
	if err != nil {
		t.Fatal(err)
	}
	var all reference
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	for _, c := range all.Cases {
		if c.Kind == kind {
			cases = append(cases, c)
		}
	}
	if len(cases) == 0 {
		t.Fatalf("no case of kind %q", kind)
	}
	return cases
}

// comparison counts values compared with the reference's and the largest difference.
type comparison struct {
	t      *testing.T
	values int
	worst  float64
}

func (c *comparison) agree(what string, got, want, tolerance float64) {
	c.t.Helper()
	c.values++
	d := math.Abs(got - want)
	c.worst = max(c.worst, d)
	if !(d <= tolerance) {
		c.t.Errorf("%s: %.9f, want %.9f", what, got, want)
	}
}

func (c *comparison) log() {
	c.t.Helper()
	digits := 16.0
	if c.worst > 0 {
		digits = math.Floor(-math.Log10(c.worst))
	}
	c.t.Logf("layings.json (numpy): %d values, largest difference %.1e: %.0f decimals agree", c.values, c.worst, digits)
}

// ordinary returns a neck of parallel frets with datum 1 and relief at fret 7, and tracks of these y at nut and saddle.
func ordinary(scale float64, frets, joint int, across ...[2]float64) Neck {
	n := Neck{Scale: scale, Datum: 1, Relief: 7, Joint: joint, Last: frets}
	for fret := range frets + 1 {
		n.Centre = append(n.Centre, scale*(1-math.Exp2(-float64(fret)/12)))
	}
	for _, y := range across {
		t := Track{X: slices.Clone(n.Centre)}
		for _, x := range t.X {
			t.Y = append(t.Y, y[0]+(y[1]-y[0])*x/scale)
		}
		n.Tracks = append(n.Tracks, t)
	}
	return n
}

// usual are the tracks of a neck with so many.
func usual(tracks int) [][2]float64 {
	return [][][2]float64{1: {{0, 0}}, 2: {{-17.5, -26}, {17.5, 26}}, 3: {{-17.5, -26}, {0, 0}, {17.5, 26}}}[tracks]
}

func TestReferenceCarrying(t *testing.T) {
	for _, c := range readReference(t, "carry") {
		t.Run(c.Name, func(t *testing.T) {
			tracks := 0
			for _, o := range c.Old {
				tracks = max(tracks, o.Track+1)
			}
			neck := ordinary(648, 22, 17, usual(max(tracks, 2))...)
			var old, links, asked []Crown
			for _, o := range c.Old {
				neck.Tracks[o.Track].X[o.Fret], neck.Tracks[o.Track].Y[o.Fret] = o.X, o.Y
				old = append(old, Crown{o.Track, o.Fret, o.Z})
			}
			for _, l := range c.Links {
				links = append(links, Crown{l.Track, l.Fret, l.Z})
			}
			named, err := Links(neck, old)
			if err != nil {
				t.Fatal(err)
			}
			for _, l := range named {
				asked = append(asked, Crown{Track: l.Track, Fret: l.Fret})
			}
			want := []Crown{}
			for _, l := range c.Asked {
				want = append(want, Crown{Track: l.Track, Fret: l.Fret})
			}
			if !slices.Equal(asked, want) {
				t.Errorf("links asked %v, want %v", asked, want)
			}
			if few := len(old) < FewestCarried; few != (c.Expected.Withdrawn != "") {
				t.Fatalf("%d old crowns: too few %v, want %q", len(old), few, c.Expected.Withdrawn)
			} else if few {
				return
			}
			got, err := Carry(neck, old, links, c.U)
			if err != nil {
				t.Fatal(err)
			}
			e := c.Expected
			if len(got.Shifts) != 1 || (got.Shifts[0].Track == EveryTrack) != (e.Form == "plane") {
				t.Fatalf("shifts %v, want one %s", got.Shifts, e.Form)
			}
			cmp := comparison{t: t}
			for i, v := range e.C {
				cmp.agree("c", got.Shifts[0].C[i], v, 1e-8)
			}
			for i, l := range got.Links {
				cmp.agree("residual", l.Residual, e.Residuals[i], 1e-6)
				cmp.agree("leverage", l.Leverage, e.Leverage[i], 1e-6)
				cmp.agree("standardised", l.Standardised, e.Standardised[i], 1e-5)
			}
			if got.Agree != e.Agree {
				t.Errorf("agree: %v, want %v", got.Agree, e.Agree)
			}
			for i, z := range e.Z {
				cmp.agree("z", got.Crowns[i].Z, z, 1e-6)
			}
			cmp.log()
		})
	}
}

func TestReferenceSteps(t *testing.T) {
	for _, c := range readReference(t, "step") {
		t.Run(c.Name, func(t *testing.T) {
			neck := ordinary(c.Scale, len(c.Developed[0]), c.Joint, usual(len(c.Developed))...)
			var crowns []Crown
			for track, heights := range c.Developed {
				for i, z := range heights {
					if z != nil {
						crowns = append(crowns, Crown{track, i + 1, *z})
					}
				}
			}
			got, err := FindStep(neck, crowns, c.U)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Series) != len(c.Expected.Strongest) {
				t.Fatalf("%d series, want %d", len(got.Series), len(c.Expected.Strongest))
			}
			cmp := comparison{t: t}
			place := func(got Series, at Place, want referencePlace) {
				t.Helper()
				if got.Difference != (want.Series == "difference") || got.Track != want.Track || at.After != want.After || at.Before != want.Before {
					t.Errorf("%+v at %+v, want %+v", got, at, want)
					return
				}
				cmp.agree("offset", at.Offset, want.Offset, 1e-6)
			}
			for i, want := range c.Expected.Strongest {
				s := got.Series[i]
				place(s, s.Strongest, want)
				cmp.agree("least", s.Strongest.Least, want.Least, 1e-6)
				cmp.agree("statistic", s.Strongest.Statistic, want.Statistic, 1e-5)
			}
			if got.Moved != c.Expected.Moved {
				t.Fatalf("moved %v, want %v", got.Moved, c.Expected.Moved)
			}
			if got.Moved {
				place(got.Of, got.Step, *c.Expected.Step)
			}
			cmp.log()
		})
	}
}

func TestReferenceQuestions(t *testing.T) {
	for _, c := range readReference(t, "implausible") {
		t.Run(c.Name, func(t *testing.T) {
			neck := ordinary(c.Scale, c.Frets, c.Joint, usual(c.Tracks)...)
			var taken []Crown
			for _, v := range c.Taken {
				taken = append(taken, Crown{int(v[0]), int(v[1]), v[2]})
			}
			got, err := Question(neck, taken, c.U)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Last) != len(c.Expected.Last) {
				t.Fatalf("%d crowns looked at, want %d", len(got.Last), len(c.Expected.Last))
			}
			cmp := comparison{t: t}
			for i, want := range c.Expected.Last {
				s := got.Last[i]
				if s.Track != int(want[0]) || s.Fret != int(want[1]) {
					t.Errorf("crown %d is track %d fret %d, want %v", i, s.Track, s.Fret, want)
				}
				cmp.agree("deviation", s.Deviation, want[2], 1e-6)
				cmp.agree("sd", s.SD, want[3], 1e-6)
			}
			if got.Asked != c.Expected.Asked {
				t.Fatalf("asked %v, want %v", got.Asked, c.Expected.Asked)
			}
			if got.Asked && (taken[got.About].Track != c.Expected.About[0] || taken[got.About].Fret != c.Expected.About[1]) {
				t.Errorf("asked about %+v, want %v", taken[got.About], c.Expected.About)
			}
			cmp.log()
		})
	}
}
