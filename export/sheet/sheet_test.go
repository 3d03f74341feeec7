package sheet

import (
	"bytes"
	"context"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/files"
	"sagitta/inspect"
)

// planted is a record of one instrument whose truth is known.
type planted struct {
	spec     *inspect.Spec
	all      []batch.Inspection
	readings map[string][]batch.Reading
	verdicts map[string][]batch.Verdict
	work     []batch.ReworkAction
	doubts   []batch.Doubt

	earlier    map[string]*planted // by the neck's ID
	instrument batch.Instrument
	visits     []batch.Visit
	sets       []batch.StringSet
	photos     []batch.Photograph
	anchor     *anchor.Checkpoint
}

var day = time.Date(2026, 11, 2, 10, 0, 0, 0, time.UTC)

func (p *planted) Neck(_ context.Context, serial string) (batch.Neck, error) {
	return batch.Neck{ID: "n", Serial: serial, BatchNumber: "B", RegisteredAt: day}, nil
}
func (p *planted) Batch(context.Context, string) (batch.Batch, error) {
	return batch.Batch{Number: "B", Spec: batch.SpecRevision{Spec: p.spec}}, nil
}
func (p *planted) Inspections(_ context.Context, neckID string) ([]batch.Inspection, error) {
	return p.of(neckID).all, nil
}
func (p *planted) Readings(_ context.Context, id string) ([]batch.Reading, error) {
	for _, e := range p.earlier {
		if rows, has := e.readings[id]; has {
			return rows, nil
		}
	}
	return p.readings[id], nil
}

// of is what is planted of a neck: of the sheet's own, or of one of an earlier visit.
func (p *planted) of(neckID string) *planted {
	if e := p.earlier[neckID]; e != nil {
		return e
	}
	return p
}
func (p *planted) Verdicts(_ context.Context, id string) ([]batch.Verdict, error) {
	return p.verdicts[id], nil
}
func (p *planted) Rework(_ context.Context, neckID string) ([]batch.ReworkAction, error) {
	return p.of(neckID).work, nil
}
func (p *planted) Doubts(_ context.Context, f batch.DoubtFilter) ([]batch.Doubt, error) {
	return p.of(f.NeckID).doubts, nil
}

func (p *planted) NewestCheckpoint(context.Context) (*anchor.Checkpoint, error) { return p.anchor, nil }

func (p *planted) Instrument(context.Context, string) (batch.Instrument, error) {
	if p.instrument.Serial == "" {
		return p.instrument, batch.Absent.Errorf("no instrument")
	}
	return p.instrument, nil
}
func (p *planted) Visits(context.Context, string) ([]batch.Visit, error)         { return p.visits, nil }
func (p *planted) StringSets(context.Context, string) ([]batch.StringSet, error) { return p.sets, nil }
func (p *planted) Photographs(context.Context, string) ([]batch.Photograph, error) {
	return p.photos, nil
}

// bolt is an instrument of the demo's bolt-on model.
func bolt(t *testing.T) *planted {
	t.Helper()
	name := filepath.Join("..", "..", "testdata", "demo", "qm-bolt-648.toml")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	spec, err := files.ReadSpec(name, text)
	if err != nil {
		t.Fatal(err)
	}
	return &planted{spec: spec.WithDefaults(), readings: map[string][]batch.Reading{}, verdicts: map[string][]batch.Verdict{}}
}

// attempt adds an inspection whose crowns on both sides lie on a bow of the relief given at the relief fret, and whose strings stand
// 1.50 mm over fret 12, each 0.10 mm higher than the one before.
func (p *planted) attempt(state batch.InspectionState, relief float64) *batch.Inspection {
	n := len(p.all) + 1
	in := batch.Inspection{ID: string(rune('a' + n)), Attempt: n, StartedAt: day.AddDate(0, 0, 7*(n-1)), State: state,
		Climate: inspect.Climate{TemperatureC: new(21.5), HumidityPercent: new(46.0)}, Posture: "playing"}
	fan := p.spec.Fan()
	d := p.spec.Datum
	for _, track := range []string{"bass", "treble"} {
		l := fan.Track(p.spec, track)
		bow := func(f int) float64 { return (l.At(f) - l.At(d.FirstFret)) * (l.At(d.SecondFret) - l.At(f)) }
		for f := 1; f <= p.spec.Neck.Frets; f++ {
			p.read(&in, batch.Point{Kind: batch.Crown, Track: track, Fret: f}, -relief*bow(f)/bow(d.ReliefFret))
		}
	}
	for _, s := range p.spec.Strings {
		p.read(&in, batch.Point{Kind: batch.ActionHeight, String: s.Number, Fret: 12}, 1.4+0.1*float64(s.Number))
	}
	p.all = append(p.all, in)
	return &p.all[n-1]
}

func (p *planted) read(in *batch.Inspection, at batch.Point, mm float64) batch.Reading {
	rows := p.readings[in.ID]
	r := batch.Reading{ID: in.ID + string(rune('A'+len(rows))), InspectionID: in.ID, Seq: int64(len(rows) + 1), Point: at, Round: 1, Value: mm, U: 0.005}
	p.readings[in.ID] = append(rows, r)
	return r
}

func (p *planted) sheet(t *testing.T, template *Template) *Sheet {
	t.Helper()
	s, err := Of(t.Context(), p, template, "Ø-7/½")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// tags are what is no word of a page.
var tags = regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]*>`)

// said is what a sheet says as HTML, and as PDF where the machine can read one back: as one line of words each.
func said(t *testing.T, s *Sheet) map[string]string {
	t.Helper()
	var page, pdf bytes.Buffer
	if err := HTML(&page, s); err != nil {
		t.Fatal(err)
	}
	if err := PDF(&pdf, s); err != nil {
		t.Fatal(err)
	}
	words := map[string]string{"html": strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(page.String(), " "))), " ")}
	if tool := reader(t, "pdftotext"); tool != "" {
		cmd := exec.Command(tool, "-layout", "-", "-")
		cmd.Stdin = &pdf
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		words["pdf"] = strings.Join(strings.Fields(string(out)), " ")
		if strings.Count(string(out), "\f") != 1 {
			t.Errorf("the PDF has %d pages, want one", strings.Count(string(out), "\f"))
		}
	}
	return words
}

// reader is a tool that reads a PDF back, "" where the machine has none; where SAGITTA_BROWSER=required is set that is a failure.
func reader(t *testing.T, name string) string {
	t.Helper()
	tool, err := exec.LookPath(name)
	if err != nil && os.Getenv("SAGITTA_BROWSER") == "required" {
		t.Fatalf("%s is needed: install poppler-utils", name)
	}
	return tool
}

// holds checks what every writer says and does not say.
func holds(t *testing.T, s *Sheet, wants, not []string) {
	t.Helper()
	for as, words := range said(t, s) {
		for _, w := range wants {
			if !strings.Contains(words, w) {
				t.Errorf("%s does not say %q: %s", as, w, words)
			}
		}
		for _, w := range not {
			if strings.Contains(words, w) {
				t.Errorf("%s says %q: %s", as, w, words)
			}
		}
	}
}

// TestSheetTellsWhatWasMeasured: the planted relief, heights and climate stand on it with their datum, in mm and inch, and no judgement does.
func TestSheetTellsWhatWasMeasured(t *testing.T) {
	p := bolt(t)
	first := p.attempt(batch.Open, 0.46)
	now := p.attempt(batch.Open, 0.30)
	p.work = []batch.ReworkAction{{InspectionID: first.ID, At: day.Add(time.Hour), What: inspect.StepRod, Turns: 0.25, Direction: "tighten", Note: "½ µ Ø ±"}}
	if now.Attempt != 2 {
		t.Fatal("two attempts are planted")
	}
	holds(t, p.sheet(t, House()), []string{"Ø-7/½", "+0.30 ± 0.01 mm, +0.012 in", "at fret 7, over frets 1 and 17", "2.00 ± 0.01 (0.079)", "1.50 ± 0.01 (0.059)", "21.5 °C", "46 % RH",
		"before, 2026-11-02", "now, 2026-11-09", "tighten 1/4 turn: ½ µ Ø ±", "1/4 turn tighter", "648 mm, 25.512 in"},
		[]string{"pass", "fail", "conform", "limit", "verdict", "rework", "Intonation", "left-handed"})
}

// TestSheetLeavesOutWhatDoesNotCount: what was taken back, what is in doubt and what an inspection that was given up measured.
func TestSheetLeavesOutWhatDoesNotCount(t *testing.T) {
	p := bolt(t)
	in := p.attempt(batch.Open, 0.30)
	wrong := p.read(in, batch.Point{Kind: batch.NutHeight, String: 3}, 0.77)
	p.readings[in.ID] = append(p.readings[in.ID], batch.Reading{ID: "back", InspectionID: in.ID, Seq: 999, Point: wrong.Point, Round: 1, Withdrawn: true, Supersedes: wrong.ID})
	p.attempt(batch.Abandoned, 0.88)
	holds(t, p.sheet(t, House()), []string{"+0.30"}, []string{"0.77", "0.88", "At the nut", "is to be checked again"})

	p.doubts = []batch.Doubt{{Attempt: 1, Points: []batch.Point{{Kind: batch.ActionHeight, String: 6, Fret: 12}, {Kind: batch.Crown, Track: "bass", Fret: 7}}}}
	holds(t, p.sheet(t, House()), []string{"treble side +0.30", "1.50 ± 0.01", "is to be checked again"}, []string{"2.00 ± 0.01", "bass side"})
}

// TestSheetOfEveryShape: little, seven strings, a fan and a left-handed neck each give one page on either paper.
func TestSheetOfEveryShape(t *testing.T) {
	shapes := map[string]func(p *planted){
		"nothing measured": func(*planted) {},
		"left hand":        func(p *planted) { p.attempt(batch.Open, 0.3).Handed = "left" },
		"fan": func(p *planted) {
			p.spec.Neck.ScaleMM, p.spec.Neck.ScaleBassMM, p.spec.Neck.ScaleTrebleMM = 0, 660.4, 635
			p.attempt(batch.Open, 0.3)
		},
		"seven strings": func(p *planted) {
			s := p.spec.Strings[0]
			for _, other := range p.spec.Strings {
				if other.Number == 6 {
					s = other
				}
			}
			s.Number, s.Name, s.YNutMM, s.YSaddleMM, s.PitchHz = 7, "B1", s.YNutMM-7, s.YSaddleMM-10, 61.74
			p.spec.Strings = append(p.spec.Strings, s)
			p.attempt(batch.Open, 0.3)
		},
		"much work": func(p *planted) {
			p.attempt(batch.Open, 0.3)
			for i := range 30 {
				p.work = append(p.work, batch.ReworkAction{At: day.Add(time.Duration(i)), What: "action", Note: strings.Repeat("a long note about it ", 8)})
			}
		},
	}
	wants := map[string]string{"left hand": "left-handed", "fan": "660.4 mm", "seven strings": "B1", "much work": "no room here: 22.", "nothing measured": "Strings"}
	for name, plant := range shapes {
		t.Run(name, func(t *testing.T) {
			p := bolt(t)
			plant(p)
			if name == "much work" {
				for i := range p.work {
					p.work[i].At = p.work[i].At.AddDate(0, 1, 0)
				}
			}
			for paper := range Papers {
				template := House()
				template.Paper = paper
				s := p.sheet(t, template)
				holds(t, s, []string{wants[name]}, nil)
				var one, two bytes.Buffer
				if err := PDF(&one, s); err != nil {
					t.Fatal(err)
				}
				if err := PDF(&two, p.sheet(t, template)); err != nil || !bytes.Equal(one.Bytes(), two.Bytes()) {
					t.Errorf("the same record gives two PDFs (%v)", err)
				}
				looked(t, name+"-"+paper, one.Bytes(), s)
			}
		})
	}
}

// looked keeps a sheet to be looked at where SAGITTA_PICTURES names a folder.
func looked(t *testing.T, name string, pdf []byte, s *Sheet) {
	t.Helper()
	dir := os.Getenv("SAGITTA_PICTURES")
	if dir == "" {
		return
	}
	var page bytes.Buffer
	if err := HTML(&page, s); err != nil {
		t.Fatal(err)
	}
	for file, content := range map[string][]byte{name + ".pdf": pdf, name + ".html": page.Bytes()} {
		if err := os.WriteFile(filepath.Join(dir, strings.ReplaceAll(file, " ", "-")), content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// TestFontsAreInThePDF asks an independent reader.
func TestFontsAreInThePDF(t *testing.T) {
	tool := reader(t, "pdffonts")
	if tool == "" {
		t.Skip("pdffonts is not installed")
	}
	p := bolt(t)
	p.attempt(batch.Open, 0.3)
	var pdf bytes.Buffer
	if err := PDF(&pdf, p.sheet(t, House())); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, pdf.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, file).Output()
	if err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
	if len(rows) != 2 {
		t.Fatalf("want two fonts: %s", out)
	}
	for _, row := range rows {
		if !regexp.MustCompile(`Identity-H\s+yes`).MatchString(row) {
			t.Errorf("not in the file: %s", row)
		}
	}
}

// TestHTMLNeedsNothingElse: no script, and nothing that is fetched.
func TestHTMLNeedsNothingElse(t *testing.T) {
	p := bolt(t)
	p.attempt(batch.Open, 0.3)
	var page bytes.Buffer
	if err := HTML(&page, p.sheet(t, House())); err != nil {
		t.Fatal(err)
	}
	for _, not := range []string{"<script", "http:", "https:", "<link", "@import", "url(", "ZgotmplZ"} {
		if strings.Contains(page.String(), not) {
			t.Errorf("the page holds %q", not)
		}
	}
}

// TestShortTellsTheSetUp: the few lines of a label are the planted figures, with what they are of; what is in doubt is not among them, and that the
// instrument was worked on since is.
func TestShortTellsTheSetUp(t *testing.T) {
	p := bolt(t)
	p.spec.Neck.Kind = "electric"
	in := p.attempt(batch.Open, 0.30)
	template := House()
	template.Heading, template.Address = "Quillmere", "https://quillmere.example/{serial}"
	want := []string{"QM Bolt 648, electric, 2026-11-02", "Relief: +0.30 mm at fret 7, over frets 1 and 17", "Height at fret 12: 2.00 1.90 1.80 1.70 1.60 1.50 mm",
		"Strings: E2 0.046 A2 0.036 D3 0.026 G3 0.017 B3 0.013 E4 0.010 in", "21.5 °C, 46 % RH", "Quillmere", "https://quillmere.example/Ø-7/½"}
	if got := p.sheet(t, template).Short; !slices.Equal(got, want) {
		t.Errorf("it says %q", got)
	}
	p.doubts = []batch.Doubt{{Attempt: 1, Points: []batch.Point{{Kind: batch.ActionHeight, String: 6, Fret: 12}, {Kind: batch.Crown, Track: "bass", Fret: 7}}}}
	p.work = []batch.ReworkAction{{InspectionID: in.ID, At: day.Add(time.Hour), What: inspect.StepRod, Turns: 0.25, Direction: "tighten"}}
	want = slices.Insert(want[:5:5], 3, House().Words.Since)
	want[1], want[2] = "Relief: treble side +0.30 mm at fret 7, over frets 1 and 17", "Height at fret 12: A2 1.90 D3 1.80 G3 1.70 B3 1.60 E4 1.50 mm"
	if got := p.sheet(t, House()).Short; !slices.Equal(got, want) {
		t.Errorf("in doubt it says %q", got)
	}
	empty := bolt(t)
	if got := empty.sheet(t, House()).Short; len(got) != 2 || got[0] != "QM Bolt 648" || !strings.HasPrefix(got[1], "Strings: ") {
		t.Errorf("of what was not measured it says %q", got)
	}
}
