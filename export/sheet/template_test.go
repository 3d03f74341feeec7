package sheet

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

func written(t *testing.T, text string) (*Template, error) {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, TemplateFile), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return ReadTemplate(dir)
}

// TestHouseTemplateReadsBack: what is written out is the house's own, and complete.
func TestHouseTemplateReadsBack(t *testing.T) {
	text, err := House().Text()
	if err != nil {
		t.Fatal(err)
	}
	back, err := written(t, string(text))
	want := House()
	want.folder = back.folder
	if err != nil || !reflect.DeepEqual(back, want) {
		t.Errorf("it reads back as %+v, %v", back, err)
	}
	for i := range reflect.ValueOf(House().Words).NumField() {
		if reflect.ValueOf(House().Words).Field(i).String() == "" {
			t.Errorf("the house has no word for %s", reflect.TypeOf(House().Words).Field(i).Name)
		}
	}
}

// TestTemplateFaults names file, line and key of each, with the nearest key where one is not known.
func TestTemplateFaults(t *testing.T) {
	for text, wants := range map[string]string{
		"heding = \"Q\"":                `sheet.toml:1: heding: unknown key; did you mean "heading"?`,
		"\npaper = \"A5\"":              `sheet.toml:2: paper`,
		"[colours]\nink = \"red\"":      `sheet.toml:2: colours.ink`,
		"blocks = [\"neck\", \"neck\"]": `sheet.toml:1: blocks`,
		"[words]\nrelef = \"Krümmung\"": `did you mean "relief"?`,
		"heading = 3":                   `sheet.toml:1: heading`,
		"mark = \"../mark.png\"":        `sheet.toml:1: mark`,
		"address = \"a\\nb\"":           `sheet.toml:1: address`,
		"mark = \"none.png\"":           `sheet.toml:1: mark`,
	} {
		_, err := written(t, text)
		if err == nil || !strings.Contains(err.Error(), wants) {
			t.Errorf("%q: %v, want %q", text, err, wants)
		}
	}
}

// TestMarkIsNamedAsAPicture: by its ending a copy of the record finds the mark, so one without is not taken.
func TestMarkIsNamedAsAPicture(t *testing.T) {
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	for name, taken := range map[string]bool{"mark.png": true, "MARK.PNG": true, "mark": false, "mark.txt": false} {
		dir := t.TempDir()
		for file, content := range map[string][]byte{name: picture.Bytes(), TemplateFile: []byte("mark = \"" + name + "\"\n")} {
			if err := os.WriteFile(filepath.Join(dir, file), content, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		_, err := ReadTemplate(dir)
		if (err == nil) != taken || err != nil && !strings.Contains(err.Error(), "named .png, .jpg or .jpeg") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestTemplateIsTheBuilders: order, words and heading are taken.
func TestTemplateIsTheBuilders(t *testing.T) {
	template, err := written(t, "heading = \"Quillmere\"\nblocks = [\"relief\", \"neck\"]\n[words]\nrelief = \"Halskrümmung\"\n")
	if err != nil {
		t.Fatal(err)
	}
	p := bolt(t)
	p.attempt("open", 0.3)
	s := p.sheet(t, template)
	if len(s.Parts) != 2 || s.Parts[0].Title != "Halskrümmung" {
		t.Errorf("the parts are %+v", s.Parts)
	}
	holds(t, s, []string{"Quillmere", "Halskrümmung"}, []string{"Signature", "Tension"})
}
