// Package sheet makes the sheet that goes into an instrument's case: one page as PDF, and one HTML file that needs nothing else. What is
// printed is gathered from the record once, as a [Sheet]; the two writers only set it.
package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // a mark may be one
	_ "image/png"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2"

	"sagitta/batch/files"
	"sagitta/batch/tell"
)

// TemplateFile is the template's name in the folder of the record.
const TemplateFile = "sheet.toml"

// Template is how a builder's sheet looks.
type Template struct {
	Heading string          `toml:"heading,omittable" comment:"The maker's name over the sheet."`
	Below   string          `toml:"below,omittable" comment:"A line below it: where the shop is, how it is reached."`
	Mark    string          `toml:"mark,omittable" comment:"A picture file (PNG or JPEG) in this folder; empty: the arc over its chord."`
	Paper   string          `toml:"paper,omittable" comment:"A4 or Letter."`
	RodTool string          `toml:"rod_tool,omittable" comment:"The tool for the truss rod, as 4 mm hex; empty: not told."`
	Address string          `toml:"address,omittable" comment:"An address that the code on the label in the instrument tells too, {serial} in it filled in; empty: none, the label then needs no network."`
	Blocks  []string        `toml:"blocks,omittable" comment:"What the sheet has, in this order; leave out what you do not want. What the record does not know is left out by itself."`
	Colours Colours         `toml:"colours,omittable" comment:"As #RRGGBB, on white paper."`
	Words   tell.SheetWords `toml:"words,omittable" comment:"Every word of the sheet; what stands in {braces} is filled in."`

	mark   []byte `toml:"-"` // the picture's content
	folder string `toml:"-"` // of the record, where photographs are
}

// Colours are those of the sheet.
type Colours struct {
	Ink    string `toml:"ink,omittable"`
	Quiet  string `toml:"quiet,omittable"`
	Rule   string `toml:"rule,omittable"`
	Accent string `toml:"accent,omittable"`
	Board  string `toml:"board,omittable"`
}

// Papers are the sizes of paper, mm.
var Papers = map[string][2]float64{"A4": {210, 297}, "Letter": {215.9, 279.4}}

// blocks are the names of all blocks, in the house's order.
var blocks = []string{"neck", "strings", "relief", "heights", "rod", "climate", "wishes", "work", "photograph", "advice", "signature"}

// House is the template where a builder has made none.
func House() *Template {
	return &Template{Paper: "A4", Blocks: slices.Clone(blocks), Words: tell.HouseSheetWords(),
		Colours: Colours{Ink: "#1E2227", Quiet: "#6A6558", Rule: "#D9D4CA", Accent: "#0072B2", Board: "#EADFCB"}}
}

// Text is a template as a file, with what each key means.
func (t *Template) Text() ([]byte, error) { return toml.Marshal(t) }

var colour = regexp.MustCompile(`^#[0-9A-Fa-f]{6}$`)

// most bytes and pixels of a mark's picture.
const mostMark, mostMarkPixels = 1 << 20, 4 << 20

// ReadTemplate reads the template of a folder; the house's where there is none. Everything wrong in it is told with its line and key.
func ReadTemplate(folder string) (*Template, error) {
	t := House()
	t.folder = folder
	file, text, err := files.ReadDocument(filepath.Join(folder, TemplateFile), nil)
	if errors.Is(err, fs.ErrNotExist) {
		return t, nil
	}
	if err != nil {
		return nil, err
	}
	err = files.ReadKeys(file, text, t, func(fault func(path, found, allowed string)) {
		if _, ok := Papers[t.Paper]; !ok {
			fault("paper", quoted(t.Paper), "A4 or Letter")
		}
		for i, b := range t.Blocks {
			if !slices.Contains(blocks, b) || slices.Index(t.Blocks, b) != i {
				fault("blocks", quoted(b), "each once, of "+strings.Join(blocks, ", "))
			}
		}
		for key, c := range t.Colours.byKey() {
			if !colour.MatchString(c) {
				fault("colours."+key, quoted(c), "a colour as #1E2227")
			}
		}
		if strings.IndexFunc(t.Address, unicode.IsControl) >= 0 || len(t.Address) > mostAddress {
			fault("address", quoted(t.Address), fmt.Sprintf("one line of at most %d bytes", mostAddress))
		}
		t.readMark(folder, fault)
	})
	return t, err
}

// mostAddress is how long an address may be, bytes.
const mostAddress = 200

func (c *Colours) byKey() map[string]string {
	return map[string]string{"ink": c.Ink, "quiet": c.Quiet, "rule": c.Rule, "accent": c.Accent, "board": c.Board}
}

// readMark reads the mark's picture, whose size is looked at before it is decoded.
func (t *Template) readMark(folder string, fault func(path, found, allowed string)) {
	if t.Mark == "" {
		return
	}
	const allowed = "a PNG or JPEG picture in the same folder, named .png, .jpg or .jpeg, at most 1 MiB and 4 million pixels"
	ending := strings.ToLower(filepath.Ext(t.Mark)) // by which copies of the record find it
	if filepath.Base(t.Mark) != t.Mark || !slices.Contains([]string{".png", ".jpg", ".jpeg"}, ending) {
		fault("mark", quoted(t.Mark), allowed)
		return
	}
	_, content, err := files.ReadDocument(filepath.Join(folder, t.Mark), nil)
	if err != nil {
		fault("mark", quoted(t.Mark)+" ("+tell.Sentence(err)+")", allowed)
		return
	}
	about, kind, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || (kind != "png" && kind != "jpeg") || about.Width*about.Height > mostMarkPixels || len(content) > mostMark {
		fault("mark", quoted(t.Mark), allowed)
		return
	}
	t.mark = content
}

func quoted(s string) string { return `"` + s + `"` }
