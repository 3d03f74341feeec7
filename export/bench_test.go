package export

import (
	"archive/zip"
	"compress/flate"
	"context"
	"io"
	"iter"
	"strconv"
	"testing"

	"sagitta/batch"

	"github.com/xuri/excelize/v2"
)

const benchNecks, benchKinds = 10_000, 100

// repeated is a batch of benchNecks necks made of benchKinds, without holding their rows.
type repeated struct{ *shop }

func (r repeated) EachNeck(context.Context, string) iter.Seq2[batch.NeckReport, error] {
	return func(yield func(batch.NeckReport, error) bool) {
		for i := range benchNecks {
			if !yield(r.necks[i%benchKinds], nil) {
				return
			}
		}
	}
}

func (r repeated) EachReading(context.Context, string) iter.Seq2[batch.ReadingReport, error] {
	return func(yield func(batch.ReadingReport, error) bool) {
		for range benchNecks / benchKinds {
			for _, row := range r.readings {
				if !yield(row, nil) {
					return
				}
			}
		}
	}
}

// counted counts bytes.
type counted struct{ n int64 }

func (c *counted) Write(p []byte) (int, error) {
	c.n += int64(len(p))
	return len(p), nil
}

// BenchmarkWorkbook writes 10,000 necks with about 460,000 readings.
func BenchmarkWorkbook(b *testing.B) {
	src := repeated{newShop(benchKinds)}
	src.counts.Registered = benchNecks
	var w counted
	b.ReportAllocs()
	for b.Loop() {
		w.n = 0
		if err := Workbook(context.Background(), &w, src, "QM-2611", options("mm")); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(w.n)/1e6, "MB/file")
}

// BenchmarkLibraryAlone writes the same cells of Necks and Readings with nothing but the library: rows ready in memory, the
// same archive settings. BenchmarkWorkbook should take at most 1.3 times as long.
func BenchmarkLibraryAlone(b *testing.B) {
	all := parts(b, made(b, newShop(benchKinds), options("mm")))
	sheets := map[string][][]any{}
	for _, name := range []string{"Necks", "Readings"} {
		for _, row := range readSheet(b, all, name).Rows[1:] {
			var cells []any
			for _, c := range row.Cells {
				column, _, err := excelize.CellNameToCoordinates(c.Ref)
				if err != nil {
					b.Fatal(err)
				}
				for len(cells) < column {
					cells = append(cells, nil)
				}
				v := &excelize.Cell{StyleID: c.Style, Value: c.Text}
				if c.Type != "inlineStr" {
					f, err := strconv.ParseFloat(c.Value, 64)
					if err != nil {
						b.Fatal(err)
					}
					v.Value = f
				}
				cells[column-1] = v
			}
			sheets[name] = append(sheets[name], cells)
		}
	}
	var w counted
	b.ReportAllocs()
	for b.Loop() {
		w.n = 0
		f := excelize.NewFile()
		for _, name := range []string{"Necks", "Readings"} {
			if _, err := f.NewSheet(name); err != nil {
				b.Fatal(err)
			}
			s, err := f.NewStreamWriter(name)
			if err != nil {
				b.Fatal(err)
			}
			n := 0
			for range benchNecks / benchKinds {
				for _, row := range sheets[name] {
					n++
					if err := s.SetRow("A"+strconv.Itoa(n), row); err != nil {
						b.Fatal(err)
					}
				}
			}
			if err := s.Flush(); err != nil {
				b.Fatal(err)
			}
		}
		f.SetZipWriter(func(out io.Writer) excelize.ZipWriter {
			z := zip.NewWriter(out)
			z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) {
				return flate.NewWriter(out, flate.BestSpeed)
			})
			return z
		})
		if err := f.Write(&w); err != nil {
			b.Fatal(err)
		}
		if err := f.Close(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(w.n)/1e6, "MB/file")
}
