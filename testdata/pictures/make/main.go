// Command make makes README's picture anew: it starts the demo, has a neck with too much relief measured, and takes the
// bench's page with its verdict as Chromium draws it.
//
//	go run ./testdata/pictures/make
package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"time"

	"github.com/chromedp/chromedp"

	"sagitta/station/app"
	"sagitta/station/demo"
)

const (
	file          = "testdata/pictures/bench.png"
	serial        = "QM-2611-0004" // has too much relief
	width, height = 1280, 800
	patience      = time.Minute // for what the page must show
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "make:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context) (err error) {
	if _, err := os.Stat(filepath.Dir(file)); err != nil {
		return fmt.Errorf("%w: run it in the folder of go.mod", err)
	}
	chromium, err := exec.LookPath("chromium")
	if err != nil {
		return fmt.Errorf("%w: the picture is drawn by Chromium, which must be installed", err)
	}
	dir, err := os.MkdirTemp("", "sagitta-picture-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	d, err := demo.Open(ctx, app.Options{Dir: dir, Name: "Quillmere bench 1", Listen: "127.0.0.1:0", Demo: true, Retry: 50 * time.Millisecond}, 1)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	serving, end := context.WithCancel(ctx)
	served := make(chan error, 1)
	go func() { served <- d.Serve(serving) }()
	defer func() { end(); err = errors.Join(err, <-served) }()

	for _, do := range []struct {
		command string
		form    url.Values
	}{{"entry", url.Values{"text": {serial}}}, {"demo/neck", nil}} {
		if err := post(ctx, d.URL()+"bench/"+do.command, do.form); err != nil {
			return err
		}
	}
	picture, err := take(ctx, chromium, d.URL())
	if err != nil {
		return err
	}
	return os.WriteFile(file, picture, 0o644)
}

// post gives the bench a command as its page does.
func post(ctx context.Context, to string, form url.Values) error {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, to, strings.NewReader(form.Encode()))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("X-From", "module")
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	_ = resp.Body.Close()
	if resp.StatusCode != http.StatusNoContent {
		return fmt.Errorf("%s: status %d", to, resp.StatusCode)
	}
	return nil
}

// take draws a page and returns it as a PNG once the verdict stands on it.
func take(ctx context.Context, chromium, page string) ([]byte, error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU, chromedp.ExecPath(chromium))
	ctx, end := chromedp.NewExecAllocator(ctx, options...)
	defer end()
	ctx, end = chromedp.NewContext(ctx)
	defer end()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, height), chromedp.Navigate(page)); err != nil {
		return nil, err
	}
	const stands = `document.fonts.status === "loaded" && document.querySelector(".verdict .word") !== null`
	for late := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		there, err := chromedp.Run(ctx, chromedp.Evaluate[bool](stands))
		if err != nil {
			return nil, err
		}
		if there {
			break
		}
		if time.Now().After(late) {
			return nil, fmt.Errorf("no verdict on the page within %s", patience)
		}
	}
	return chromedp.Run(ctx, chromedp.CaptureScreenshot())
}
