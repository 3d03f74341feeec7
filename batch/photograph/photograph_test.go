package photograph

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
)

// corners are the colours of the made pictures' corners as the camera's owner saw them: top left, top right, bottom left, bottom right.
var corners = [4]color.RGBA{{200, 20, 20, 255}, {20, 160, 20, 255}, {20, 20, 200, 255}, {230, 210, 20, 255}}

// seen is a picture of four quarters as it was seen, wider than tall.
func seen(w, h int) *image.RGBA {
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			p.SetRGBA(x, y, corners[2*(2*y/h)+2*x/w])
		}
	}
	return p
}

// stored is how a camera that was held otherwise stores what was seen: written with the words of CIPA DC-008 on where the first row and the first column of what is
// stored are in what is seen, independently of how it is turned back.
func stored(p *image.RGBA, orientation int) *image.RGBA {
	w, h := p.Bounds().Dx(), p.Bounds().Dy()
	side := [][2]string{1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"}, 5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"}}[orientation]
	rows, columns := h, w
	if side[0] == "left" || side[0] == "right" {
		rows, columns = w, h
	}
	out := image.NewRGBA(image.Rect(0, 0, columns, rows))
	for row := range rows {
		for column := range columns {
			at := map[string]int{}
			at[side[0]], at[side[1]] = row, column // how far from that side
			x, fromLeft := at["left"]
			if !fromLeft {
				x = w - 1 - at["right"]
			}
			y, fromTop := at["top"]
			if !fromTop {
				y = h - 1 - at["bottom"]
			}
			out.SetRGBA(column, row, p.RGBAAt(x, y))
		}
	}
	return out
}

// exif is TIFF data (CIPA DC-008) with an orientation and a place on earth, as telephones write them.
func exif(order binary.AppendByteOrder, orientation int) []byte {
	b := append([]byte(map[bool]string{true: "MM\x00*", false: "II*\x00"}[order == binary.AppendByteOrder(binary.BigEndian)]), order.AppendUint32(nil, 8)...)
	entry := func(tag, kind uint16, count, value uint32) {
		b = order.AppendUint16(order.AppendUint16(b, tag), kind)
		b = order.AppendUint32(b, count)
		if kind == 3 {
			b = order.AppendUint16(order.AppendUint16(b, uint16(value)), 0)
		} else {
			b = order.AppendUint32(b, value)
		}
	}
	b = order.AppendUint16(b, 3)
	entry(0x010f, 2, 12, 50) // who made the camera, at 50
	entry(0x0112, 3, 1, uint32(orientation))
	entry(0x8825, 4, 1, 62) // the place, at 62
	b = order.AppendUint32(b, 0)
	b = append(b, "Quillmere C\x00"...)
	b = order.AppendUint16(b, 1)
	entry(0x001d, 2, 11, 80) // the day of the place, at 80
	b = order.AppendUint32(b, 0)
	return append(b, "2026:11:30\x00"...)
}

// photo is a JPEG file with EXIF.
func photo(t testing.TB, p image.Image, exif []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, p, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	if exif == nil {
		return out.Bytes()
	}
	segment := append([]byte("Exif\x00\x00"), exif...)
	head := binary.BigEndian.AppendUint16([]byte("\xff\xd8\xff\xe1"), uint16(len(segment)+2))
	return append(append(head, segment...), out.Bytes()[2:]...)
}

// pngFile is a PNG file with chunks beside the picture.
func pngFile(t testing.TB, p image.Image, chunks map[string][]byte) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, p); err != nil {
		t.Fatal(err)
	}
	const head = 8 + 25 // signature and IHDR
	file := bytes.Clone(out.Bytes()[:head])
	for name, data := range chunks {
		body := append([]byte(name), data...)
		file = append(binary.BigEndian.AppendUint32(file, uint32(len(data))), body...)
		file = binary.BigEndian.AppendUint32(file, crc32.ChecksumIEEE(body))
	}
	return append(file, out.Bytes()[head:]...)
}

func take(t testing.TB, file []byte) (Photograph, image.Image) {
	t.Helper()
	p, err := Take(file)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := jpeg.Decode(bytes.NewReader(p.JPEG))
	if err != nil {
		t.Fatal(err)
	}
	if picture.Bounds() != image.Rect(0, 0, p.Width, p.Height) {
		t.Errorf("the picture has %v, said are %d x %d", picture.Bounds(), p.Width, p.Height)
	}
	return p, picture
}

// near compares colours, JPEG being lossy.
func near(a color.Color, b color.RGBA) bool {
	r, g, bl, _ := a.RGBA()
	off := func(x uint32, y uint8) bool { d := int(x>>8) - int(y); return d > 24 || d < -24 }
	return !off(r, b.R) && !off(g, b.G) && !off(bl, b.B)
}

// upright says that a picture is as it was seen.
func upright(t *testing.T, picture image.Image) {
	t.Helper()
	w, h := picture.Bounds().Dx(), picture.Bounds().Dy()
	for i, at := range []image.Point{{w / 4, h / 4}, {3 * w / 4, h / 4}, {w / 4, 3 * h / 4}, {3 * w / 4, 3 * h / 4}} {
		if got := picture.At(at.X, at.Y); !near(got, corners[i]) {
			t.Errorf("quarter %d is %v, want %v", i, got, corners[i])
		}
	}
}

// TestUpright: of every orientation, in both byte orders and in both kinds of file, the picture is as it was seen.
func TestUpright(t *testing.T) {
	for orientation := 1; orientation <= 8; orientation++ {
		for _, order := range []binary.AppendByteOrder{binary.BigEndian, binary.LittleEndian} {
			meta := exif(order, orientation)
			p := stored(seen(96, 64), orientation)
			for name, file := range map[string][]byte{"JPEG": photo(t, p, meta), "PNG": pngFile(t, p, map[string][]byte{"eXIf": meta})} {
				t.Run(fmt.Sprintf("%s %v %d", name, order, orientation), func(t *testing.T) {
					kept, picture := take(t, file)
					if kept.Width != 96 || kept.Height != 64 {
						t.Fatalf("%d x %d, want 96 x 64", kept.Width, kept.Height)
					}
					upright(t, picture)
				})
			}
		}
	}
}

// TestOrientationThatSaysNothing: without one, with one that is none, and with EXIF that is cut short, a picture stays as it is stored.
func TestOrientationThatSaysNothing(t *testing.T) {
	whole := exif(binary.BigEndian, 6)
	for name, meta := range map[string][]byte{"none": nil, "nought": exif(binary.BigEndian, 0), "nine": exif(binary.LittleEndian, 9), "short": whole[:20], "empty": {}} {
		t.Run(name, func(t *testing.T) {
			_, picture := take(t, photo(t, seen(96, 64), meta))
			upright(t, picture)
		})
	}
}

// TestNothingBesideThePicture: what was planted beside the picture, the place on earth above all, is not in what is kept, nor any segment that could hold such a thing.
func TestNothingBesideThePicture(t *testing.T) {
	meta := exif(binary.BigEndian, 3)
	withMore := photo(t, stored(seen(96, 64), 3), meta)
	comment := append([]byte("\xff\xfe\x00\x10"), "Quillmere said"...)
	withMore = append(append(bytes.Clone(withMore[:2]), comment...), withMore[2:]...)
	withMore = append(withMore, "behind the picture: Quillmere"...)
	for name, file := range map[string][]byte{"JPEG": withMore,
		"PNG": pngFile(t, stored(seen(96, 64), 3), map[string][]byte{"eXIf": meta, "tEXt": []byte("Author\x00Quillmere")})} {
		t.Run(name, func(t *testing.T) {
			for _, planted := range []string{"Quillmere", "2026:11:30"} {
				if !bytes.Contains(file, []byte(planted)) {
					t.Fatalf("%q is not planted", planted)
				}
			}
			p, _ := take(t, file)
			for _, planted := range []string{"Quillmere", "2026", "Exif", "II*", "MM\x00*"} {
				if bytes.Contains(p.JPEG, []byte(planted)) {
					t.Errorf("%q is in what is kept", planted)
				}
			}
			for _, marker := range segmentsOf(t, p.JPEG) {
				if !slices.Contains([]byte{0xdb, 0xc0, 0xc4, 0xda}, marker) {
					t.Errorf("segment %x: quantization, frame, Huffman tables and scan alone are of the picture", marker)
				}
			}
		})
	}
}

// segmentsOf lists the markers up to the first scan (ISO/IEC 10918-1, annex B).
func segmentsOf(t *testing.T, file []byte) (markers []byte) {
	t.Helper()
	for at := 2; at+4 <= len(file); at += 2 + int(binary.BigEndian.Uint16(file[at+2:])) {
		if file[at] != 0xff {
			t.Fatalf("no marker at %d", at)
		}
		markers = append(markers, file[at+1])
		if file[at+1] == 0xda {
			return markers
		}
	}
	t.Fatal("no scan")
	return nil
}

// TestScaled: the longer side is bounded and the shape is kept; a small picture is not made larger, and a line stays a line.
func TestScaled(t *testing.T) {
	for _, c := range []struct{ w, h, toW, toH int }{
		{3600, 1800, 2400, 1200}, {1801, 2701, 1600, 2400}, {2400, 10, 2400, 10}, {2401, 7, 2400, 7}, {300, 200, 300, 200}, {1, 1, 1, 1}, {9600, 1, 2400, 1}, {1, 9600, 1, 2400},
	} {
		p, picture := take(t, pngFile(t, seen(c.w, c.h), nil))
		if p.Width != c.toW || p.Height != c.toH {
			t.Errorf("%d x %d became %d x %d, want %d x %d", c.w, c.h, p.Width, p.Height, c.toW, c.toH)
		}
		if min(c.w, c.h) > 20 {
			upright(t, picture)
		}
	}
}

// TestNoSeams: a picture that is scaled in bands has none: a ramp stays a ramp.
func TestNoSeams(t *testing.T) {
	const w, h = 3000, 600
	p := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			p.SetGray(x, y, color.Gray{uint8(20 + 200*(x+y)/(w+h))})
		}
	}
	out := scaled(p, 1000)
	for y := range 200 {
		for x := range 1000 {
			want := 20 + 200*(3*x+1+3*y+1)/(w+h)
			if got := int(out.RGBAAt(x, y).R); got < want-1 || got > want+1 {
				t.Fatalf("at %d, %d: %d, want %d", x, y, got, want)
			}
		}
	}
}

// TestClearIsWhite: what a PNG file leaves clear is white, as paper is.
func TestClearIsWhite(t *testing.T) {
	_, picture := take(t, pngFile(t, image.NewNRGBA(image.Rect(0, 0, 16, 16)), nil))
	if got := picture.At(8, 8); !near(got, color.RGBA{255, 255, 255, 255}) {
		t.Errorf("it is %v", got)
	}
}

// TestRefused: what is not taken is told in a sentence that says what to do. The files that ask for too much end after their head: they are refused before anything
// of the picture is read.
func TestRefused(t *testing.T) {
	large := pngFile(t, image.NewGray(image.Rect(0, 0, 1, 1)), nil)[:33]
	sized := func(w, h uint32) []byte {
		file := bytes.Clone(large)
		binary.BigEndian.PutUint32(file[16:], w)
		binary.BigEndian.PutUint32(file[20:], h)
		binary.BigEndian.PutUint32(file[29:], crc32.ChecksumIEEE(file[12:29]))
		return file
	}
	frame := []byte("\xff\xd8\xff\xc0\x00\x11\x08\xea\x60\xea\x60\x03\x01\x22\x00\x02\x11\x01\x03\x11\x01\xff\xda\x00\x0c") // 60,000 x 60,000, and the scan begins
	whole := photo(t, seen(96, 64), nil)
	long := append(bytes.Clone(whole), make([]byte, MostBytes)...)
	for name, c := range map[string]struct {
		file []byte
		says string
	}{
		"nothing":            {nil, "it is empty: choose it again"},
		"text":               {[]byte("a letter, and no photograph"), "it is no photograph that is read here: choose a JPEG or PNG file"},
		"a short text":       {[]byte("a"), "it is no photograph that is read here: choose a JPEG or PNG file"},
		"HEIC":               {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "it is a HEIC file, which is not read here: have the telephone's camera save photographs as JPEG, or save this one as JPEG, and choose that"},
		"HEIC, cut short":    {[]byte("\x00\x00\x00\x18ftypmif1"), "it is a HEIC file"},
		"another container":  {[]byte("\x00\x00\x00\x18ftypisom\x00\x00\x02\x00"), "it is no photograph that is read here"},
		"too long":           {long, "it holds more than 25 MB: have it made smaller, and choose it again"},
		"too large":          {sized(50_000, 50_000), "it has 50000 x 50000 pixels; up to 50 million are taken, and up to 20000 on a side: have it made smaller, and choose it again"},
		"too many":           {sized(7_072, 7_072), "it has 7072 x 7072 pixels"},
		"too long a side":    {sized(20_001, 1), "it has 20001 x 1 pixels"},
		"a large JPEG":       {frame, "it has 60000 x 60000 pixels"},
		"cut short":          {whole[:len(whole)/2], "it is damaged or cut short (unexpected EOF): choose it again, or take the photograph anew"},
		"two bytes":          {whole[:2], "it is damaged or cut short (unexpected EOF)"},
		"the head alone":     {sized(100, 100), "it is damaged or cut short"},
		"no width":           {sized(0, 100), "it is damaged or cut short"},
		"PNG by four bytes":  {large[:4], "it is damaged or cut short (unexpected EOF)"},
		"damaged in its sum": {append(bytes.Clone(large[:30]), 0, 0, 0), "it is damaged or cut short"},
	} {
		t.Run(name, func(t *testing.T) {
			p, err := Take(c.file)
			if err == nil || !strings.HasPrefix(err.Error(), c.says) {
				t.Fatalf("%v, want %q", err, c.says)
			}
			if batch.KindOf(err) != batch.Mendable || p.JPEG != nil {
				t.Errorf("kind %v, %d bytes", batch.KindOf(err), len(p.JPEG))
			}
		})
	}
}

// TestJustAllowed: what just fits is read: the fault is then in what follows the head.
func TestJustAllowed(t *testing.T) {
	file := pngFile(t, seen(100, 50), nil)
	if _, err := taken(file, bounds{5000, 100}); err != nil {
		t.Error(err)
	}
	for _, most := range []bounds{{4999, 100}, {5000, 99}} {
		if _, err := taken(file, most); err == nil || !strings.Contains(err.Error(), "100 x 50 pixels") {
			t.Errorf("%v: %v", most, err)
		}
	}
}

// FuzzTake: whatever is sent, it is refused in a sentence or kept as a bounded JPEG file that can be read and taken again.
func FuzzTake(f *testing.F) {
	meta := exif(binary.BigEndian, 6)
	f.Add(photo(f, seen(24, 16), meta))
	f.Add(photo(f, image.NewGray(image.Rect(0, 0, 9, 5)), exif(binary.LittleEndian, 8)))
	f.Add(pngFile(f, seen(24, 16), map[string][]byte{"eXIf": meta}))
	f.Add([]byte("\x00\x00\x00\x18ftypheic"))
	most := bounds{pixels: 20_000, side: 1000}
	f.Fuzz(func(t *testing.T, file []byte) {
		p, err := taken(file, most)
		if err != nil {
			if batch.KindOf(err) != batch.Mendable {
				t.Fatalf("kind %v: %v", batch.KindOf(err), err)
			}
			return
		}
		size, err := jpeg.DecodeConfig(bytes.NewReader(p.JPEG))
		if err != nil || size.Width != p.Width || size.Height != p.Height || p.Width > most.side || p.Height > most.side {
			t.Fatalf("%d x %d is said, %d x %d kept, %v", p.Width, p.Height, size.Width, size.Height, err)
		}
		if again, err := taken(p.JPEG, most); err != nil || again.Width != p.Width || again.Height != p.Height {
			t.Fatalf("taken again: %d x %d of %d x %d, %v", again.Width, again.Height, p.Width, p.Height, err)
		}
	})
}

// BenchmarkTake takes in a photograph of 48 million pixels that lies on its side: the largest that telephones take.
func BenchmarkTake(b *testing.B) {
	file := photo(b, seen(8000, 6000), exif(binary.BigEndian, 6))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Take(file); err != nil {
			b.Fatal(err)
		}
	}
}
