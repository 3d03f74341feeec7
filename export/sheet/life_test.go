package sheet

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/inspect"
)

// lives plants an instrument of two visits: relief 0.46 at the first, 0.30 at the second, half a year later, whose sheet it is.
func lives(t *testing.T) *planted {
	t.Helper()
	p, before := bolt(t), bolt(t)
	before.attempt(batch.Open, 0.46).ID = "earlier"
	before.readings["earlier"] = before.readings["b"]
	delete(before.readings, "b")
	p.attempt(batch.Open, 0.30)
	p.all[0].StartedAt = day.AddDate(0, 6, 0)
	p.earlier = map[string]*planted{"before": before}
	p.instrument = batch.Instrument{Serial: "Ø-7/½", Kind: "electric-bolt-on", MakerNumber: "1042", Owner: batch.Owner{Name: "Ida Marsh"}}
	p.visits = []batch.Visit{
		{ID: "v1", Number: 1, Neck: batch.Neck{ID: "before"}, Batch: batch.Batch{Spec: batch.SpecRevision{Spec: before.spec}}, Wishes: "high, for slide"},
		{ID: "v2", Number: 2, Neck: batch.Neck{ID: "n"}, Batch: batch.Batch{Spec: batch.SpecRevision{Spec: p.spec}}, Wishes: "low action, hard pick"},
	}
	p.sets = []batch.StringSet{{Name: "an older set", Strings: nil}, {Name: "electric, .010 to .046", Strings: p.spec.Strings}}
	return p
}

// TestSheetOfAVisit: it says whose the instrument is, what it is, the maker's number, the strings by their name and what the player wished for
// this visit, and draws the neck as it was at the visit before beside how it is now.
func TestSheetOfAVisit(t *testing.T) {
	p := lives(t)
	says := []string{"Owner", "Ida Marsh", "Instrument", "Electric,", "bolt-on", "Maker's number", "1042", "Strings: electric, .010 to .046", "What the player wished", "low action, hard pick",
		"before, 2026-11-02", "now, 2027-05-02", "+0.30 ± 0.01 mm"}
	holds(t, p.sheet(t, House()), says, []string{"Model", p.spec.Name, "high, for slide", "an older set", "0.46", "Photograph"})

	// The rod was turned in this shop, whenever that was; turned back it stands as it was found.
	p.earlier["before"].work = []batch.ReworkAction{{What: inspect.StepRod, Turns: 0.25, Direction: "tighten", At: day}}
	holds(t, p.sheet(t, House()), []string{"Turned in this shop 1/4 turn tighter"}, []string{"not turned"})
	p.work = []batch.ReworkAction{{What: inspect.StepRod, Turns: 0.125, Direction: "loosen", At: day.AddDate(0, 6, 0)}}
	holds(t, p.sheet(t, House()), []string{"Turned in this shop 1/8 turn tighter"}, nil)

	// What is in doubt of the visit before is not drawn.
	p.earlier["before"].doubts = []batch.Doubt{{Attempt: 1}}
	holds(t, p.sheet(t, House()), []string{"now, 2027-05-02"}, []string{"before,"})
	// Of a neck of another scale nothing is laid over it.
	p = lives(t)
	p.earlier["before"].spec.Neck.ScaleMM = 628
	holds(t, p.sheet(t, House()), []string{"now, 2027-05-02"}, []string{"before,"})
	// Measured twice in this visit, before is this visit's own.
	p = lives(t)
	p.attempt(batch.Open, 0.25)
	p.all[1].StartedAt = day.AddDate(0, 6, 3)
	holds(t, p.sheet(t, House()), []string{"before, 2027-05-02", "now, 2027-05-05"}, []string{"2026-11-02"})
}

// TestSheetNamesItsOwnStrings: a set of the same diameters that was put on after a visit had ended does not name the strings of that visit's sheet.
func TestSheetNamesItsOwnStrings(t *testing.T) {
	p := lives(t)
	p.visits[1].EndedAt = day.AddDate(0, 6, 1)
	p.sets = append(p.sets, batch.StringSet{Name: "a later set", Strings: p.spec.Strings, At: day.AddDate(1, 0, 0), Fitted: batch.DayOf(day.AddDate(1, 0, 0))})
	holds(t, p.sheet(t, House()), []string{"Strings: electric, .010 to .046"}, []string{"a later set"})
}

// TestSheetShowsThePhotograph: the newest of the visit that shows the whole instrument; not another visit's, and none where its file is gone.
func TestSheetShowsThePhotograph(t *testing.T) {
	p, template := lives(t), House()
	template.folder = t.TempDir()
	keep := func(c color.Color, wide, high int) string {
		picture := image.NewRGBA(image.Rect(0, 0, wide, high))
		draw.Draw(picture, picture.Bounds(), image.NewUniform(c), image.Point{}, draw.Src)
		var file bytes.Buffer
		if err := png.Encode(&file, picture); err != nil {
			t.Fatal(err)
		}
		taken, err := photograph.Take(file.Bytes())
		if err == nil {
			err = photograph.Keep(template.folder, []photograph.Photograph{taken}, func() error { return nil })
		}
		if err != nil {
			t.Fatal(err)
		}
		return taken.Digest
	}
	red, blue, green := keep(color.RGBA{200, 0, 0, 255}, 1600, 900), keep(color.RGBA{0, 0, 200, 255}, 600, 900), keep(color.RGBA{0, 160, 0, 255}, 500, 500)
	p.photos = []batch.Photograph{{VisitID: "v1", Pin: batch.WholeInstrument, Digest: green}, {VisitID: "v2", Pin: batch.WholeInstrument, Digest: red}, {VisitID: "v2", Pin: "fret 7", Digest: blue}}
	s := p.sheet(t, template)
	holds(t, s, []string{"Photograph"}, nil)
	shown := func(s *Sheet) *Photo {
		for _, part := range s.Parts {
			if part.Photo != nil {
				return part.Photo
			}
		}
		return nil
	}
	photo := shown(s)
	if photo == nil || photo.Wide != photoLonger || photo.High != photoLonger*900/1600 {
		t.Fatalf("%+v", photo)
	}
	picture, _, err := image.Decode(bytes.NewReader(photo.JPEG))
	if err != nil {
		t.Fatal(err)
	}
	if r, _, b, _ := picture.At(photo.Wide/2, photo.High/2).RGBA(); r < 0xb000 || b > 0x3000 {
		t.Errorf("the picture is of another colour than the newest of the whole instrument")
	}
	var page bytes.Buffer
	if err := HTML(&page, s); err != nil || strings.Count(page.String(), "data:image/jpeg;base64,") != 1 {
		t.Errorf("%v; the page has %d pictures", err, strings.Count(page.String(), "data:image/jpeg"))
	}
	template.folder = t.TempDir()
	if shown(p.sheet(t, template)) != nil {
		t.Error("a photograph is shown whose file is gone")
	}
}
