package command

import (
	"bytes"
	"context"
	"crypto/tls"
	"image"
	"image/color"
	"image/png"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"sagitta/batch/record/recordtest"
	"sagitta/station/certificate"
)

// codeDrawn is the picture of a code that was printed for a terminal.
func codeDrawn(text string) *image.Gray {
	const module = 4
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	img := image.NewGray(image.Rect(0, 0, module*len([]rune(lines[0])), module*2*len(lines)))
	for y, line := range lines {
		for x, r := range []rune(line) {
			for i, white := range []bool{r == '█' || r == '▀', r == '█' || r == '▄'} {
				if white {
					for at := range module * module {
						img.SetGray(x*module+at%module, (2*y+i)*module+at/module, color.Gray{Y: 255})
					}
				}
			}
		}
	}
	return img
}

// TestServeShares: the printed code is the printed address, at which one device gets in over TLS with the printed fingerprint, once.
func TestServeShares(t *testing.T) {
	dir := t.TempDir()
	a := openStation(t, dir)
	recordtest.SignsOn(t, a.Record, "Ines Vael")
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	ctx, end := context.WithCancel(t.Context())
	defer end()
	var out, errs gather
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, []string{"serve", "--data", dir, "--listen", ":0", "--share", "Ines Vael"}, strings.NewReader(""), &out, &errs)
	}()
	until(t, "the code is printed", func() bool {
		return strings.Contains(out.String(), "One device of Ines Vael is signed on by this, once, until ")
	})
	printed := out.String()
	address := regexp.MustCompile(`(?m)^https://\S+/share/\w+$`).FindString(printed)
	fingerprint := regexp.MustCompile(`SHA-256 fingerprint ([0-9A-F:]{95}) `).FindStringSubmatch(printed)
	if address == "" || fingerprint == nil {
		t.Fatalf("printed\n%s", printed)
	}
	t.Run("read by a scanner", func(t *testing.T) {
		scanner, err := exec.LookPath("zbarimg")
		if err != nil {
			if os.Getenv("SAGITTA_BROWSER") == "required" {
				t.Fatal(err)
			}
			t.Skip("no zbarimg to read the code with")
		}
		var file bytes.Buffer
		if err := png.Encode(&file, codeDrawn(printed[strings.Index(printed, "█"):strings.Index(printed, "\nhttps://")])); err != nil {
			t.Fatal(err)
		}
		cmd := exec.CommandContext(t.Context(), scanner, "--quiet", "--raw", "-")
		cmd.Stdin = &file
		read, err := cmd.Output()
		if err != nil || strings.TrimSpace(string(read)) != address {
			t.Errorf("the code says %q, %v; printed is %s", read, err, address)
		}
	})
	device := &http.Client{
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true, VerifyConnection: func(s tls.ConnectionState) error {
			if got := certificate.Fingerprint(s.PeerCertificates[0]); got != fingerprint[1] {
				t.Errorf("the station shows %s", got)
			}
			return nil
		}}},
	}
	ask := func(method string) (*http.Response, string) {
		r, err := http.NewRequestWithContext(t.Context(), method, address, nil)
		if err != nil {
			t.Fatal(err)
		}
		a, err := device.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		text, err := io.ReadAll(a.Body)
		if err != nil {
			t.Fatal(err)
		}
		return a, string(text)
	}
	if a, page := ask(http.MethodGet); a.StatusCode != http.StatusOK || !strings.Contains(page, "Sign on as Ines Vael") {
		t.Errorf("%s\n%.600s", a.Status, page)
	}
	a1, _ := ask(http.MethodPost)
	if c := a1.Cookies(); a1.StatusCode != http.StatusSeeOther || len(c) != 1 || !strings.HasPrefix(c[0].Name, "__Host-") || !c[0].Secure || !c[0].HttpOnly || c[0].SameSite != http.SameSiteStrictMode {
		t.Errorf("%s, %+v", a1.Status, c)
	}
	if a2, _ := ask(http.MethodPost); a2.StatusCode != http.StatusNotFound || len(a2.Cookies()) > 0 {
		t.Errorf("a second device: %s, %+v", a2.Status, a2.Cookies())
	}
	end()
	if code := <-ended; code != exitDone {
		t.Errorf("code %d, %s", code, &errs)
	}
}

// TestServeCannotShare: for this machine alone, and for nobody on file.
func TestServeCannotShare(t *testing.T) {
	dir := t.TempDir()
	a := openStation(t, dir)
	recordtest.SignsOn(t, a.Record, "Ines Vael")
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := sagitta(t, "", "serve", "--data", dir, "--listen", "127.0.0.1:0", "--share", "Ines Vael"); code != exitUsage || !strings.Contains(errs, "another device does not reach http://127.0.0.1") {
		t.Errorf("code %d, %s", code, errs)
	}
	if code, _, errs := sagitta(t, "", "serve", "--data", dir, "--listen", ":0", "--share", "Nobody Here"); code != exitFailed || !strings.Contains(errs, `nobody on file is called "Nobody Here"`) {
		t.Errorf("code %d, %s", code, errs)
	}
}

// TestModulesOfTheTerminal: with colours or without, an odd row is whole.
func TestModulesOfTheTerminal(t *testing.T) {
	rows := [][]bool{{true, false}, {false, true}, {true, false}}
	if got := modules(rows, false); got != "▄▀\n▄█\n" {
		t.Errorf("%q", got)
	}
	if got := modules(rows[:1], true); got != "\x1b[40;97m▄█\x1b[0m\n" {
		t.Errorf("%q", got)
	}
}
