package instruments

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

const serial = "QM-2611-0001"

// album is a shop with the pages of instruments and a folder for photographs.
type album struct {
	*webtest.Shop
	folder string
}

func openAlbum(t testing.TB) *album {
	a := &album{webtest.Open(t).Fill(), t.TempDir()}
	a.Mount(func(k *site.Site) error { return Mount(k, Options{Record: a.Rec, Folder: a.folder, Now: time.Now}) })
	return a
}

// visit begins a visit of the neck.
func (a *album) visit() batch.Visit {
	a.Helper()
	return webtest.Must[batch.Visit](a)(a.Rec.OpenVisit(a.Context(), "Tove Aske", record.NewVisit{Serial: serial, Kind: "bolt-on", Spec: a.Spec.Spec}))
}

// plain is a picture of one colour.
func plain(w, h int, c color.Color) image.Image {
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(p, p.Bounds(), image.NewUniform(c), image.Point{}, draw.Src)
	return p
}

func asPNG(t testing.TB, p image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// file is a file that is sent.
type file struct {
	name    string
	content []byte
}

// send posts photographs with the fields of their form.
func (a *album) send(fields map[string]string, files ...file) *httptest.ResponseRecorder {
	a.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for k, v := range fields {
		if err := form.WriteField(k, v); err != nil {
			a.Fatal(err)
		}
	}
	for _, f := range files {
		part, err := form.CreateFormFile("photographs", f.name)
		if err != nil {
			a.Fatal(err)
		}
		if _, err := part.Write(f.content); err != nil {
			a.Fatal(err)
		}
	}
	if err := form.Close(); err != nil {
		a.Fatal(err)
	}
	req := webtest.Request(http.MethodPost, "/instruments/"+serial+"/photographs", &body)
	req.Header.Set("Content-Type", form.FormDataContentType())
	return a.Do(req)
}

// kept are the files in the folder.
func (a *album) kept() (names []string) {
	a.Helper()
	err := filepath.WalkDir(a.folder, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, path)
		}
		return err
	})
	if err != nil {
		a.Fatal(err)
	}
	return names
}

// holds wants a page to say all of some words, and none of others.
func holds(t testing.TB, page string, all []string, none ...string) {
	t.Helper()
	for _, words := range all {
		if !strings.Contains(page, words) {
			t.Errorf("the page does not say %q:\n%.4000s", words, page)
		}
	}
	for _, words := range none {
		if strings.Contains(page, words) {
			t.Errorf("the page says %q", words)
		}
	}
}

var source = regexp.MustCompile(`<img src="([^"]+)/small"`)

// TestPhotographsOfAVisit: several at once are kept with what they show, stand on the page and on the neck's drawing at their fret, and are served as pictures and as
// nothing else.
func TestPhotographsOfAVisit(t *testing.T) {
	a := openAlbum(t)
	visit := a.visit()
	at := "/instruments/" + serial + "/photographs"
	holds(t, a.Get(at, 200), []string{"There is no photograph to show.", `type="file"`, `accept="image/jpeg,image/png"`, " multiple", `<option value="` + visit.ID + `" selected>Visit 1</option>`, `<option value="fret 22">Fret 22</option>`, `<option value="string 6">String 6</option>`}, "svg class=\"board\"", `value="fret 23"`, `value="string 7"`)

	red, blue := asPNG(t, plain(900, 600, color.RGBA{200, 20, 20, 255})), asPNG(t, plain(300, 900, color.RGBA{20, 20, 200, 255}))
	w := a.send(map[string]string{"pin": "fret 7", "visit": visit.ID, "caption": "a lifted end <b>", "by": "Mara Quill"}, file{"red.png", red}, file{"blue.png", blue})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != at {
		t.Fatalf("status %d, %s", w.Code, w.Body)
	}
	if w := a.send(map[string]string{"pin": "visit", "visit": "", "caption": "", "by": "Tove Aske"}, file{"whole.png", red}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d, %s", w.Code, w.Body)
	}
	page := a.Get(at, 200)
	holds(t, page, []string{"3 photographs: 2 of visit 1 and 1 of no visit.", "Fret 7: a lifted end &lt;b&gt;", "Mara Quill", `id="fret-7"`, "The neck from above with a photograph at fret 7 (the newest of 2)", at + "#fret-7"}, "<b>")
	if n := strings.Count(page, `id="fret-7"`); n != 1 {
		t.Errorf("%d places are called fret-7", n)
	}
	if n := len(a.kept()); n != 2 { // one picture was sent twice
		t.Errorf("%d files are kept", n)
	}
	own := a.Get("/instruments/"+serial, 200)
	holds(t, own, []string{"3 photographs: 2 of visit 1 and 1 of no visit.", "Fret 7: a lifted end", `href="` + at + `"`, "svg class=\"board\""})

	sizes := map[string]int{}
	for _, found := range source.FindAllStringSubmatch(page, -1) {
		for _, of := range []string{found[1], found[1] + "/small"} {
			w := a.Do(webtest.Request(http.MethodGet, of, nil))
			head := w.Header()
			if w.Code != 200 || head.Get("Content-Type") != "image/jpeg" || head.Get("X-Content-Type-Options") != "nosniff" || !strings.Contains(head.Get("Content-Security-Policy"), "default-src 'self'") {
				t.Fatalf("%s: status %d, %v", of, w.Code, head)
			}
			size, err := jpeg.DecodeConfig(bytes.NewReader(w.Body.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			sum := sha256.Sum256(w.Body.Bytes())
			if small := strings.HasSuffix(of, "/small"); max(size.Width, size.Height) > 480 && small || !small && (!strings.HasSuffix(of, hex.EncodeToString(sum[:])) || !strings.HasPrefix(head.Get("Content-Disposition"), "inline; filename=")) {
				t.Errorf("%s is %d x %d, %v", of, size.Width, size.Height, head)
			}
			sizes[fmt.Sprint(size.Width, "x", size.Height)]++
		}
	}
	if fmt.Sprint(sizes) != "map[160x480:1 300x900:1 480x320:2 900x600:2]" {
		t.Errorf("the pictures are %v", sizes)
	}
}

// TestPhotographsAreKnownOnes: nothing is served but what the record knows of the instrument, and nothing that is out of sight.
func TestPhotographsAreKnownOnes(t *testing.T) {
	a := openAlbum(t)
	a.visit()
	at := "/instruments/" + serial + "/photographs"
	if w := a.send(map[string]string{"pin": "string 3", "by": "Mara Quill"}, file{"red.png", asPNG(t, plain(60, 40, color.White))}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d, %s", w.Code, w.Body)
	}
	all, err := a.Rec.Photographs(a.Context(), serial)
	if err != nil || len(all) != 1 || all[0].Pin != "string 3" {
		t.Fatal(all, err)
	}
	digest := all[0].Digest
	strange := strings.Repeat("0", 64)
	if err := os.WriteFile(filepath.Join(a.folder, "photographs", strange+".jpg"), []byte("laid there by somebody"), 0o600); err != nil {
		t.Fatal(err)
	}
	a.Get(at+"/"+digest, 200)
	for _, path := range []string{at + "/" + strange, at + "/" + strange + "/small", "/instruments/QM-2611-0002/photographs/" + digest, "/instruments/QM-2611-0002/photographs/" + digest + "/small", at + "/..%2f..%2frecord.db"} {
		holds(t, a.Get(path, 404), []string{"There is no such photograph of"})
	}

	name := filepath.Join(a.folder, "photographs", digest+".jpg")
	content, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, append(content, 'x'), 0o600); err != nil {
		t.Fatal(err)
	}
	holds(t, a.Get(at+"/"+digest, 500), []string{"is not as it was kept", "bring it back from a copy"})
	if err := os.WriteFile(name, content, 0o600); err != nil {
		t.Fatal(err)
	}

	form := map[string][]string{"photograph": {all[0].ID}, "reason": {""}, "by": {"Mara Quill"}}
	a.Post(at+"/hide", form, 422)
	form["reason"] = []string{"blurred"}
	a.Post(at+"/hide", form, 303)
	holds(t, a.Get(at, 200), []string{"There is no photograph to show."}, digest)
	a.Get(at+"/"+digest, 404)
	if left := a.kept(); len(left) != 2 {
		t.Errorf("its file is gone: %q", left)
	}
}

// TestPhotographsRefused: what cannot be read is told by its name, of several nothing is kept then, and what was typed stays.
func TestPhotographsRefused(t *testing.T) {
	a := openAlbum(t)
	holds(t, a.Get("/instruments/"+serial+"/photographs", 200), []string{"It is a neck of a batch: photographs are kept of instruments."}, `type="file"`)
	good := file{"good.png", asPNG(t, plain(60, 40, color.White))}
	fields := map[string]string{"pin": "fret 3", "caption": "as it came", "by": "Mara Quill"}
	if w := a.send(fields, good); w.Code != http.StatusNotFound || len(a.kept()) != 0 {
		t.Errorf("of a neck that is no instrument: status %d, kept %q", w.Code, a.kept())
	}
	a.visit()
	w := a.send(fields, good, file{"IMG_1.heic", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")}, file{"short.jpg", []byte("\xff\xd8\xff")})
	if w.Code != http.StatusUnprocessableEntity {
		t.Errorf("status %d", w.Code)
	}
	holds(t, w.Body.String(), []string{"IMG_1.heic: It is a HEIC file, which is not read here", "short.jpg: It is damaged or cut short", "as it came", `<option value="fret 3" selected>`, "There is no photograph to show."})
	w = a.send(fields)
	holds(t, w.Body.String(), []string{"No file was chosen."})
	fields["pin"] = "fret 99"
	w = a.send(fields, good)
	if w.Code != http.StatusUnprocessableEntity || len(a.kept()) != 0 {
		t.Errorf("a fret that the neck has not: status %d, kept %q", w.Code, a.kept())
	}
	holds(t, w.Body.String(), []string{"1 photograph is not kept yet: choose it again."})
	fields["pin"], fields["by"] = "fret 3", "Nobody"
	if w = a.send(fields, good); w.Code != http.StatusUnprocessableEntity || len(a.kept()) != 0 {
		t.Errorf("by nobody: status %d, kept %q", w.Code, a.kept())
	}
}

// TestPhotographsMayBeAsLongAsIsSaid: a file of 25 MB is looked at, one of a byte more is not; some that hold 60 MB together arrive, more than the request may hold do not.
func TestPhotographsMayBeAsLongAsIsSaid(t *testing.T) {
	a := openAlbum(t)
	a.visit()
	holds(t, a.Get("/instruments/"+serial+"/photographs", 200), []string{"each up to 25 MB, together up to 60 MB"})
	fields := map[string]string{"pin": "visit", "by": "Mara Quill"}
	for _, c := range []struct {
		sizes []int
		code  int
		says  string
	}{
		{[]int{25_000_000}, http.StatusUnprocessableEntity, "It is no photograph that is read here"},
		{[]int{25_000_001}, http.StatusUnprocessableEntity, "25000001 bytes; at most 25000000 are allowed"},
		{[]int{20_000_000, 20_000_000, 20_000_000}, http.StatusUnprocessableEntity, "It is no photograph that is read here"},
		{[]int{25_000_000, 25_000_000, 25_000_000}, http.StatusRequestEntityTooLarge, "longer than 64 MB"},
	} {
		var files []file
		for _, n := range c.sizes {
			files = append(files, file{"long.jpg", make([]byte, n)})
		}
		w := a.send(fields, files...)
		if w.Code != c.code {
			t.Errorf("%v: status %d, want %d", c.sizes, w.Code, c.code)
		}
		holds(t, w.Body.String(), []string{c.says})
	}
	if kept := a.kept(); len(kept) != 0 {
		t.Errorf("kept are %q", kept)
	}
}
