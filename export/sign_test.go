package export

import (
	"bytes"
	"fmt"
	"image/color"
	"image/png"
	"os"
	"path"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// TestSignIsThatOfThePages: the picture has the lines of the pages' drawing, in their colours, on nothing.
func TestSignIsThatOfThePages(t *testing.T) {
	drawing, err := os.ReadFile("../station/web/site/assets/sign.svg")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		fmt.Sprintf(`viewBox="0 0 %d %d"`, signWide, signHigh),
		fmt.Sprintf(`d="M%d %dh%d"`, signLeft, signChord, signRight-signLeft),
		fmt.Sprintf(`d="M%d %dq%d %d %d 0"`, signLeft, signChord, (signRight-signLeft)/2, 2*signDepth, signRight-signLeft), // half the control's depth
		fmt.Sprintf(`d="M%d %dv%d" stroke="#%s"`, (signLeft+signRight)/2, signChord, signDepth, blue),
		fmt.Sprintf(`stroke-width="%v"`, signStroke),
	} {
		if !strings.Contains(string(drawing), want) {
			t.Errorf("the pages' sign has no %s: %s", want, drawing)
		}
	}
	picture, err := signPicture()
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	dark, accent, nothing := shade(ink, 1), shade(blue, 1), color.NRGBA{}
	for at, want := range map[[2]float64]color.NRGBA{
		{10, 6}: dark, {40, 6}: dark, // the chord
		{13.5, 16.5}: dark, {34.5, 16.5}: dark, // the arc at a quarter: three quarters of its depth
		{24, 13}: accent, {24, 10}: accent, // the height
		{18, 12}: nothing, {30, 12}: nothing, {24, 23}: nothing, {1, 1}: nothing,
	} {
		if got := color.NRGBAModel.Convert(img.At(int(at[0]*signDots), int(at[1]*signDots))); got != want {
			t.Errorf("at %v the sign is %v, want %v", at, got, want)
		}
	}
}

// TestRunningHead: every sheet has the house sign, shop, batch and its name above and the page of all below; the Summary has the sign
// in its head too.
func TestRunningHead(t *testing.T) {
	opt := options("mm")
	opt.Station = "Quillmere & Daughters"
	workbook := made(t, newShop(2), opt)
	f, all := open(t, workbook), parts(t, workbook)
	picture, err := signPicture()
	if err != nil {
		t.Fatal(err)
	}
	for _, sheet := range f.GetSheetList() {
		at, err := f.GetHeaderFooter(sheet)
		if err != nil {
			t.Fatal(err)
		}
		if want := "&L&G  sagitta · Quillmere && Daughters&RBatch QM-2611 · &A"; at.OddHeader != want {
			t.Errorf("%s: head %q, want %q", sheet, at.OddHeader, want)
		}
		if want := "&Rpage &P of &N"; at.OddFooter != want {
			t.Errorf("%s: foot %q, want %q", sheet, at.OddFooter, want)
		}
		part := sheetPart(t, all, sheet)
		if !bytes.Contains(all[part], []byte("<legacyDrawingHF ")) {
			t.Errorf("%s: no drawing for its running head", sheet)
		}
		if got := headPicture(t, all, part); !bytes.Equal(got, picture) {
			t.Errorf("%s: its running head has a picture of %d bytes, want the sign's %d", sheet, len(got), len(picture))
		}
	}
	in, err := f.GetPictures("Summary", "A1")
	if err != nil || len(in) != 1 || !bytes.Equal(in[0].File, picture) {
		t.Errorf("the Summary's head has pictures %d, %v", len(in), err)
	}
}

// headPicture follows a sheet to the picture of its running head.
func headPicture(t *testing.T, all map[string][]byte, sheet string) []byte {
	type relations struct {
		Relationship []struct {
			Type   string `xml:",attr"`
			Target string `xml:",attr"`
		}
	}
	target := func(of, kind string) string {
		for _, r := range parse[relations](t, all, path.Dir(of)+"/_rels/"+path.Base(of)+".rels").Relationship {
			if path.Base(r.Type) == kind {
				return path.Join(path.Dir(of), r.Target)
			}
		}
		t.Errorf("%s refers to no %s", of, kind)
		return ""
	}
	return all[target(target(sheet, "vmlDrawing"), "image")]
}

// TestLongRunningHead: what stands above a printed sheet keeps within the format's 255 characters.
func TestLongRunningHead(t *testing.T) {
	opt := options("mm")
	opt.Station = strings.Repeat("Quillmere ", 60)
	f := open(t, made(t, newShop(1), opt))
	at, err := f.GetHeaderFooter("Summary")
	if err != nil {
		t.Fatal(err)
	}
	if n := len([]rune(at.OddHeader)); n > excelize.MaxFieldLength {
		t.Errorf("the head has %d characters", n)
	}
}
