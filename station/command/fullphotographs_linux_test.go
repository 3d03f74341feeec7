package command

import (
	"bytes"
	"image"
	"image/png"
	"math/rand/v2"
	"net/url"
	"path/filepath"
	"regexp"
	"testing"
)

// photographs sends photographs of an instrument: one whose file there is no room for, and one whose file finds room and whose row does not. Of
// neither is anything left, of both all once there is room.
func (d *fullDisk) photographs(dir string) {
	d.t.Helper()
	const at = "/instruments/2026-007/photographs"
	kept := func(want int) {
		d.t.Helper()
		files, err := filepath.Glob(filepath.Join(dir, "photographs", "*"))
		if err != nil || len(files) != want {
			d.t.Errorf("there are %d files of photographs, want %d: %q, %v", len(files), want, files, err)
		}
		if left, err := filepath.Glob(filepath.Join(dir, ".photographs*")); err != nil || len(left) != 0 {
			d.t.Errorf("left are %q, %v", left, err)
		}
	}
	for n, side := range []int{400, 2} {
		s := sent{route: "POST /instruments/:serial/photographs", path: at, field: "photographs", file: noise(d.t, side), form: url.Values{"pin": {"fret 7"}, "visit": {""}, "caption": {"a lifted end"}, "by": {theManager}}}
		d.covered[s.route] = true
		d.refused(s)
		kept(n)
		d.done(s)
		kept(n + 1)
	}
	which := regexp.MustCompile(`(?s)name="photograph".*?<option value="([^"]+)"`).FindStringSubmatch(d.read(at))
	if which == nil {
		d.t.Fatal("no photograph to take out of sight")
	}
	d.both(sent{route: "POST /instruments/:serial/photographs/hide", path: at + "/hide", form: url.Values{"photograph": {which[1]}, "reason": {"blurred"}, "by": {theManager}}})
	kept(2)
}

// noise is a PNG file of a picture that cannot be made small.
func noise(t *testing.T, side int) []byte {
	p := image.NewGray(image.Rect(0, 0, side, side))
	random := rand.New(rand.NewPCG(1, uint64(side)))
	for i := range p.Pix {
		p.Pix[i] = uint8(random.Uint32())
	}
	var out bytes.Buffer
	if err := png.Encode(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
