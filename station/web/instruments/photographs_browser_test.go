package instruments

import (
	"image/color"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"sagitta/station/web/webtest"
)

// TestPhotographsFromATelephoneInBrowser: on a phone several photographs are chosen in the page's own field and sent, and stand then on the page, each loaded.
func TestPhotographsFromATelephoneInBrowser(t *testing.T) {
	ctx := webtest.Browser(t)
	a := openAlbum(t)
	a.visit()
	var files []string
	for name, c := range map[string]color.Color{"red.png": color.RGBA{200, 20, 20, 255}, "blue.png": color.RGBA{20, 20, 200, 255}} {
		file := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(file, asPNG(t, plain(900, 600, c)), 0o600); err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	address, at := a.Serve(), "/instruments/"+serial+"/photographs"
	webtest.FitsPhone(t, ctx, address, at)
	webtest.Does(t, ctx, chromedp.Navigate(address+at), chromedp.SetUploadFiles("#f-photographs", files))
	webtest.Says[bool](t, ctx, `document.querySelector("#f-pin").value = "fret 7", document.querySelector("#f-by").value = "Mara Quill", document.querySelector("#add form").requestSubmit(document.querySelector("#add button.main")), true`)
	webtest.Settled(t, ctx, `document.querySelector("p.answer")?.textContent === "2 photographs: 2 of visit 1." && document.readyState === "complete"`)
	webtest.Settled(t, ctx, `[...document.querySelectorAll("ul.photographs img")].map(i => i.loading = "eager").length === 2 && [...document.querySelectorAll("ul.photographs img")].every(i => i.complete && i.naturalWidth === 480)`)
	webtest.FitsPhone(t, ctx, address, at, "/instruments/"+serial)
}
