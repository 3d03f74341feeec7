// Package photograph takes photographs in, keeps them in a record's folder and gives them back.
//
// A photograph that was taken in is a JPEG file (ISO/IEC 10918-1) of its own: upright, bounded, without anything that the camera wrote
// beside the picture, such as where and when it was taken.
package photograph

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"slices"
	"strings"
	"sync"

	"github.com/bep/imagemeta"
	"golang.org/x/image/draw"

	"sagitta/batch"
)

// MostBytes is how long a file may be that is taken in.
const MostBytes = 25_000_000

// bounds are what a picture may have before it is decoded: a file of a few bytes can ask for all memory there is.
type bounds struct{ pixels, side int }

var cameras = bounds{pixels: 50_000_000, side: 20_000}

// Longer is how many pixels the longer side of a photograph has at most.
const Longer = 2400

// quality of the JPEG files made, of 100: no trace of it is seen at a normal distance.
const quality = 88

// Photograph is a picture that was taken in.
type Photograph struct {
	JPEG          []byte
	Width, Height int    // pixels
	Digest        string // SHA-256 of the JPEG in hex
}

// one decodes at a time: a large picture takes some hundred megabytes as long as it is worked on.
var one sync.Mutex

// Take reads a JPEG or PNG file of at most MostBytes, turns it upright as its EXIF orientation says (CIPA DC-008, tag 0x0112), scales it down to Longer
// and leaves out all else that it holds. Clear places become white. Mendable where it is no such file, too large, damaged or cut short.
func Take(file []byte) (Photograph, error) {
	if len(file) > MostBytes {
		return Photograph{}, batch.Mendable.Errorf("it holds more than %d MB: have it made smaller, and choose it again", MostBytes/1_000_000)
	}
	return taken(file, cameras)
}

func taken(file []byte, most bounds) (p Photograph, err error) {
	kind, err := kindOf(file)
	if err != nil {
		return p, err
	}
	size, err := kind.config(bytes.NewReader(file))
	if err != nil {
		return p, unreadable(err)
	}
	if w, h := size.Width, size.Height; w < 1 || h < 1 || w > most.side || h > most.side || w > most.pixels/h {
		return p, batch.Mendable.Errorf("it has %d x %d pixels; up to %d million are taken, and up to %d on a side: have it made smaller, and choose it again",
			w, h, most.pixels/1_000_000, most.side)
	}
	one.Lock()
	defer one.Unlock()
	picture, err := kind.decode(bytes.NewReader(file))
	if err != nil {
		return p, unreadable(err)
	}
	return made(turned(scaled(picture, Longer), orientation(file, kind.format)))
}

// smaller is a photograph that was taken in with a longer side of so many pixels at most.
func smaller(file []byte, longer int) (p Photograph, err error) {
	one.Lock()
	defer one.Unlock()
	picture, err := jpeg.Decode(bytes.NewReader(file))
	if err != nil {
		return p, unreadable(err)
	}
	return made(scaled(picture, longer))
}

func made(picture image.Image) (Photograph, error) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, picture, &jpeg.Options{Quality: quality}); err != nil {
		return Photograph{}, err
	}
	sum := sha256.Sum256(out.Bytes())
	return Photograph{JPEG: out.Bytes(), Width: picture.Bounds().Dx(), Height: picture.Bounds().Dy(), Digest: hex.EncodeToString(sum[:])}, nil
}

// kind is a kind of file that is read.
type kind struct {
	begins string
	format imagemeta.ImageFormat
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
}

var kinds = []kind{
	{"\xff\xd8\xff", imagemeta.JPEG, jpeg.DecodeConfig, jpeg.Decode},
	{"\x89PNG\r\n\x1a\n", imagemeta.PNG, png.DecodeConfig, png.Decode},
}

// heic are the major brands of files of ISO/IEC 23008-12 that telephones write.
var heic = []string{"heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1"}

func kindOf(file []byte) (kind, error) {
	for _, k := range kinds {
		if bytes.HasPrefix(file, []byte(k.begins)) {
			return k, nil
		}
	}
	switch begins := string(file[:min(len(file), 12)]); {
	case begins == "":
		return kind{}, batch.Mendable.Errorf("it is empty: choose it again")
	case len(begins) == 12 && begins[4:8] == "ftyp" && slices.Contains(heic, begins[8:]):
		return kind{}, batch.Mendable.Errorf("it is a HEIC file, which is not read here: have the telephone's camera save photographs as JPEG, or save this one as JPEG, and choose that")
	case strings.HasPrefix(begins, "\xff\xd8"), strings.HasPrefix(begins, "\x89PNG"):
		return kind{}, unreadable(io.ErrUnexpectedEOF)
	}
	return kind{}, batch.Mendable.Errorf("it is no photograph that is read here: choose a JPEG or PNG file")
}

func unreadable(err error) error {
	return batch.Mendable.Errorf("it is damaged or cut short (%v): choose it again, or take the photograph anew", err)
}

// orientation is what the EXIF of a file says of how the camera was held, 1 to 8; 1, upright, where it says nothing that can be read.
func orientation(file []byte, format imagemeta.ImageFormat) int {
	const tag = "Orientation"
	found := 1
	_, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(file), ImageFormat: format, Sources: imagemeta.EXIF,
		ShouldHandleTag: func(t imagemeta.TagInfo) bool { return t.Tag == tag && t.Namespace == "IFD0" },
		HandleTag: func(t imagemeta.TagInfo) error {
			if o, ok := t.Value.(uint16); ok && o >= 1 && o <= 8 {
				found = int(o)
			}
			return imagemeta.ErrStopWalking
		},
	})
	if err != nil {
		return 1
	}
	return found
}

// scaled is a picture on white, made so small that its longer side is no longer than asked.
func scaled(picture image.Image, longer int) *image.RGBA {
	w, h := picture.Bounds().Dx(), picture.Bounds().Dy()
	if most := max(w, h); most > longer {
		w, h = max(1, (w*longer+most/2)/most), max(1, (h*longer+most/2)/most)
	}
	return turned(narrowed(turned(narrowed(picture, w), transposed), h), transposed)
}

// narrowed is a picture on white of so many columns. It is scaled in bands: at once it would take 32 bytes of each column and row.
func narrowed(picture image.Image, columns int) *image.RGBA {
	const band = 64
	from := picture.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, columns, from.Dy()))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	scaler := draw.CatmullRom.NewScaler(columns, band, from.Dx(), band)
	for y := 0; y < from.Dy(); y += band {
		rows := min(band, from.Dy()-y)
		scaler.Scale(out, image.Rect(0, y, columns, y+rows), picture, image.Rect(from.Min.X, from.Min.Y+y, from.Max.X, from.Min.Y+y+rows), draw.Over, nil)
	}
	return out
}

// transposed is the orientation whose rows are the picture's columns.
const transposed = 5

// turned brings a picture of an orientation upright: 1 is; 2 is mirrored left to right; 3 lies on its head; 4 is mirrored top to bottom; 5 has
// its first row at the left and its first column at the top, 6 at the right and top, 7 at the right and bottom, 8 at the left and bottom.
func turned(picture *image.RGBA, orientation int) *image.RGBA {
	if orientation == 1 {
		return picture
	}
	w, h := picture.Bounds().Dx(), picture.Bounds().Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if orientation >= transposed {
		out = image.NewRGBA(image.Rect(0, 0, h, w))
	}
	fromRight, fromBottom := slices.Contains([]int{2, 3, 7, 8}, orientation), slices.Contains([]int{3, 4, 6, 7}, orientation)
	for y := range out.Bounds().Dy() {
		for x := range out.Bounds().Dx() {
			fromX, fromY := x, y
			if orientation >= transposed {
				fromX, fromY = y, x
			}
			if fromRight {
				fromX = w - 1 - fromX
			}
			if fromBottom {
				fromY = h - 1 - fromY
			}
			copy(out.Pix[out.PixOffset(x, y):][:4], picture.Pix[picture.PixOffset(fromX, fromY):][:4])
		}
	}
	return out
}
