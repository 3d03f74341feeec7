package demo

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"os"
	"path/filepath"
	"time"

	"sagitta/batch"
	"sagitta/batch/history/visits"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/inspect/unit"
	"sagitta/station/app"
)

// OpenBuilder opens the station of an invented builder, who measures with leaves and a ruler. In a folder without a record
// one is made first: an instrument with a life of four years up to now.
func OpenBuilder(ctx context.Context, opt app.Options, seed uint64) (*app.App, error) {
	path := filepath.Join(opt.Dir, "record.db")
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		if err := os.MkdirAll(opt.Dir, 0o750); err != nil {
			return nil, fmt.Errorf("the folder %s cannot be made: %w", opt.Dir, err)
		}
		if err := makeBuilders(ctx, opt, path, seed); err != nil {
			return nil, err
		}
	}
	return app.Open(ctx, opt)
}

// makeBuilders makes the record of the invented builder. It appears under its name only when it is whole.
func makeBuilders(ctx context.Context, opt app.Options, path string, seed uint64) error {
	now := time.Now()
	life, err := visits.New(now.AddDate(0, 0, -1), seed)
	if err != nil {
		return err
	}
	part := path + ".part"
	for _, left := range []string{part, part + "-wal", part + "-shm"} { // of a start that was cut short
		if err := os.Remove(left); err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	clock := life.Began()
	db, err := record.Open(part, record.Options{Station: opt.Name, Now: func() time.Time { return clock }})
	if err != nil {
		return err
	}
	err = fillBuilders(ctx, db, life, opt.Dir, &clock, now)
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	return settle(part, path)
}

func fillBuilders(ctx context.Context, db *record.DB, life *visits.Instrument, dir string, clock *time.Time, now time.Time) error {
	if _, err := db.AddPerson(ctx, manager, manager, batch.QualityManager); err != nil {
		return err
	}
	if err := db.SetHouse(ctx, manager, batch.Builder); err != nil {
		return err
	}
	for _, k := range []batch.GaugeKind{batch.LeavesGauge, batch.RulerGauge} {
		if _, err := db.SaveGauge(ctx, manager, batch.Ordinary(k, unit.Millimetre)); err != nil {
			return err
		}
	}
	if err := life.Write(ctx, db, manager, clock); err != nil {
		return err
	}
	*clock = now
	all, err := db.Visits(ctx, visits.Serial)
	if err != nil {
		return err
	}
	last := all[len(all)-1]
	if err := db.AddInstrumentNote(ctx, manager, batch.InstrumentNote{Serial: visits.Serial, VisitID: last.ID, Text: "Plays in a group on most weekends; travels by van in winter."}); err != nil {
		return err
	}
	if err := db.Promise(ctx, manager, batch.Promise{Serial: visits.Serial, Due: batch.DayOf(now.AddDate(0, 0, 9)), What: "look at its relief when the heating is on"}); err != nil {
		return err
	}
	var files []photograph.Photograph
	var known []batch.Photograph
	for _, shown := range []struct {
		pin, caption string
		from         int
	}{{batch.WholeInstrument, "the board from above", 0}, {"fret 9", "the burr at string 1, before it was taken off", 6}} {
		p, err := photograph.Take(drawnNeck(shown.from))
		if err != nil {
			return err
		}
		files = append(files, p)
		known = append(known, batch.Photograph{VisitID: last.ID, Pin: shown.pin, Caption: shown.caption, Digest: p.Digest, Width: p.Width, Height: p.Height, Bytes: len(p.JPEG)})
	}
	return photograph.Keep(dir, files, func() error { return db.AddPhotographs(ctx, manager, visits.Serial, known) })
}

// drawnNeck is an invented photograph: a board from above with its frets and strings, from a fret on.
func drawnNeck(from int) []byte {
	const wide, high = 1200, 640
	p := image.NewRGBA(image.Rect(0, 0, wide, high))
	fill := func(x0, y0, x1, y1 int, c color.RGBA) {
		draw.Draw(p, image.Rect(x0, y0, x1, y1), image.NewUniform(c), image.Point{}, draw.Src)
	}
	for y := range high { // a bench of planks
		shade := uint8(150 + 20*(y/80%2) + y%7)
		fill(0, y, wide, y+1, color.RGBA{shade, shade - 25, shade - 60, 255})
	}
	fill(0, 150, wide, 490, color.RGBA{62, 40, 28, 255})
	place := 30.0
	for fret := from; place < wide; fret++ {
		fill(int(place), 150, int(place)+5, 490, color.RGBA{205, 205, 200, 255})
		step := 180 * (1 - 0.04*float64(fret-from))
		if fret%12 == 2 || fret%12 == 4 || fret%12 == 6 || fret%12 == 8 {
			middle := int(place + step/2)
			fill(middle-9, 311, middle+9, 329, color.RGBA{230, 228, 220, 255})
		}
		place += step
	}
	for s := range 6 {
		y := 180 + 56*s
		fill(0, y, wide, y+2+(5-s)/2, color.RGBA{226, 214, 180, 255})
	}
	var out bytes.Buffer
	_ = jpeg.Encode(&out, p, &jpeg.Options{Quality: 88}) // into memory
	return out.Bytes()
}
