package web

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

var shareAddress = regexp.MustCompile(`<code>(https://bench-1\.example:8470)(/share/\w+)</code>`)

// TestDeviceOfTheWorkshop: who signed on with their password makes a code, one device takes it with a press, works as its person at the bench, and nothing more.
func TestDeviceOfTheWorkshop(t *testing.T) {
	s := openSigned(t)
	var err error
	opt := s.options()
	opt.Address = "https://bench-1.example:8470"
	if s.Handler, err = New(opt); err != nil {
		t.Fatal(err)
	}
	manager := s.cookie("Mira Sund", batch.ByPassword)
	if status, page, _ := s.ask(http.MethodGet, "/share", manager, nil); status != http.StatusOK || !strings.Contains(page, "Make a code for one device") {
		t.Errorf("status %d\n%.600s", status, page)
	}
	atBench := s.cookie("Mira Sund", batch.AtBench)
	if _, page, _ := s.ask(http.MethodGet, "/share", atBench, nil); !strings.Contains(page, "Sign on with your password") || strings.Contains(page, "Make a code") {
		t.Errorf("with a badge\n%.600s", page)
	}
	if status, page, _ := s.ask(http.MethodPost, "/share", atBench, nil); status != http.StatusConflict || shareAddress.MatchString(page) {
		t.Errorf("a badge makes a code: status %d\n%.600s", status, page)
	}
	status, page, _ := s.ask(http.MethodPost, "/share", manager, nil)
	found := shareAddress.FindStringSubmatch(page)
	if status != http.StatusOK || found == nil {
		t.Fatalf("status %d\n%.2000s", status, page)
	}
	t.Run("read by a scanner", func(t *testing.T) {
		if read := scannedFrom(t, page); read != found[1]+found[2] {
			t.Errorf("the code says %q, the page %q", read, found[1]+found[2])
		}
	})
	for range 2 { // an app that looks at the address ahead takes nothing
		if status, page, _ = s.ask(http.MethodGet, found[2], nil, nil); status != http.StatusOK || !strings.Contains(page, "Sign on as Mira Sund") {
			t.Errorf("the device is asked: status %d\n%.600s", status, page)
		}
	}
	w := s.taken(found[2])
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/bench" || len(w.Result().Cookies()) != 1 {
		t.Fatalf("the device takes it: status %d, %v", w.Code, w.Header())
	}
	phone := w.Result().Cookies()[0]
	if status, page, _ = s.ask(http.MethodGet, "/batches/"+s.Batch.Number, phone, nil); status != http.StatusOK {
		t.Errorf("the device looks: status %d", status)
	}
	if status, page, _ = s.ask(http.MethodPost, "/batches/"+s.Batch.Number+"/close", phone, nil); status != http.StatusUnauthorized {
		t.Errorf("the device closes a batch: status %d\n%.600s", status, page)
	}
	if status, page, _ = s.ask(http.MethodPost, "/share", phone, nil); shareAddress.MatchString(page) {
		t.Errorf("the device lets another in: status %d", status)
	}
	if again := s.taken(found[2]); again.Code != http.StatusNotFound || len(again.Result().Cookies()) > 0 {
		t.Errorf("a second device: status %d, %v", again.Code, again.Header())
	}
}

// TestNoDeviceOfThisMachineAlone: where no other machine reaches the station the page says so, and makes no code.
func TestNoDeviceOfThisMachineAlone(t *testing.T) {
	s := openSigned(t)
	manager := s.cookie("Mira Sund", batch.ByPassword)
	if _, page, _ := s.ask(http.MethodGet, "/share", manager, nil); !strings.Contains(page, "started with --listen") || strings.Contains(page, "Make a code") {
		t.Errorf("%.600s", page)
	}
	if status, _, _ := s.ask(http.MethodPost, "/share", manager, nil); status != http.StatusConflict {
		t.Errorf("status %d", status)
	}
	plain := openShop(t)
	if page := plain.Get("/share", http.StatusOK); !strings.Contains(page, "Nobody signs on in this record") {
		t.Errorf("%.600s", page)
	}
}

// taken is the answer to a device that takes a way in.
func (s *signedShop) taken(path string) *httptest.ResponseRecorder {
	return s.Do(webtest.Request(http.MethodPost, path, nil))
}

// scannedFrom draws the page's QR code and reads it as a scanner does; where there is no scanner's program the code is not read.
func scannedFrom(t *testing.T, page string) string {
	t.Helper()
	size := regexp.MustCompile(`class="qr" viewBox="0 0 (\d+) `).FindStringSubmatch(page)
	if size == nil {
		t.Fatal("the page has no code")
	}
	const module = 4
	n, _ := strconv.Atoi(size[1])
	img := image.NewGray(image.Rect(0, 0, module*n, module*n))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, run := range regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1`).FindAllStringSubmatch(page, -1) {
		x, _ := strconv.Atoi(run[1])
		y, _ := strconv.Atoi(run[2])
		wide, _ := strconv.Atoi(run[3])
		for i := range wide * module {
			for j := range module {
				img.SetGray(x*module+i, y*module+j, color.Gray{})
			}
		}
	}
	scanner, err := exec.LookPath("zbarimg")
	if err != nil {
		if os.Getenv("SAGITTA_BROWSER") == "required" {
			t.Fatal(err)
		}
		t.Skip("no zbarimg to read the code with")
	}
	var file bytes.Buffer
	if err := png.Encode(&file, img); err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), scanner, "--quiet", "--raw", "-")
	cmd.Stdin = &file
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("no code is read: %v", err)
	}
	return strings.TrimSpace(string(out))
}
